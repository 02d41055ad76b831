"""Crew sheets on the phone: fetched in the morning, own crews first; what a sheet holds is told from what it lacks."""

from collections.abc import Callable
from typing import Any

import pytest
from playwright.sync_api import Page, Request

from tests.cast import Farm
from tests.outboxes import Phone, dead, html

pytestmark = pytest.mark.django_db(transaction=True)

Expect = Callable[[str], None]
SHEETS = "**/api/crews/*/sheet/"


@pytest.fixture
def phone(farm: Farm, page: Page, sign_in: Any) -> Phone:
    farm.crews["blue"].store = farm.stores["A"]
    farm.crews["blue"].save()
    sign_in(page, farm.users["sam"])
    phone = Phone(farm, page).open()
    phone.until(line="on")
    return phone


def refresh(phone: Phone, *colours: str) -> Any:
    """Sam's own crew is the red one."""
    crews = [{"code": phone.farm.crews[colour].pk, "own": colour == "red"} for colour in colours]
    return phone.page.evaluate("(crews) => sheets.refresh(crews)", crews)


def since(phone: Phone, colour: str = "red") -> list[str]:
    """Ids of what is to be folded on the sheet of a crew."""
    script = """async (code) => {
      const { mark } = await sheets.read(code);
      return (await box.since(mark)).map((entry) => entry.id);
    }"""
    return phone.page.evaluate(script, phone.farm.crews[colour].pk)


def test_own_crews_come_first_and_are_not_sent_again(phone: Phone) -> None:
    red, blue = (phone.farm.crews[colour].pk for colour in ("red", "blue"))
    asked: list[Request] = []
    phone.page.on("request", lambda request: asked.append(request) if "/sheet/" in request.url else None)
    assert refresh(phone, "blue", "red") == {"why": "on", "got": [red, blue], "same": []}
    assert refresh(phone, "blue", "red") == {"why": "on", "got": [], "same": [red, blue]}
    assert [request.url.split("/")[-3] for request in asked] == [red, blue] * 2
    row = phone.page.evaluate("(code) => sheets.read(code)", red)
    assert row["sheet"]["crew"]["code"] == red and row["sheet"]["v"] == 1
    assert row["fetchedAt"] == phone.page.evaluate("(code) => sheets.fetchedAt(code)", red)


def test_without_a_line_the_sheets_of_this_morning_stay(phone: Phone, expect_problem: Expect) -> None:
    expect_problem("ERR_CONNECTION_REFUSED")
    refresh(phone, "red")
    for how in (html(200), {"json": {"v": 2}}, {"json": []}, dead):
        phone.answers(how, url=SHEETS)
        assert refresh(phone, "red")["why"] == "unreachable"
    (row,) = phone.page.evaluate("() => sheets.all()")
    assert row["sheet"]["crew"]["code"] == phone.farm.crews["red"].pk


def test_of_what_was_recorded_only_what_the_sheet_lacks_is_folded(
    phone: Phone, expect_problem: Expect
) -> None:
    before = phone.arrived(1)
    phone.until(unsent=0)
    refresh(phone, "red")
    assert since(phone) == []
    sent = phone.arrived(1)
    phone.until(unsent=0)
    expect_problem("ERR_CONNECTION_REFUSED")
    phone.answers(dead)
    waiting = phone.arrived(1)
    assert since(phone) == sent + waiting
    # The journal keeps the day's, which may yet be taken back; then what some sheet lacks, and forgets the rest.
    forget = "async () => box.forgetSent(await sheets.mark())"
    assert phone.page.evaluate(forget) == 0
    phone.page.clock.set_fixed_time(phone.page.evaluate("() => Date.now() / 1000") + 24 * 3600)
    assert phone.page.evaluate(forget) == 1
    assert [row["id"] for row in phone.rows()] == sent + waiting and before[0] not in since(phone)


def test_a_clock_set_back_does_not_fold_anything_twice(phone: Phone) -> None:
    """By times the entry, of an hour ahead, would seem to be newer than the sheet that holds it."""
    now = phone.page.evaluate("() => Date.now() / 1000")
    phone.page.clock.set_fixed_time(now + 3600)
    phone.arrived(1)
    phone.until(unsent=0)
    phone.page.clock.set_fixed_time(now)
    refresh(phone, "red")
    assert since(phone) == []


def test_crews_that_are_no_longer_asked_for_go(phone: Phone, expect_problem: Expect) -> None:
    refresh(phone, "red", "blue")
    refresh(phone, "red")
    assert [row["code"] for row in phone.page.evaluate("() => sheets.all()")] == [phone.farm.crews["red"].pk]


def test_without_sheets_nothing_is_forgotten(phone: Phone) -> None:
    ids = phone.arrived(1)
    phone.until(unsent=0)
    assert phone.page.evaluate("async () => box.forgetSent(await sheets.mark())") == 0
    assert [row["id"] for row in phone.rows()] == ids
