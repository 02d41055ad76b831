"""The phone's outbox: on disk before it is said, sent in order and once, whatever happens to the page."""

from collections.abc import Callable
from typing import Any
from uuid import UUID

import pytest
from playwright.sync_api import Page

from equipment.models import Entry
from tests.browsing import until
from tests.cast import Farm
from tests.outboxes import DEVICE, Phone, dead, lost, silent

pytestmark = pytest.mark.django_db(transaction=True)

Expect = Callable[[str], None]
REFUSED = "ERR_CONNECTION_REFUSED"
TEN_YEARS = 10 * 365 * 86_400
DURABILITY = """() => {
  window.asked = [];
  const begin = IDBDatabase.prototype.transaction;
  IDBDatabase.prototype.transaction = function (stores, mode, options) {
    if (mode === 'readwrite') window.asked.push(options?.durability);
    return begin.call(this, stores, mode, options);
  };
}"""
ON_DISK = """(id) => new Promise((resolve) => {
  indexedDB.open('shedbook-orchard').onsuccess = ({target: {result: db}}) => {
    db.transaction('entries').objectStore('entries').get(id).onsuccess = ({target}) => {
      db.close();
      resolve(target.result.entry.verb);
    };
  };
})"""


@pytest.fixture
def phone(farm: Farm, page: Page, sign_in: Any) -> Phone:
    sign_in(page, farm.users["sam"])
    return Phone(farm, page).open()


def in_book() -> list[str]:
    """Ids of this phone's entries in the order in which the book took them."""
    ids = Entry.objects.filter(device=DEVICE).order_by("position").values_list("pk", flat=True)
    return [str(pk) for pk in ids]


def test_what_is_recorded_goes_to_the_book_by_itself(phone: Phone) -> None:
    ids = phone.arrived(3)
    status = phone.until(unsent=0, line="on")
    assert (status["oldest"], status["parked"], status["photos"], status["others"]) == (None, 0, 0, 0)
    assert in_book() == ids
    assert {UUID(pk).version for pk in ids} == {7}
    assert {body["gate"] for body in phone.bodies} == {"note"}
    assert {entry["queued"] for body in phone.bodies for entry in body["entries"]} == {True}
    assert [row["status"] for row in phone.rows()] == ["sent"] * 3


def test_it_is_on_disk_before_it_is_said(phone: Phone) -> None:
    phone.page.evaluate(DURABILITY)
    (entry,) = phone.record(phone.arrival())
    assert phone.page.evaluate(ON_DISK, entry["id"]) == "arrived"
    phone.until(unsent=0)
    assert set(phone.page.evaluate("() => asked")) == {"strict"}


def test_the_count_and_the_oldest_are_told(phone: Phone, expect_problem: Expect) -> None:
    expect_problem(REFUSED)
    phone.answers(dead)
    phone.page.evaluate("() => { window.told = []; box.onChange((status) => told.push(status.unsent)); }")
    phone.arrived(2)
    first = phone.until(unsent=2, line="unreachable")
    assert first["oldest"] == min(row["at"] for row in phone.rows())
    assert phone.page.evaluate("() => Math.max(...told)") == 2


@pytest.mark.parametrize("answer", [True, False])
def test_the_browser_is_asked_to_keep_it_and_its_answer_is_kept(
    answer: bool, farm: Farm, page: Page, sign_in: Any
) -> None:
    """Some browsers ask the person, who does not answer at once: nothing waits for that."""
    sign_in(page, farm.users["sam"])
    page.add_init_script(
        """const asked = new Promise((resolve) => { window.answer = resolve; });
        StorageManager.prototype.persisted = async () => false;
        StorageManager.prototype.persist = () => asked;"""
    )
    phone = Phone(farm, page).open()
    assert phone.status()["persisted"] is None
    phone.arrived(1)
    phone.until(unsent=0)
    page.evaluate("(answer) => window.answer(answer)", answer)
    phone.until(persisted=answer)
    until(page, "async () => (await kept.fact('persisted')) !== null")
    assert phone.open().status()["persisted"] is answer


def test_several_drafts_are_one_act_and_keep_their_order(phone: Phone) -> None:
    drafts = [phone.arrival("N4"), phone.arrival("S2")]
    entries = phone.record(*drafts)
    assert len({entry["act"] for entry in entries}) == 1
    assert entries[0]["device_seq"] + 1 == entries[1]["device_seq"]
    phone.until(unsent=0)
    assert {str(row.act) for row in Entry.objects.filter(device=DEVICE)} == {entries[0]["act"]}


def test_a_hundred_at_most_go_at_once_in_order(phone: Phone, expect_problem: Expect) -> None:
    expect_problem(REFUSED)
    phone.answers(dead)
    entries = [entry for _ in range(5) for entry in phone.record(*[phone.arrival()] * 50)]
    phone.until(unsent=250, line="unreachable")
    phone.bodies.clear()
    phone.headers.clear()
    phone.answers(None)
    phone.flush()
    assert [len(body["entries"]) for body in phone.bodies] == [100, 100, 50]
    assert [headers["x-unsent"] for headers in phone.headers] == ["150", "50", "0"]
    assert in_book() == [entry["id"] for entry in entries]


def test_an_answer_that_got_lost_is_known_the_second_time(phone: Phone, expect_problem: Expect) -> None:
    expect_problem("ERR_FAILED")
    phone.answers(lost, times=1)
    ids = phone.arrived(1)
    phone.flush()
    phone.until(unsent=0)
    assert in_book() == ids and len(phone.bodies) >= 2
    assert phone.rows()[0]["answer"]["outcome"] == "known"


def test_a_page_closed_between_tap_and_flush_loses_nothing(phone: Phone) -> None:
    phone.answers(silent)
    ids = phone.arrived(2)
    context = phone.page.context
    phone.page.close()
    again = Phone(phone.farm, context.new_page()).open()
    again.until(unsent=0, line="on")
    assert in_book() == ids


def test_it_flushes_when_the_line_comes_back(phone: Phone) -> None:
    phone.until(line="on")
    phone.page.context.set_offline(True)
    phone.until(line="offline")
    ids = phone.arrived(2)
    assert phone.until(unsent=2)["line"] == "offline"
    phone.page.context.set_offline(False)
    phone.until(unsent=0, line="on")
    assert in_book() == ids


def test_it_flushes_when_the_page_becomes_visible(phone: Phone, expect_problem: Expect) -> None:
    expect_problem(REFUSED)
    phone.answers(dead)
    phone.arrived(1)
    phone.until(unsent=1, line="unreachable")
    phone.answers(None)
    phone.page.evaluate("() => document.dispatchEvent(new Event('visibilitychange'))")
    phone.until(unsent=0, line="on")


def test_it_flushes_by_a_timer_with_a_dead_server_that_comes_back(
    phone: Phone, expect_problem: Expect
) -> None:
    """The network stays, so no event tells of it."""
    expect_problem(REFUSED)
    phone.answers(dead, times=1)
    phone.arrived(1)
    phone.until(unsent=0, line="on")
    first, second = phone.times[:2]
    assert second - first > 1.9


def test_a_clock_set_back_does_not_set_the_count_back(phone: Phone, expect_problem: Expect) -> None:
    expect_problem(REFUSED)
    phone.answers(dead)
    now = phone.page.evaluate("() => Date.now() / 1000")
    counts = []
    for clock in (now, now + TEN_YEARS, now - 3600, now - TEN_YEARS, now):
        phone.page.clock.set_fixed_time(clock)
        counts += [entry["device_seq"] for entry in phone.record(phone.arrival(), phone.arrival())]
    phone.until(unsent=10, line="unreachable")
    assert counts == sorted(set(counts))
    assert [row["seq"] for row in phone.rows()] == counts


def test_a_full_phone_says_so_and_nothing_is_done(
    farm: Farm, page: Page, sign_in: Any, live_server: Any
) -> None:
    """A photo that no longer fits takes nothing of its entry with it; the entry alone fits and goes."""
    sign_in(page, farm.users["sam"])
    cdp = page.context.new_cdp_session(page)
    cdp.send("Storage.overrideQuotaForOrigin", {"origin": live_server.url, "quotaSize": 400_000})
    phone = Phone(farm, page).open()
    refused = page.evaluate(
        """async (draft) => {
          const photo = { sha256: 'a'.repeat(64), type: 'image/jpeg', bytes: new ArrayBuffer(5_000_000) };
          return box.record([draft], { photos: [photo] }).then(() => 'done', (error) => error.why);
        }""",
        phone.arrival(),
    )
    assert refused == "full"
    assert phone.rows() == [] and phone.status()["photos"] == 0
    ids = phone.arrived(1)
    phone.until(unsent=0)
    assert in_book() == ids


def test_one_window_sends_at_a_time(phone: Phone, expect_problem: Expect) -> None:
    expect_problem(REFUSED)
    other = Phone(phone.farm, phone.page.context.new_page())
    other.answers(dead)
    other.open()
    phone.answers(dead)
    phone.arrived(3)
    other.until(unsent=3)  # told by the other window
    phone.until(line="unreachable")
    under_way = {"now": 0, "most": 0}

    def slowly(route: Any) -> None:
        under_way["now"] += 1
        under_way["most"] = max(under_way.values())
        answered = route.fetch()
        under_way["now"] -= 1
        route.fulfill(response=answered)

    for each in (phone, other):
        each.bodies.clear()
        each.answers(slowly)
    for each in (phone, other):
        each.page.evaluate("() => { box.flush(); }")
    for each in (phone, other):
        each.until(unsent=0, line="on")
    assert under_way["most"] == 1
    sent = [entry["id"] for each in (phone, other) for body in each.bodies for entry in body["entries"]]
    assert sorted(sent) == sorted(in_book()) and len(sent) == 3


def test_two_windows_never_share_a_number(phone: Phone) -> None:
    other = Phone(phone.farm, phone.page.context.new_page()).open()
    for each in (phone, other):
        each.page.evaluate(
            "(draft) => { window.all = Promise.all(Array.from({length: 20}, () => box.record([draft]))); }",
            phone.arrival(),
        )
    for each in (phone, other):
        each.page.evaluate("() => all.then(() => null)")
    numbers = [row["seq"] for row in phone.rows()]
    assert len(numbers) == 40 == len(set(numbers))
    for each in (phone, other):
        each.flush()
    assert len(in_book()) == 40
