"""A supervisor's day with the network cut by the test: ten hours, 120 entries, 6 photos, two reloads and one killed
browser. In the evening there is a line: the book holds each once, in order, and nothing is left on the phone."""

import io
import json
import re
from collections import Counter
from collections.abc import Callable, Sequence
from dataclasses import dataclass, field
from datetime import datetime, timedelta
from io import StringIO
from pathlib import Path
from typing import Any

import pytest
from django.core.management import call_command
from django.http import HttpResponse
from django.utils import timezone
from PIL import Image
from playwright.sync_api import Page, expect

from crews.models import Picker
from equipment.actions.change_crew import join
from equipment.actions.lend_badge import lend_new
from equipment.actions.load_catalogue import load_catalogue
from equipment.models import Entry, ItemState, Photo
from equipment.models.overdue import next_dip
from equipment.pages.devices import cookie
from equipment.pages.devices.phone import COOKIE
from tests.browsing import Watch
from tests.cast import Farm
from tests.farm import Post
from tests.kept_by_browser import KEPT
from tests.orchard import HEIGHT, WIDTH, Orchard, enrol
from tests.restarting import Start, kill

pytestmark = pytest.mark.django_db(transaction=True)

# Nobody is called so, and no word of the page is: it is searched for in all that the phone keeps.
CANARY = "Quillonwy"
PEOPLE = 12
ENTRIES, PHOTOS, HOURS = 120, 6, 10


@dataclass
class Day:
    """What the supervisor does, with a clock that goes on by `step` after each, and how much is written so far."""

    farm: Farm
    start: Start
    begins: datetime
    pictures: Path
    orchard: Orchard = field(init=False)
    now: datetime = field(init=False)
    entries: int = 0
    photos: int = 0
    step: timedelta = timedelta(minutes=16)

    def wake(self, at: datetime | None = None) -> Page:
        """The phone is switched on, its browser with the profile it had."""
        self.now = at or self.now
        context = self.start(viewport={"width": WIDTH, "height": HEIGHT})
        page = context.pages[0]
        page.clock.install(time=self.now)
        self.orchard = Orchard(page)
        return page

    def wrote(self, entries: int, photos: int = 0) -> None:
        """It is on the phone's disk: the line on the screen counts it. Then time goes by."""
        self.entries += entries
        self.photos += photos
        self.orchard.unsent(self.entries + self.photos)
        self.orchard.page.clock.fast_forward(int(self.step.total_seconds() * 1000))
        self.now += self.step

    def press(self, *path: Any, words: Sequence[str], entries: int = 1) -> None:
        """Go to a screen, press one after the other, and it is written down."""
        self.orchard.go(*path)
        for each in words:
            self.orchard.press(each)
        self.wrote(entries)

    def swap(self, broken: str, spare: str, *, photo: bool = False) -> None:
        self.orchard.go("piece", broken)
        if photo:
            picture = io.BytesIO()
            Image.effect_noise((300, 200), 40 + self.photos).save(picture, "JPEG")
            file = {"name": "broken.jpg", "mimeType": "image/jpeg", "buffer": picture.getvalue()}
            self.orchard.page.locator("#photo").set_input_files([file])
            self.orchard.shows("Photo taken")
        self.orchard.press("Blunt")
        self.orchard.press(spare)
        self.wrote(3, int(photo))

    def mix(self) -> None:
        self.orchard.go("mix", "clippers_daily_bleach")
        self.orchard.page.get_by_label("How many litres of bath?").fill("10")
        self.orchard.press("Work it out")
        self.orchard.press("It is mixed")
        self.wrote(1)

    def dip(self) -> None:
        """The clippers of everybody, ten minutes by the supervisor's own watch."""
        self.press("dip", words=["Done already", f"Write it down: {PEOPLE}"], entries=PEOPLE)

    def check(self) -> None:
        self.orchard.go("morning")
        for group in self.orchard.screen.locator("fieldset").all():
            group.get_by_text("yes", exact=True).click()
        for box in self.orchard.screen.locator("input[inputmode]").all():
            if not box.input_value():
                box.fill("20")
        self.orchard.press("Write the check down")
        self.wrote(1)

    def give(self, tag: str, number: int) -> None:
        self.press("pass", tag, words=[f"{number}"])


def crew_of_twelve(farm: Farm, post: Post, at: datetime) -> tuple[list[str], list[str], list[str]]:
    """Everybody of the red crew with clippers and a bag since `at`; six spare clippers and four ladders in the box."""
    load_catalogue()
    farm.plan("red", "N4", clipped=True)
    people = [Picker.objects.create(number=str(n), name=f"{CANARY} {n}") for n in range(4, PEOPLE + 2)]
    Picker.objects.exclude(number="3").exclude(pk__in=[each.pk for each in people]).update(
        name=f"{CANARY} First"
    )
    cards = [card.pk for card in lend_new(people, at.date() - timedelta(days=3))]
    join(farm.pen(), people, farm.crews["red"], at=at - timedelta(days=2))
    cards = [farm.badges["ana"], farm.badges["ben"], *cards]
    clippers = farm.gear("clippers", PEOPLE + PHOTOS, days_ago=3)
    bags, ladders = farm.gear("bag", PEOPLE, days_ago=3), farm.gear("ladder", 4, days_ago=3)
    red = farm.crews["red"].pk
    out = [
        farm.entry("handed_out", item=tag, picker=card, at=at)
        for tag, card in zip(clippers, cards, strict=False)
    ]
    out += [
        farm.entry("handed_out", item=tag, picker=card, at=at) for tag, card in zip(bags, cards, strict=True)
    ]
    out += [farm.entry("handed_out", item=tag, crew=red, at=at) for tag in (*clippers[PEOPLE:], *ladders)]
    assert {answer["outcome"] for answer in post(*out, gate="note")} == {"recorded"}
    return clippers, bags, ladders


@pytest.fixture
def knock_off(settings: Any) -> None:
    """It is five in the afternoon at the farm, so that the ten hours before are one day's, whenever this runs."""
    ahead = (17 - timezone.now().hour) % 24
    ahead -= 24 if ahead > 14 else 0
    settings.TIME_ZONE = settings.FARM_TIME_ZONE = f"Etc/GMT{-ahead:+d}"


@pytest.mark.usefixtures("knock_off")
def test_ten_hours_without_a_line(
    farm: Farm,
    post: Post,
    start: Start,
    sign_in: Any,
    live_server: Any,
    tmp_path: Path,
    expect_problem: Callable[[str], None],
    watch: Watch,
) -> None:
    expect_problem("ERR_INTERNET_DISCONNECTED")
    expect_problem("status of 401")
    # The page's token died with the browser; it is asked for anew, and nothing of it shows.
    watch.allowed.append("status of 403")
    begins = timezone.now() - timedelta(hours=HOURS, minutes=5)
    clippers, bags, ladders = crew_of_twelve(farm, post, begins - timedelta(minutes=20))
    day = Day(farm, start, begins, tmp_path)
    page = day.wake(begins)
    sign_in(page, farm.users["sam"])
    device = enrol(page, farm, live_server.url)
    day.orchard.open()
    kept_on_the_phone(page)
    page.context.set_offline(True)
    morning(day, clippers)
    page.reload()
    day.orchard.ready()
    day.orchard.unsent(day.entries + day.photos)
    noon(day, clippers, bags)
    kill(page.context)
    page = day.wake()
    # What it wrote of its cookies before it died is chance; the test is of one that lost them.
    page.context.clear_cookies()
    page.context.set_offline(True)
    day.orchard.open()
    day.orchard.unsent(day.entries + day.photos)
    afternoon(day, clippers, bags, ladders)
    # The knock-off is now: a phone whose clock is right.
    page.clock.set_system_time(timezone.now())
    page.reload()
    day.orchard.ready()
    assert (day.entries, day.photos) == (ENTRIES, PHOTOS)
    assert timedelta(hours=HOURS - 1) < day.now - begins <= timedelta(hours=HOURS, minutes=10)
    assert not Entry.objects.filter(device=device).exists()

    kept = json.loads(page.evaluate(KEPT))
    journal = sorted(
        (row["entry"] for row in kept["databases"]["shedbook-orchard"]["entries"]),
        key=lambda e: e["device_seq"],
    )
    assert len(journal) == ENTRIES
    seen = shown(day.orchard)
    assert CANARY not in json.dumps(kept)
    page.context.set_offline(False)
    # The killed browser has forgotten who was signed in: it asks, and keeps all of it meanwhile.
    expect(day.orchard.status.get_by_role("link", name="Sign in")).to_be_visible(timeout=70_000)
    day.orchard.unsent(ENTRIES + PHOTOS)
    sign_in(page, farm.users["sam"])
    enrolled_again(page, device, live_server.url)
    page.reload()
    day.orchard.ready()
    day.orchard.sent()
    expect(day.orchard.status).not_to_contain_text("Refused")

    stored = list(Entry.objects.filter(device=device).order_by("device_seq"))
    assert [str(entry.pk) for entry in stored] == [entry["id"] for entry in journal]
    assert [entry.verb for entry in stored] == [entry["verb"] for entry in journal]
    assert sorted(stored, key=lambda entry: entry.position) == stored
    spread = stored[-1].happened_at - stored[0].happened_at
    assert timedelta(hours=HOURS - 1) < spread < timedelta(hours=HOURS, minutes=30)
    assert (
        Photo.objects.filter(pk__in=[e.detail["photo"] for e in stored if e.detail.get("photo")]).count()
        == PHOTOS
    )
    assert seen == in_the_book(farm)
    assert clock_on(day.orchard) == clock_in_the_book(farm)
    told = StringIO()
    call_command("verify_book", stdout=told)
    assert CANARY not in page.evaluate(KEPT)


def morning(day: Day, clippers: list[str]) -> None:
    day.press("block", words=["N4"])
    day.check()
    day.mix()
    for place in range(3):
        day.swap(clippers[place], clippers[PEOPLE + place], photo=True)
    day.press("crew", words=["Tea, a break"])
    day.dip()
    day.press("block", words=["Picking again"])


def noon(day: Day, clippers: list[str], bags: list[str]) -> None:
    day.press("piece", bags[5], words=["Lost"])
    for place in range(3, PHOTOS):
        day.swap(clippers[place], clippers[PEOPLE + place], photo=True)
    day.orchard.go("plan")
    day.orchard.press("Now snapped")
    day.wrote(1)
    day.press("plan", words=["Now clipped"])
    day.press("crew", words=["Rain"])
    day.mix()
    day.dip()
    day.press("block", words=["Picking again"])


def afternoon(day: Day, clippers: list[str], bags: list[str], ladders: list[str]) -> None:
    day.press("lost", words=[f"Found: {bags[5]}"])
    for place in range(3):
        day.press("mend", clippers[place], "clippers_blunt", words=["It is mended"])
    for place in (6, 7, 8):
        day.give(bags[place], place + 4)
    day.press("block", words=["break"])
    day.mix()
    day.dip()
    day.press("block", words=["Another block", "S2"])
    day.press("piece", bags[9], words=["Somebody else", "1"])
    day.press("crew", words=["Rain"])
    day.dip()
    day.press("block", words=["Picking again"])
    day.press("block", words=["Left the block"])
    day.orchard.go("knockoff")
    for ladder in ladders:
        day.orchard.scan(ladder)
        expect(
            day.orchard.screen.get_by_role("button", name=re.compile(ladder[2:]), pressed=True)
        ).to_be_visible()
    day.orchard.press("They stay here: 4")
    day.wrote(4)
    day.step = timedelta(minutes=1)
    day.orchard.go("last")
    day.orchard.press("Take back")
    day.wrote(4)
    while day.entries < ENTRIES:
        day.press("piece", bags[day.entries % 4], words=["Into the crew's box"])
        if day.entries < ENTRIES:
            day.give(bags[(day.entries - 1) % 4], (day.entries - 1) % 4 + 1)


def kept_on_the_phone(page: Page) -> None:
    """The worker has the whole page, and this page."""
    page.wait_for_function("() => navigator.serviceWorker.controller !== null", timeout=30_000)


def enrolled_again(page: Page, device: Any, url: str) -> None:
    """The cookie that a browser keeps for a year, which one that is told to crash has not written yet."""
    answer = HttpResponse()
    cookie.remember(answer, COOKIE, device, secure=False)
    page.context.add_cookies([{"name": COOKIE, "value": answer.cookies[COOKIE].value, "url": url}])


def shown(orchard: Orchard) -> dict[str, Counter[str]]:
    """Who has what by the phone: number -> the ends of the tags."""
    orchard.go("crew")
    rows = orchard.page.locator(".person").evaluate_all(
        "(rows) => rows.map((row) => [row.querySelector('.person-number').firstChild.data,"
        " [...row.querySelectorAll('.piece b')].map((b) => b.textContent)])"
    )
    return {number: Counter(tags) for number, tags in rows}


def in_the_book(farm: Farm) -> dict[str, Counter[str]]:
    found: dict[str, Counter[str]] = {}
    for picker in Picker.objects.exclude(number="3"):
        tags = ItemState.objects.filter(place="picker", picker=picker).values_list("tag", flat=True)
        found[picker.number] = Counter(tag[2:] for tag in tags)
    return found


def clock_on(orchard: Orchard) -> str | None:
    """The time that the phone says is the first to dip by."""
    orchard.go("crew")
    line = orchard.page.locator(".now-dip")
    if line.count() == 0:
        return None
    found = re.search(r"(\d\d:\d\d)", line.inner_text())
    return found.group(1) if found else None


def clock_in_the_book(farm: Farm) -> str | None:
    dip = next_dip(farm.crews["red"].pk, timezone.now())
    return f"{timezone.localtime(dip.at):%H:%M}" if dip else None
