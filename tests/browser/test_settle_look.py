"""To settle on a phone and on the store's screen: fit for everybody, and worked without a mouse."""

import pytest
from django.utils import timezone
from playwright.sync_api import expect

from equipment.domain import codes
from equipment.models import Discrepancy, KeptEntry
from tests.cast import Farm, found_farm
from tests.orchards import a_phone, hours, settle, swap, waiting

PHONE, SCREEN = {"width": 390, "height": 844}, {"width": 1280, "height": 800}


@pytest.fixture
def farm(transactional_db):
    return found_farm()


@pytest.fixture
def told(farm: Farm):
    """A swap told twice, a tag that nobody knows, a line that cannot be read, and a phone taken off the list."""
    from rest_framework.test import APIClient

    def send(name: str, *entries: object, **fields: object) -> None:
        client = APIClient()
        client.force_login(farm.users[name], backend="crews.signing_in.RoleBackend")
        sent = farm.batch(entries, "note", **fields)
        assert client.post("/api/entries/", sent, format="json").status_code == 200

    hers, spare = farm.gear("bag", 2, days_ago=1)
    ana, red = farm.badges["ana"], farm.crews["red"].pk
    send("rosa", farm.entry("handed_out", item=hers, picker=ana, at=hours(8)))
    send("rosa", farm.entry("handed_out", item=spare, crew=red, at=hours(8)))
    for number in (1, 2):
        sent = swap(farm, hers, spare, "ana", hours(4))
        send("sam", *sent, device=str(a_phone(f"Phone {number}").pk))
    unknown = farm.entry("missed", item=codes.make("BG", 8100))
    send("sam", unknown, {"verb": "danced", "id": "x" * 90}, device=str(a_phone("Phone 3").pk))
    gone = a_phone("Phone 4", revoked_at=timezone.now())
    send(
        "sam", farm.entry("left", crew=red), farm.entry("arrived", crew=red, block="N4"), device=str(gone.pk)
    )
    return hers, spare


@pytest.mark.parametrize("size", [PHONE, SCREEN], ids=["phone", "screen"])
def test_every_list_can_be_used_by_everybody(farm: Farm, told, open_page, sign_in, axe, size):
    settle(farm, "so_it_was", item__state__tag=told[0], note="asked them both")
    page = open_page(viewport=size)
    sign_in(page, farm.users["olga"])
    for query in ("", "?list=kept", "?list=settled", "?list=open&what=missing", "?list=kept&what=revoked"):
        page.goto(f"/settle/{query}")
        for fold in page.locator("details").all():
            fold.locator("summary").click()
        axe(page)
        assert page.evaluate("document.documentElement.scrollWidth") <= size["width"], query
        small = page.locator(".case button, .case summary, .lists a").evaluate_all(
            "all => all.filter((e) => e.getBoundingClientRect().height < 44).length"
        )
        assert small == 0, query


def test_an_empty_book_says_so(farm: Farm, page, sign_in, axe):
    sign_in(page, farm.users["rosa"])
    for query, says in (
        ("", "Nothing contradicts itself"),
        ("?list=kept", "is in the book"),
        ("?list=settled", "Nothing has"),
    ):
        page.goto(f"/settle/{query}")
        expect(page.get_by_text(says)).to_be_visible()
        axe(page)


def test_it_is_settled_by_keyboard_from_the_board(farm: Farm, told, page, sign_in):
    sign_in(page, farm.users["rosa"])
    page.goto("/")
    page.get_by_role("main").get_by_role("link", name="To settle").press("Enter")
    first = page.get_by_role("article").first
    first.get_by_label("How do you know?").fill("told by both phones")
    first.get_by_role("button", name="It was not so, or was told twice").press("Enter")
    expect(page.get_by_role("status")).to_contain_text("Settled, and written in the book.")
    assert len(waiting()) == 1
    assert not Discrepancy.objects.filter(settled=True).exists()  # struck, so nothing contradicts any more


def test_an_officer_takes_a_phones_lines_in(farm: Farm, told, page, sign_in):
    sign_in(page, farm.users["olga"])
    page.goto("/settle/?list=kept")
    page.get_by_role("button", name="Take them all in").click()
    page.get_by_role("button", name="Take them in", exact=True).click()
    expect(page.get_by_role("status")).to_contain_text("2 lines went in.")
    assert not KeptEntry.objects.waiting().filter(revoked=True).exists()
