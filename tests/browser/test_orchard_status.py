"""The line that is always on the screen, and what stands behind it: sent or not, refused and why, kept, the file."""

import json
import re
from collections.abc import Callable
from typing import Any

import pytest
from django.utils import timezone
from playwright.sync_api import Page, Route, expect

from crews.models import BadgeLoan, Device
from equipment.models import Entry
from tests.cast import Farm
from tests.orchard import Gear, Orchard, verbs

pytestmark = pytest.mark.django_db(transaction=True)

Expect = Callable[[str], None]


def test_unsent_with_the_age_of_the_oldest(gear: Gear, orchard: Orchard) -> None:
    orchard.page.clock.install()
    orchard.open()
    expect(orchard.status).to_contain_text("All sent")
    expect(orchard.status).to_contain_text(re.compile("kept"))
    orchard.page.context.set_offline(True)
    orchard.go("block")
    orchard.press("N4")
    orchard.unsent(1)
    expect(orchard.status).to_contain_text("no line")
    orchard.page.clock.run_for(12 * 60_000)
    expect(orchard.status).to_contain_text("Not sent: 1, oldest 12 min")
    expect(orchard.status).to_have_attribute("data-calm", "false")
    orchard.page.context.set_offline(False)
    orchard.page.get_by_role("button", name="Send now", exact=True).first.click()
    orchard.sent()
    assert len(verbs("arrived")) == 1


def test_what_the_book_refuses_is_shown_with_its_why(farm: Farm, gear: Gear, orchard: Orchard) -> None:
    orchard.open()
    # The card is lent to nobody by now.
    BadgeLoan.objects.filter(badge=farm.badges["ben"]).delete()
    orchard.press(gear.ana["bag"])
    orchard.press("Somebody else has it now")
    orchard.press("2", exact=True)
    expect(orchard.status).to_contain_text("Refused: 1")
    orchard.status.get_by_role("link").click()
    orchard.shows("Refused by the book", gear.ana["bag"], "not a card in use")
    orchard.press("Off this list")
    expect(orchard.status).not_to_contain_text("Refused")


def test_the_file_for_a_phone_that_will_never_connect_again(gear: Gear, orchard: Orchard) -> None:
    orchard.open()
    orchard.page.context.set_offline(True)
    orchard.go("block")
    orchard.press("N4")
    orchard.unsent(1)
    orchard.go("phone")
    with orchard.page.expect_download() as download:
        orchard.press("Save what is not sent")
    lines = [json.loads(line) for line in download.value.path().read_text().splitlines()]
    assert lines[0]["entries"] == 1
    assert lines[1]["entry"]["verb"] == "arrived"
    assert download.value.suggested_filename.endswith(".jsonl")


def test_signed_out_it_asks_and_keeps(
    farm: Farm, gear: Gear, orchard: Orchard, sign_in: Any, expect_problem: Expect
) -> None:
    expect_problem("40[13]")
    orchard.open()
    orchard.page.context.clear_cookies(name="sessionid")
    orchard.go("block")
    orchard.press("N4")
    sign = orchard.status.get_by_role("link", name="Sign in")
    expect(sign).to_be_visible()
    orchard.unsent(1)
    assert Entry.objects.filter(verb="arrived").count() == 0
    sign_in(orchard.page, farm.users["sam"])
    orchard.page.reload()
    orchard.ready()
    orchard.sent()
    assert len(verbs("arrived")) == 1


def test_signing_out_needs_a_line_and_keeps_what_is_not_sent(
    farm: Farm, gear: Gear, orchard: Orchard, sign_in: Any, expect_problem: Expect
) -> None:
    expect_problem("ERR_FAILED|40[13]")
    page = orchard.open().page
    page.context.set_offline(True)
    orchard.go("block")
    orchard.press("N4")
    orchard.unsent(1)
    orchard.go("more")
    orchard.press("Sign out")
    orchard.says("no", "needs a line")
    # A line again, but the book takes nothing: the line waits on.
    page.route("**/api/entries/", lambda route: route.abort())
    page.context.set_offline(False)
    orchard.press("Sign out")
    question = page.get_by_role("dialog")
    expect(question).to_contain_text("Not sent to the book yet from this phone: 1.")
    expect(question).to_contain_text("goes when you sign in here again")
    question.get_by_role("button", name="No, go back").click()
    orchard.press("Sign out")
    question.get_by_role("button", name="Sign out").click()
    page.wait_for_url("**/sign-in/**")
    assert verbs("arrived") == []
    page.unroute("**/api/entries/")
    sign_in(page, farm.users["sam"])
    orchard.open().sent()
    assert [entry.by for entry in verbs("arrived")] == [farm.users["sam"]]


def test_a_phone_that_nobody_signed_in_on(page: Page, farm: Farm, expect_problem: Expect) -> None:
    expect_problem("401")
    one = Orchard(page).open()
    expect(one.screen).to_contain_text("Sign in first")


def test_a_revoked_phone_says_so(orchard: Orchard) -> None:
    Device.objects.filter(kind=Device.Kind.PHONE).update(revoked_at=timezone.now())
    orchard.open("#/phone")
    expect(orchard.status).to_contain_text("phone withdrawn")
    orchard.shows("waits for the safety officer")


def test_storage_full_is_said_and_nothing_is_claimed(gear: Gear, orchard: Orchard) -> None:
    orchard.page.add_init_script(
        """{
          const add = IDBObjectStore.prototype.add;
          IDBObjectStore.prototype.add = function (row) {
            if (window.isFull && this.name === 'entries') throw new DOMException('full', 'QuotaExceededError');
            return add.call(this, row);
          };
        }"""
    )
    orchard.open("#/block")
    orchard.page.evaluate("() => { window.isFull = true; }")
    orchard.press("N4")
    orchard.says("no", "NOT written down")
    assert verbs("arrived") == []


def test_a_server_that_is_away_while_the_network_stays(
    gear: Gear, orchard: Orchard, expect_problem: Expect
) -> None:
    expect_problem("ERR_FAILED")
    orchard.open("#/block")

    def hang_up(route: Route) -> None:
        route.abort()

    orchard.page.route("**/api/**", hang_up)
    orchard.press("N4")
    orchard.unsent(1)
    expect(orchard.status).to_contain_text("store not reached")
    orchard.page.unroute("**/api/**")
    orchard.page.get_by_role("button", name="Send now", exact=True).first.click()
    orchard.sent()
    assert len(verbs("arrived")) == 1


def test_a_sheet_kept_overnight_says_so(gear: Gear, orchard: Orchard) -> None:
    page = orchard.page
    page.clock.install()
    orchard.open()
    expect(orchard.screen).not_to_contain_text("The sheet is of")
    page.context.set_offline(True)
    orchard.go("block")
    orchard.press("N4")
    orchard.says("yes", "In N4")
    orchard.go("crew")
    expect(orchard.screen.get_by_role("button", name="Rain")).to_be_visible()
    page.clock.fast_forward("26:00:00")
    expect(orchard.screen).to_contain_text("The sheet is of")
    # Nobody wrote down that the crew left: in the morning it comes into a block, that one too.
    expect(orchard.screen.get_by_role("button", name="Rain")).to_be_hidden()
    orchard.press("Came into a block")
    orchard.press("Picking again in N4")
    orchard.says("yes", "In N4")
    orchard.unsent(2)
    page.context.set_offline(False)
