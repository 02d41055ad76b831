"""A dropped connection: written down, not checked; kept, counted, and sent by itself under the same ids."""

import json
from collections.abc import Callable
from typing import Any

import pytest
from playwright.sync_api import Page, Route, expect

from equipment.domain import codes
from equipment.models import Discrepancy, Entry, KeptEntry
from tests.cast import Farm
from tests.counter import Counter, where
from tests.farm import Post

pytestmark = pytest.mark.django_db(transaction=True)

Expect = Callable[[str], None]
LOST = "ERR_INTERNET_DISCONNECTED"
KEPT = "Object.keys(localStorage).filter((key) => key.startsWith('counter-outbox:')).length"


def kept(page: Page) -> int:
    """Entries in the browser's storage."""
    return page.evaluate(KEPT)


def sent(page: Page) -> list[dict[str, Any]]:
    """Bodies of the requests to the book from now on."""
    bodies: list[dict[str, Any]] = []
    page.on(
        "request",
        lambda request: (
            bodies.append(request.post_data_json) if request.url.endswith("/api/entries/") else None
        ),
    )
    return bodies


@pytest.mark.every_database
def test_scans_are_written_down_and_go_by_themselves(
    farm: Farm, at_counter: Counter, expect_problem: Expect
) -> None:
    expect_problem(LOST)
    bag, clippers = farm.gear("bag")[0], farm.gear("clippers")[0]
    at_counter.page.reload()
    at_counter.ready()
    bodies = sent(at_counter.page)
    at_counter.page.context.set_offline(True)
    at_counter.scan_all(farm.badges["ana"], bag, clippers)
    at_counter.says("note", "Written down, not checked", clippers, "for Ana")
    at_counter.line("Scans that wait: 2")
    assert (at_counter.sounds()[-1], kept(at_counter.page), where(bag)[0]) == ("note", 2, "store")
    at_counter.page.context.set_offline(False)
    at_counter.line("Every scan is in the book.")
    at_counter.says("none", "All of it is in the book")
    at_counter.shows("Ana", bag, clippers)
    assert where(bag) == where(clippers) == ("picker", "Ana")
    assert kept(at_counter.page) == 0
    assert [(body["gate"], entry["queued"]) for body in bodies for entry in body["entries"]] == [
        ("note", True)
    ] * 2
    expect(at_counter.page.locator(".lines")).to_contain_text("now in the book")


def test_an_answer_that_got_lost_is_not_recorded_twice(
    farm: Farm, at_counter: Counter, expect_problem: Expect
) -> None:
    """The request arrives, its answer does not: the same id goes again and is known."""
    expect_problem("ERR_FAILED")
    (bag,) = farm.gear("bag")
    bodies = sent(at_counter.page)

    def lose(route: Route) -> None:
        route.fetch()
        route.abort()

    at_counter.page.route("**/api/entries/", lose, times=1)
    at_counter.scan_all(farm.badges["ana"], bag)
    at_counter.line("Every scan is in the book.")
    assert kept(at_counter.page) == 0
    assert Entry.objects.filter(verb="handed_out").count() == 1
    first, second = bodies
    assert first["entries"][0]["id"] == second["entries"][0]["id"]


@pytest.mark.parametrize("how", ["silence", "503"])
def test_no_answer_within_four_seconds_or_a_fault_of_the_server(
    how: str, farm: Farm, at_counter: Counter, expect_problem: Expect
) -> None:
    (bag,) = farm.gear("bag")
    if how == "503":
        expect_problem("503")
    at_counter.scan_all(farm.badges["ana"])

    def hinder(route: Route) -> None:
        if how == "503":
            route.fulfill(status=503, body="no")

    at_counter.page.route("**/api/entries/", hinder, times=1)
    at_counter.scan_all(bag)
    assert Entry.objects.filter(verb="handed_out").count() <= 1
    at_counter.line("Every scan is in the book.")
    assert where(bag) == ("picker", "Ana")


def test_where_the_disk_is_full_it_says_so_and_keeps_the_scans(
    farm: Farm, at_counter: Counter, expect_problem: Expect
) -> None:
    expect_problem("503")
    (bag,) = farm.gear("bag")
    full = {"code": "no_room", "say": "The disk of the server is full."}
    at_counter.scan_all(farm.badges["ana"])
    at_counter.page.route("**/api/entries/", lambda route: route.fulfill(status=503, json=full))
    at_counter.scan_all(bag)
    at_counter.line("disk is full", "Scans that wait: 1")
    at_counter.page.unroute("**/api/entries/")
    at_counter.page.get_by_role("button", name="Try again now").click()
    at_counter.line("Every scan is in the book.")
    assert where(bag) == ("picker", "Ana")


def test_a_reload_loses_nothing(farm: Farm, at_counter: Counter, expect_problem: Expect) -> None:
    expect_problem("ERR_FAILED")
    bag, other = farm.gear("bag", 2)
    page = at_counter.page
    page.route("**/api/entries/", lambda route: route.abort())
    at_counter.scan_all(farm.badges["ana"], bag, other)
    before = {key["entry"]["id"] for key in waiting(page)}
    page.reload()
    at_counter.line("Scans that wait: 2")
    page.unroute("**/api/entries/")
    page.get_by_role("button", name="Try again now").click()
    at_counter.line("Every scan is in the book.")
    assert {str(entry.pk) for entry in Entry.objects.filter(verb="handed_out")} == before


def waiting(page: Page) -> list[dict[str, Any]]:
    script = "Object.entries(localStorage).filter(([key]) => key.startsWith('counter-outbox:')).map(([, row]) => row)"
    return [json.loads(row) for row in page.evaluate(script)]


def test_only_the_answer_for_that_very_id_takes_it_out(
    farm: Farm, at_counter: Counter, expect_problem: Expect
) -> None:
    expect_problem("ERR_FAILED")
    one, two = farm.gear("bag", 2)
    page = at_counter.page
    page.route("**/api/entries/", lambda route: route.abort())
    at_counter.scan_all(farm.badges["ana"], one, two)
    page.unroute("**/api/entries/")

    def half(route: Route) -> None:
        answered = route.fetch()
        body = answered.json()
        route.fulfill(response=answered, json={**body, "answers": body["answers"][:1]})

    page.route("**/api/entries/", half, times=1)
    with page.expect_response("**/api/entries/"), page.expect_response("**/api/entries/"):
        page.get_by_role("button", name="Try again now").click()
    at_counter.line("Every scan is in the book.")
    assert kept(page) == 0
    assert Entry.objects.filter(verb="handed_out").count() == 2


def test_signed_out_it_waits_for_the_login(
    farm: Farm, at_counter: Counter, expect_problem: Expect, sign_in: Any
) -> None:
    expect_problem("401")
    (bag,) = farm.gear("bag")
    page = at_counter.page
    at_counter.scan_all(farm.badges["ana"])
    page.context.clear_cookies(name="sessionid")
    at_counter.scan_all(bag)
    at_counter.says("note", "Written down, not checked")
    at_counter.line("You are signed out. Scans that wait: 1")
    expect(page.get_by_role("link", name="Sign in again")).to_be_visible()
    bodies = sent(page)
    page.wait_for_timeout(1500)
    assert bodies == []  # it does not knock for ever
    sign_in(page, farm.users["rosa"])
    page.goto("/counter/")
    at_counter.line("Every scan is in the book.")
    assert where(bag) == ("picker", "Ana")


def test_what_another_person_left_waits_for_them(
    farm: Farm, at_counter: Counter, expect_problem: Expect, sign_in: Any
) -> None:
    expect_problem("ERR_FAILED")
    (bag,) = farm.gear("bag")
    page = at_counter.page
    farm.users["mo"].groups.set(farm.users["rosa"].groups.all())
    page.route("**/api/entries/", lambda route: route.abort())
    at_counter.scan_all(farm.badges["ana"], bag)
    page.unroute("**/api/entries/")
    sign_in(page, farm.users["mo"])
    page.goto("/counter/")
    at_counter.ready()
    at_counter.line("Scans by rosa wait here: 1")
    assert where(bag)[0] == "store"
    sign_in(page, farm.users["rosa"])
    page.goto("/counter/")
    at_counter.line("Every scan is in the book.")
    assert Entry.objects.get(verb="handed_out").by == farm.users["rosa"]


def test_a_contradiction_is_told_and_waits_to_be_settled(
    farm: Farm, at_counter: Counter, expect_problem: Expect, post: Post
) -> None:
    expect_problem(LOST)
    (bag,) = farm.gear("bag")
    at_counter.scan_all(farm.badges["ana"])
    at_counter.page.context.set_offline(True)
    at_counter.scan_all(bag)
    post(farm.entry("handed_out", item=bag, picker=farm.badges["ben"]))  # at another counter
    at_counter.page.context.set_offline(False)
    at_counter.line("Every scan is in the book.")
    expect(at_counter.page.locator(".remarks")).to_contain_text(bag)
    assert Discrepancy.objects.get().code == "already_out"


def test_what_the_book_cannot_place_is_told_and_kept(
    farm: Farm, at_counter: Counter, expect_problem: Expect
) -> None:
    expect_problem(LOST)
    at_counter.scan_all(farm.badges["ana"])
    at_counter.page.context.set_offline(True)
    at_counter.scan_all(codes.make("BG", 9999))
    at_counter.page.context.set_offline(False)
    at_counter.line("Every scan is in the book.")
    expect(at_counter.page.locator(".remarks")).to_contain_text("kept for the office")
    assert KeptEntry.objects.get().code == "unknown_item"
    assert kept(at_counter.page) == 0


def test_sets_names_undo_and_returns_without_the_book(
    farm: Farm, at_counter: Counter, expect_problem: Expect, post: Post
) -> None:
    expect_problem(LOST)
    bag, clippers, gloves = farm.gear("bag")[0], farm.gear("clippers")[0], farm.gear("gloves")[0]
    code = codes.make(codes.SET, 1)
    post(*(farm.entry("packed", item=tag, detail={"set": code}) for tag in (bag, clippers)))
    at_counter.page.reload()
    at_counter.ready()
    at_counter.page.context.set_offline(True)
    at_counter.scan_all(farm.badges["ben"])
    at_counter.says("none", "Ben", "The line is cut")
    at_counter.scan_all(code)
    at_counter.says("note", code, "for Ben")
    at_counter.scan_all(gloves, "undo")
    at_counter.says("note", gloves)
    at_counter.scan_all("take_back", bag)
    at_counter.says("note", bag, "from Ben")
    at_counter.scan_all("waive", "day_card")
    at_counter.line("Scans that wait: 5")
    at_counter.page.context.set_offline(False)
    at_counter.line("Every scan is in the book.")
    assert (where(bag)[0], where(clippers), where(gloves)[0]) == ("store", ("picker", "Ben"), "store")
    assert not Discrepancy.objects.exists()


def test_a_full_storage_says_write_it_on_paper(
    farm: Farm, at_counter: Counter, expect_problem: Expect
) -> None:
    expect_problem(LOST)
    bag, other = farm.gear("bag", 2)
    at_counter.scan_all(farm.badges["ana"])
    at_counter.page.evaluate(
        "() => { Storage.prototype.setItem = () => { throw new DOMException('full', 'QuotaExceededError'); }; }"
    )
    at_counter.scan_all(bag)  # with a line, nothing needs to be kept
    at_counter.says("yes", "Picking bag for Ana")
    at_counter.page.context.set_offline(True)
    at_counter.scan_all(other)
    at_counter.says("no", "Not written down", "Write it on paper.")
