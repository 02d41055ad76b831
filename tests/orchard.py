"""A supervisor's phone for browser tests: the orchard page as Sam has it, what it shows, what it told the book."""

import re
from collections.abc import Callable
from dataclasses import dataclass
from datetime import timedelta
from typing import Any

import pytest
from django.http import HttpResponse
from django.utils import timezone
from playwright.sync_api import Locator, Page, expect

from crews.models import Device
from equipment.actions.load_catalogue import load_catalogue
from equipment.models import Entry, ItemState
from equipment.pages.devices import phone as enrolled
from tests.browsing import Watch
from tests.cast import Farm
from tests.farm import Post

WIDTH, HEIGHT = 390, 844
KEPT = "() => document.querySelector('.status').dataset.unsent"


class Orchard:
    """The page in one thumb's reach. `press` is a touch; `touches` counts them."""

    def __init__(self, page: Page) -> None:
        self.page = page
        self.touches = 0
        self.screen: Locator = page.locator('[data-slot="screen"]')
        self.told: Locator = page.locator(".told")
        self.status: Locator = page.locator(".status")

    def open(self, path: str = "") -> "Orchard":
        self.page.goto(f"/orchard/{path}")
        return self.ready()

    def ready(self) -> "Orchard":
        self.page.wait_for_function(
            """() => document.querySelector('.orchard[data-ready="true"]')""", timeout=30_000
        )
        return self

    def go(self, *path: Any) -> None:
        """Another screen, as by its address."""
        wanted = "#/" + "/".join(str(part) for part in path)
        self.page.evaluate("(wanted) => { location.hash = wanted; }", wanted)
        expect(self.screen).to_have_attribute("data-screen", str(path[0]))

    def press(self, words: str, *, exact: bool = False) -> None:
        self.touches += 1
        name = words if exact else re.compile(re.escape(words))
        button = self.screen.get_by_role("button", name=name)
        link = self.screen.get_by_role("link", name=name)
        folded = self.screen.locator("summary").filter(has_text=words)
        button.or_(link).or_(folded).first.click()

    def scan(self, text: str) -> None:
        self.page.keyboard.type(text, delay=1)
        self.page.keyboard.press("Enter")

    def says(self, outcome: str, *words: str) -> None:
        expect(self.told).to_have_attribute("data-outcome", outcome)
        for word in words:
            expect(self.told).to_contain_text(word)

    def shows(self, *words: str) -> None:
        for word in words:
            expect(self.screen).to_contain_text(word)

    def sent(self) -> None:
        """Wait until the book has everything."""
        expect(self.status).to_have_attribute("data-unsent", "0", timeout=30_000)

    def unsent(self, count: int) -> None:
        expect(self.status).to_have_attribute("data-unsent", str(count))


def verbs(*names: str) -> list[Entry]:
    """The entries of these verbs that a phone wrote, in the order of its own count."""
    return list(Entry.objects.filter(verb__in=names, device__kind=Device.Kind.PHONE).order_by("device_seq"))


def tag_of(entry: Entry) -> str:
    return ItemState.objects.get(pk=entry.item_id).tag


def where(tag: str) -> tuple[str, str | None]:
    state = ItemState.objects.select_related("picker").get(tag=tag)
    return state.place, state.picker.name if state.picker else None


def enrol(page: Page, farm: Farm, url: str, name: str = "Sam's phone") -> Device:
    """This page's browser is an enrolled phone of store A from now on."""
    device = Device.objects.create(kind=Device.Kind.PHONE, name=name, store=farm.stores["A"])
    answer = HttpResponse()
    enrolled.cookie.remember(answer, enrolled.COOKIE, device, secure=False)
    known = answer.cookies[enrolled.COOKIE].value
    page.context.add_cookies([{"name": enrolled.COOKIE, "value": known, "url": url}])
    return device


@dataclass
class Gear:
    """What Rosa handed out this morning: `ana` and `ben` each with a bag and clippers, the rest in the crew's box."""

    ana: dict[str, str]
    ben: dict[str, str]
    clippers: str
    bag: str
    ladder: str


@pytest.fixture
def gear(farm: Farm, post: Post) -> Gear:
    """All of it sterile and looked over this morning, so that only the orchard makes it due."""
    farm.plan("red", "N4", clipped=True)
    bags, clippers, (ladder,) = farm.gear("bag", 3), farm.gear("clippers", 3), farm.gear("ladder")
    red = farm.crews["red"].pk
    morning = timezone.now() - timedelta(hours=1)

    def out(item: str, **to: str) -> dict[str, Any]:
        return farm.entry("handed_out", item=item, at=morning, **to)

    answers = post(
        *(out(item, picker=farm.badges[name]) for name, item in zip(("ana", "ben"), bags, strict=False)),
        *(out(item, picker=farm.badges[name]) for name, item in zip(("ana", "ben"), clippers, strict=False)),
        *(out(item, crew=red) for item in (bags[2], clippers[2], ladder)),
        gate="note",
    )
    assert {answer["outcome"] for answer in answers} == {"recorded"}
    one, two = ({"bag": bags[n], "clippers": clippers[n]} for n in (0, 1))
    return Gear(one, two, clippers[2], bags[2], ladder)


@pytest.fixture
def orchard(
    page: Page, farm: Farm, gear: Gear, sign_in: Callable[[Page, Any], None], live_server: Any, watch: Watch
) -> Orchard:
    """Sam's phone, enrolled in store A, not opened yet; the rules of the catalogue are in force."""
    load_catalogue()
    # Without a line it goes on asking, by its own timers.
    watch.allowed.append("ERR_INTERNET_DISCONNECTED")
    page.set_viewport_size({"width": WIDTH, "height": HEIGHT})
    sign_in(page, farm.users["sam"])
    enrol(page, farm, live_server.url)
    return Orchard(page)
