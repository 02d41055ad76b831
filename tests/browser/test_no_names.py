"""A day's work with people of unmistakable names: none of them is in an address, a log, the book or on the phone.

Against a server as a farm runs it, its log at its most talkative. Names stand where they must, in the tables of pickers
and users; and on the counter, whose sheet of the day finds people by name while the line is cut.
"""

import json
import re
import signal
from collections.abc import Iterator
from pathlib import Path
from urllib.parse import unquote_plus

import pytest
from django.contrib.sessions.models import Session
from django.utils import timezone
from playwright.sync_api import Browser, BrowserContext, Page, expect
from rest_framework.authtoken.models import Token

from crews import pins
from crews.models import Picker
from tests import processes
from tests.browsing import COUNTER, in_use
from tests.cast import PASSWORD, Farm
from tests.counter import Counter
from tests.kept_by_browser import KEPT
from tests.orchard import HEIGHT, WIDTH, Orchard
from tests.phones import code_of
from tests.stored import stored

pytestmark = pytest.mark.django_db(transaction=True)
PICKER, LOGIN, STOREMAN, LEADER = "Quillonwy", "brandquix", "Orsquilla", "Ferrumbard"
NAMES = (PICKER, LOGIN, STOREMAN, LEADER)
PIN = "407192"
WORD = "a word of the farm"


def named(text: str) -> list[str]:
    return [name for name in NAMES if name.lower() in text.lower()]


@pytest.fixture
def people(farm: Farm) -> Farm:
    rosa, sam = farm.users["rosa"], farm.users["sam"]
    rosa.username, rosa.first_name = LOGIN, STOREMAN
    rosa.save()
    sam.first_name = LEADER
    sam.save()
    for user in (rosa, sam):
        pins.set_pin(user, PIN, timezone.now())
    Picker.objects.filter(pk=farm.pickers["ana"].pk).update(name=f"{PICKER} Vexmoor")
    # More of the name than a page of the list holds.
    Picker.objects.bulk_create(Picker(number=f"Q{n}", name=f"{PICKER} {n}") for n in range(60))
    return farm


class Served:
    """The server, what it said, and every address that a browser asked it for or showed."""

    def __init__(self, browser: Browser) -> None:
        self.browser = browser
        self.server = processes.start("serve", "--port", "0")
        assert self.server.stdout
        found = re.search(r"http://\S+[^/\s]", self.server.stdout.readline())
        assert found
        self.url, self.addresses = found.group(), set[str]()
        self.contexts: list[BrowserContext] = []

    def page(self, width: int, height: int) -> Page:
        context = self.browser.new_context(base_url=self.url, viewport={"width": width, "height": height})
        context.set_default_timeout(30_000)
        context.on("request", lambda request: self.addresses.add(request.url))
        self.contexts.append(context)
        page = context.new_page()
        page.on("framenavigated", lambda frame: self.addresses.add(frame.url))
        return in_use(page)

    def log(self) -> str:
        for context in self.contexts:
            context.close()
        self.server.send_signal(signal.SIGTERM)
        said, _ = self.server.communicate(timeout=30)
        return said


@pytest.fixture
def served(people: Farm, chromium: Browser, monkeypatch: pytest.MonkeyPatch) -> Iterator[Served]:
    for name, value in (("LOG", "json"), ("LOG_LEVEL", "DEBUG"), ("HEALTH_TOKEN", WORD)):
        monkeypatch.setenv(f"SHEDBOOK_{name}", value)
    served = Served(chromium)
    yield served
    served.server.kill()
    served.server.communicate()


def test_no_name_goes_where_it_does_not_belong(
    people: Farm, served: Served, tmp_path: Path, caplog: pytest.LogCaptureFixture
) -> None:
    bag, other = people.gear("bag", 2)
    at_the_counter(people, served.page(**COUNTER), bag, other)
    by_the_office(people, served.page(**COUNTER))
    phone = served.page(WIDTH, HEIGHT)
    on_the_phone(people, phone, bag)
    kept_by_phone = phone.evaluate(KEPT)
    told = told_to_programs(people, served.page(WIDTH, HEIGHT))
    files = written(tmp_path)
    lines = served.log().splitlines()

    assert {"/sign-in/", "/counter/", "/pickers/", "/gear/", "/labels/", "/orchard/"} <= set(
        map(path, served.addresses)
    )
    assert any("after=" in address for address in served.addresses), "the list was turned over"
    assert len(lines) > 50 and len(files) > 10 and '"verb":"missed"' in kept_by_phone and "shedbook_" in told
    assert not named(" ".join(unquote_plus(address) for address in served.addresses))
    assert not [line for line in lines if named(line)]
    assert (
        not named(kept_by_phone) and not named(told) and not named(" ".join(files)) and not named(caplog.text)
    )

    # What was refused is kept as it was sent: evidence, not the book.
    evidence = {"equipment_attempt.subject", "equipment_attempt.picker", "equipment_keptentry.raw"}
    assert set(stored(PICKER)) == {"crews_picker.name"} | evidence
    # And those who tried to sign in, whom a throttle must know.
    assert [place for place in stored(LOGIN) if not place.startswith("axes_")] == ["crews_user.username"]
    assert stored(STOREMAN) == stored(LEADER) == ["crews_user.first_name"]
    assert Session.objects.exists()
    assert not named(json.dumps([session.get_decoded() for session in Session.objects.all()], default=str))


def path(address: str) -> str:
    return re.sub(r"^\w+://[^/]+", "", address).partition("?")[0]


def at_the_counter(farm: Farm, page: Page, *bags: str) -> None:
    """Signed in by name and PIN, served by badge and by name, looked up in every list."""
    page.goto("/sign-in/")
    page.get_by_label("Username").fill(LOGIN)
    page.get_by_label("Password").fill(PASSWORD)
    page.keyboard.press("Enter")
    page.wait_for_url(re.compile("^(?!.*sign-in)"))
    page.goto("/counter/here/")
    page.get_by_role("button", name="Open this counter").click()
    page.get_by_role("link", name="change storeman").click()
    page.locator(".who").get_by_role("link", name=STOREMAN).click()
    page.get_by_label("PIN", exact=True).fill("111111")
    page.keyboard.press("Enter")
    page.get_by_text("That PIN does not fit.").wait_for()
    page.get_by_label("PIN", exact=True).fill(PIN)
    page.keyboard.press("Enter")
    page.wait_for_url("**/counter/")
    counter = Counter(page)
    counter.ready()
    counter.scan_all(farm.badges["ana"], bags[0])
    counter.says("yes", PICKER)
    page.keyboard.press("Escape")
    page.keyboard.type("quill", delay=90)
    page.get_by_role("option", name=f"{PICKER} Vexmoor").click()
    counter.says("none", PICKER)
    counter.scan_all(bags[1])
    for address, more in (("/pickers/", "Turn the page"), ("/gear/", "Since")):
        page.goto(address)
        page.get_by_role("searchbox").fill(PICKER)
        page.keyboard.press("Enter")
        page.get_by_role("link", name=more).click()
        expect(page.get_by_role("searchbox")).to_have_value(PICKER)
    page.get_by_role("link", name="print labels for these").click()
    page.get_by_text("Only those that the list of gear showed").wait_for()
    page.get_by_role("button", name="Show which").click()
    expect(page.get_by_role("row").filter(has_text=bags[0])).to_be_visible()


def by_the_office(farm: Farm, page: Page) -> None:
    """A wrong password, a name in a wrong place, a page about a person, a register printed of them."""

    def signed_in(who: str, password: str) -> None:
        page.goto("/sign-in/")
        page.get_by_label("Username").fill(who)
        page.get_by_label("Password").fill(password)
        page.keyboard.press("Enter")

    signed_in(LOGIN, "not this one")
    page.locator(".wrong").first.wait_for()
    signed_in("olga", PASSWORD)
    page.wait_for_url(re.compile("^(?!.*sign-in)"))
    for address in (
        f"/pickers/{farm.pickers['ana'].pk}/",
        f"/registers/gear-card/?picker={farm.pickers['ana'].number}",
        "/still-out/",
    ):
        page.goto(address)
        expect(page.get_by_text(PICKER).first).to_be_visible()
    page.goto("/registers/gear-card/")
    page.get_by_label("Picker").fill(f"{PICKER} Vexmoor")
    page.get_by_role("button", name="Show").click()
    page.get_by_role("link", name="Today").click()
    expect(page.get_by_label("Picker")).to_have_value(f"{PICKER} Vexmoor")


def on_the_phone(farm: Farm, page: Page, bag: str) -> None:
    """Enrolled, a picker's bag lost, told to the book, and the page opened anew."""
    page.goto(f"/sign-in/?next=/orchard/enrol/{code_of(farm)}")
    page.get_by_label("Username").fill("sam")
    page.get_by_label("Password").fill(PASSWORD)
    page.keyboard.press("Enter")
    page.get_by_label("What is this phone called?").fill("Phone 1")
    page.keyboard.press("Enter")
    orchard = Orchard(page).ready()
    orchard.press(bag)
    orchard.press("Lost")
    orchard.says("yes", "marked lost")
    orchard.sent()
    page.reload()
    orchard.ready()


def told_to_programs(farm: Farm, page: Page) -> str:
    """What a program sends with a name in place of a badge, as evidence and to be settled; then health and measures."""
    ask, (bag,) = page.context.request, farm.gear("bag")
    token = Token.objects.create(user=farm.users["rosa"]).key
    for gate in ("hold", "note"):
        entries = [farm.entry("handed_out", item=bag, picker=who) for who in (PICKER, farm.badges["cy"])]
        entries += [farm.entry("handed_out", item=PICKER, picker=farm.badges["ana"])]
        head = {"Authorization": f"Token {token}"}
        assert ask.post("/api/entries/", headers=head, data=farm.batch(entries, gate)).status == 200
    head = {"Authorization": f"Bearer {WORD}"}
    said = [ask.get(address, headers=head).text() for address in ("/metrics", "/healthz", "/readyz")]
    return "\n".join(said)


def written(folder: Path) -> list[str]:
    """The names of what the commands write."""
    (folder / "printed").mkdir()
    for command in (
        ("print_registers", "--to", str(folder / "printed")),
        ("backup", "--to", str(folder / "kept")),
    ):
        code, out, err = processes.run(*command)
        assert code == 0, err
        assert not named(out + err)
    return [str(each) for each in folder.rglob("*")]
