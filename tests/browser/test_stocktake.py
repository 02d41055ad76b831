"""Two people count a store at once, each in a browser of their own, and settle all kinds of surprise."""

from collections.abc import Callable
from typing import Any

import pytest
from playwright.sync_api import Locator, Page, expect

from equipment.actions.verify_book import verify_book
from equipment.domain import codes
from equipment.models import Entry, Stocktake
from tests.browsing import OpenPage
from tests.cast import Farm, found_farm
from tests.counter import HEAR, PITCHES
from tests.documents import reading
from tests.stocktaking import hand_out, standing, state, told

pytestmark = pytest.mark.django_db(transaction=True)

PHONE, SCREEN = {"width": 390, "height": 844}, {"width": 1280, "height": 800}
SMALL = """(least) => [...document.querySelectorAll('main :is(button, a.button, input, select, summary)')]
  .filter((one) => one.getClientRects().length > 0)
  .filter((one) => one.getBoundingClientRect().height < least)
  .map((one) => one.outerHTML)"""
TOO_WIDE = "document.documentElement.scrollWidth > document.documentElement.clientWidth"


@pytest.fixture
def farm(transactional_db: None) -> Farm:
    return found_farm()


class Counting:
    """The scanning page as somebody has it."""

    def __init__(self, page: Page) -> None:
        self.page = page
        self.answer: Locator = page.locator(".answer")

    def ready(self) -> None:
        expect(self.page.locator('.stock-scan[data-ready="true"]')).to_be_attached()

    def scan(self, *texts: str) -> None:
        for text in texts:
            self.page.keyboard.type(text, delay=1)
            self.page.keyboard.press("Enter")

    def says(self, outcome: str, *words: str) -> None:
        expect(self.page.locator('.stock-scan[data-waiting="0"]')).to_be_attached()
        expect(self.answer).to_have_attribute("data-outcome", outcome)
        for word in words:
            expect(self.answer).to_contain_text(word)

    def heard(self) -> str:
        """The sound of the last answer, by the pitch that it began with."""
        pitches = self.page.evaluate("pitches")
        return next(PITCHES[pitch] for pitch in reversed(pitches) if pitch in PITCHES)


def fits(page: Page, least: int, axe: Callable[[Page], None]) -> None:
    assert not page.evaluate(TOO_WIDE)
    assert page.evaluate(SMALL, least) == []
    axe(page)


def test_two_people_count_a_store_and_settle_every_surprise(
    farm: Farm,
    open_page: OpenPage,
    sign_in: Callable[[Page, Any], None],
    axe: Callable[[Page], None],
    expect_problem: Callable[[str], None],
) -> None:
    expect_problem("ERR_FAILED")
    bags = farm.gear("bag", 8, days_ago=1)
    (other,) = farm.gear("clippers", store="B", days_ago=1)
    out, missing, gone, left, *fine = bags
    hand_out(farm, out, minutes_ago=60)
    told(farm, missing, "missed")
    told(farm, gone, "written_off", circumstance="lost")
    rosa_page, mo_page = open_page(viewport=SCREEN), open_page(viewport=PHONE)
    for page, name in ((rosa_page, "rosa"), (mo_page, "mo")):
        page.add_init_script(HEAR)
        sign_in(page, farm.users[name])
    rosa, mo = Counting(rosa_page), Counting(mo_page)

    # Rosa begins, Mo goes on with it on the phone.
    rosa_page.goto("/stocktake/")
    rosa_page.get_by_label("Picking bags").check()
    rosa_page.get_by_role("button", name="Begin").click()
    rosa.ready()
    own = Stocktake.objects.get()
    mo_page.goto("/stocktake/")
    mo_page.get_by_role("link", name="Go on scanning").click()
    mo.ready()
    fits(mo_page, 64, axe)

    # Both scan at once; the same piece counts once; each surprise says so.
    rosa.scan(fine[0])
    rosa.says("yes", "Seen", fine[0], "Picking bag")
    assert rosa.heard() == "yes"
    mo.scan(fine[0])
    mo.says("note", "Seen already", "By rosa")
    assert mo.heard() == "note"
    rosa.scan(out)
    rosa.says("partial", "Seen, but not expected", "with Ana, Red crew")
    assert rosa.heard() == "partial"
    mo.scan(other)
    mo.says("partial", "in Store B")
    rosa.scan(missing, gone)
    rosa.says("partial")
    mo_page.get_by_label("Or type the label").fill("Rented 14")
    mo_page.get_by_role("button", name="It is here").click()
    mo.says("no", "Not in the book", "Rented 14")
    assert mo.heard() == "no"
    mo.scan("BG0001A")
    mo.says("no", "Misread")
    mo.scan(codes.make("ST", 1))
    mo.says("no", "The tag of a set", "one by one")

    # The line is cut in the middle, and the page loaded again: nothing is lost, nothing is twice.
    rosa_page.route("**/scans/", lambda route: route.abort())
    rosa.scan(fine[1], fine[2])
    rosa.says("note", "Kept here")
    waiting = rosa_page.locator(".connection")
    expect(waiting).to_contain_text("not written down yet: 2")
    rosa_page.reload()
    rosa.ready()
    expect(waiting).to_contain_text("not written down yet: 2")
    assert not Entry.objects.filter(act=own.pk, item=state(fine[1]).pk).exists()
    rosa_page.unroute("**/scans/")
    rosa.says("yes", "Written down: 2")
    expect(waiting).to_be_hidden()
    mo.scan(fine[3])
    mo.says("yes")
    mo_page.get_by_role("button", name="Undo the last scan").click()
    mo.says("yes", "Taken back", fine[3])
    rosa.scan(fine[3])
    rosa.says("yes", "Seen")
    expect(mo_page.locator(".stock-sum")).to_contain_text("4 of 5 seen")
    fits(rosa_page, 64, axe)

    # Every surprise is settled by one choice; one of them is undone and chosen anew.
    mo_page.get_by_role("link", name="5 surprises to settle").click()
    fits(mo_page, 44, axe)
    rosa_page.goto(f"/stocktake/{own.pk}/settle/")
    for tag, choice in (
        (out, "Take it back into Store A."),
        (other, "It stays here: move it to Store A."),
        (missing, "It stays missing"),
        (gone, "It stays written off."),
    ):
        rosa_page.locator(".case", has_text=tag).get_by_role("button", name=choice).click()
        expect(rosa_page.get_by_text("Settled, and written in the book.")).to_be_visible()
    mo_page.locator(".case", has_text="Rented 14").get_by_role("button", name="It is not ours").click()
    rosa_page.get_by_role("link", name="Settled").click()
    rosa_page.locator(".case", has_text=missing).get_by_role("button", name="Open it again").click()
    rosa_page.goto(f"/stocktake/{own.pk}/settle/")
    rosa_page.locator(".case", has_text=missing).get_by_role("button", name="It is found").click()
    rosa_page.get_by_role("link", name="Not seen (1)").click()
    rosa_page.locator(".case", has_text=left).locator("summary").click()
    fits(rosa_page, 44, axe)
    rosa_page.get_by_label("Their badge, or the crew's tag").fill(farm.badges["ben"])
    rosa_page.locator("form", has_text="It is out: somebody has it.").get_by_role("button").click()
    expect(rosa_page.get_by_text("Everything is seen or settled.")).to_be_visible()
    found = {tag: (state(tag).place, state(tag).store_id) for tag in (out, other, missing, gone, left)}
    assert found == {
        out: ("store", "A"),
        other: ("store", "A"),
        missing: ("store", "A"),
        gone: ("gone", "A"),
        left: ("picker", "A"),
    }
    assert all(standing(own, tag) == "settled" for tag in found)

    # The end, and the paper.
    rosa_page.get_by_role("button", name="End the stocktake").click()
    rosa_page.get_by_role("button", name="End it").click()
    expect(rosa_page.get_by_role("link", name="Print the report")).to_be_visible()
    paper = " ".join(reading.words(rosa_page.request.get(f"/stocktake/{own.pk}/report.pdf").body()))
    for words in (*found, *fine, "Rented 14", "taken back", "moved to Store A", "not ours", "Signature"):
        assert words in paper, words
    for page in (rosa_page, mo_page):
        page.goto("/stocktake/")
        expect(page.get_by_role("link", name="Report")).to_be_visible()
        assert not page.evaluate(TOO_WIDE)
        axe(page)
    assert verify_book().clean
