"""What the phone's outbox makes of everything that a server, or somebody in its place, can answer."""

from collections.abc import Callable
from typing import Any

import pytest
from playwright.sync_api import Page, Route

from equipment.domain import codes
from equipment.models import Entry, KeptEntry
from tests.cast import Farm
from tests.outboxes import DEVICE, Phone, dead, half, html

pytestmark = pytest.mark.django_db(transaction=True)

Expect = Callable[[str], None]
REFUSED = "ERR_CONNECTION_REFUSED"


@pytest.fixture
def phone(farm: Farm, page: Page, sign_in: Any) -> Phone:
    sign_in(page, farm.users["sam"])
    phone = Phone(farm, page).open()
    phone.until(line="on")
    return phone


@pytest.fixture
def stocked(phone: Phone, expect_problem: Expect) -> Phone:
    """The same phone with eight entries that wait, as the server was gone."""
    expect_problem(REFUSED)
    phone.answers(dead)
    phone.record(*[phone.arrival()] * 8)
    phone.until(unsent=8, line="unreachable")
    phone.bodies.clear()
    phone.times.clear()
    return phone


def in_book() -> list[str]:
    ids = Entry.objects.filter(device=DEVICE).order_by("position").values_list("pk", flat=True)
    return [str(pk) for pk in ids]


def sizes(phone: Phone) -> list[int]:
    return [len(body["entries"]) for body in phone.bodies]


def test_of_a_413_half_goes(stocked: Phone, expect_problem: Expect) -> None:
    expect_problem("413")

    def small_only(route: Route) -> None:
        if len(route.request.post_data_json["entries"]) > 3:
            return route.fulfill(**html(413))
        return route.continue_()

    stocked.answers(small_only)
    stocked.flush()
    assert sizes(stocked) == [8, 4, 2, 2, 2, 2]
    assert stocked.status()["unsent"] == 0
    assert in_book() == [row["id"] for row in stocked.rows()]


@pytest.mark.parametrize("status", [429, 503])
def test_it_waits_as_long_as_it_is_told(status: int, stocked: Phone, expect_problem: Expect) -> None:
    expect_problem(str(status))
    stocked.answers({"status": status, "headers": {"Retry-After": "3"}, "body": "later"}, times=1)
    stocked.flush()
    assert stocked.status()["line"] == "busy"
    stocked.record(stocked.arrival())
    stocked.page.evaluate("() => document.dispatchEvent(new Event('visibilitychange'))")
    stocked.until(unsent=0, line="on")
    first, second = stocked.times[:2]
    assert second - first >= 2.9
    assert len(in_book()) == 9


def test_retry_after_is_read_as_rfc_9110_has_it(phone: Phone) -> None:
    """Section 10.2.3: seconds, or a date; its own two examples."""
    script = """async ([from, texts]) => {
      const { wait } = await import('/static/equipment/js/orchard/line.js');
      return texts.map((text) => wait(text, Date.parse(from)));
    }"""
    texts = ["Fri, 31 Dec 1999 23:59:59 GMT", "120", "0", "", "soon", None, "Fri, 31 Dec 1999 23:00:00 GMT"]
    found = phone.page.evaluate(script, ["1999-12-31T23:59:00Z", texts])
    assert found == [59_000, 120_000, 0, None, None, None, 0]


@pytest.mark.parametrize(
    ("answer", "problem"),
    [
        pytest.param({"status": 500, "json": {"answers": []}}, "500", id="500 in JSON"),
        pytest.param(html(500), "500", id="500"),
        pytest.param(html(200), "", id="a page in place of the answer"),
        pytest.param(html(403), "403", id="a portal that forbids"),
        pytest.param(html(404), "404", id="another server"),
        pytest.param({"status": 302, "headers": {"Location": "/sign-in/"}}, "", id="a portal elsewhere"),
        pytest.param({"status": 200, "content_type": "application/json", "body": '{"answ'}, "", id="cut short"),
        pytest.param({"status": 200, "content_type": "application/json", "body": "null"}, "", id="null"),
        pytest.param({"status": 200, "json": {"welcome": True}}, "", id="JSON of something else"),
        pytest.param({"status": 200, "json": {"answers": []}}, "", id="an answer of nothing"),
        pytest.param({"status": 200, "json": {"answers": [None, {"id": 5}]}}, "", id="nonsense"),
    ],
)  # fmt: skip
def test_what_is_no_answer_of_the_books_is_none(
    answer: dict[str, Any], problem: str, stocked: Phone, expect_problem: Expect
) -> None:
    if problem:
        expect_problem(problem)
    stocked.answers(answer)
    stocked.flush()
    status = stocked.status()
    assert (status["unsent"], status["parked"], status["line"]) == (8, 0, "unreachable")
    assert in_book() == []
    stocked.answers(None)
    stocked.flush()
    assert len(in_book()) == 8 and stocked.status()["unsent"] == 0


def test_only_the_answer_for_that_very_entry_takes_it_out(stocked: Phone) -> None:
    """Half of the answers arrive: those go, the others are sent again and known."""
    stocked.answers(half, times=1)
    stocked.flush()
    assert sizes(stocked) == [8, 4]
    rows = stocked.rows()
    assert [row["answer"]["outcome"] for row in rows] == ["recorded"] * 4 + ["known"] * 4
    assert in_book() == [row["id"] for row in rows]


def test_answers_for_others_ids_or_of_no_meaning_take_nothing_out(stocked: Phone) -> None:
    first, *others = (row["id"] for row in stocked.rows())
    strange = [{"id": "00000000-0000-7000-8000-000000000abc", "outcome": "recorded"}]
    strange += [{"id": pk, "outcome": "maybe"} for pk in others]
    answers = [*strange, {"id": first, "outcome": "recorded", "say": "", "discrepancies": []}]
    stocked.answers({"json": {"answers": answers}})
    stocked.flush()
    status = {row["id"]: row["status"] for row in stocked.rows()}
    assert status == {first: "sent"} | dict.fromkeys(others, "waiting")
    stocked.answers(None)
    stocked.flush()
    assert in_book() == others


def test_one_that_is_refused_is_parked_and_the_rest_go_on(stocked: Phone) -> None:
    nowhere = {"verb": "fault_found", "item": codes.make("BG", 9999), "detail": {"fault": "bag_hole"}}
    (bad,) = stocked.record(nowhere)
    (good,) = stocked.record(stocked.arrival())
    stocked.answers(None)
    stocked.flush()
    assert (stocked.status()["unsent"], stocked.status()["parked"]) == (0, 1)
    assert len(in_book()) == 9 and good["id"] in in_book()
    (parked,) = stocked.page.evaluate("() => box.parked()")
    assert (parked["id"], parked["answer"]["code"]) == (bad["id"], KeptEntry.objects.get().code)
    assert parked["answer"]["say"] and parked["entry"]["item"] == nowhere["item"]
    # It is not folded on a sheet; it can be tried again, and put away once somebody has seen it.
    assert bad["id"] not in [entry["id"] for entry in stocked.page.evaluate("() => box.since(0)")]
    assert stocked.page.evaluate("(id) => box.retry(id)", bad["id"])
    stocked.until(parked=1, unsent=0)
    assert stocked.page.evaluate("(id) => box.putAway(id)", bad["id"])
    assert stocked.status()["parked"] == 0 and KeptEntry.objects.count() == 1
    assert stocked.page.evaluate("(id) => box.retry(id)", bad["id"]) is False


def unreadable(note: str) -> Callable[[Route], None]:
    """A server that cannot read a request at all which holds an entry of this note."""

    def answer(route: Route) -> None:
        if any(entry.get("note") == note for entry in route.request.post_data_json["entries"]):
            return route.fulfill(status=400, json={"code": "unreadable", "say": "nested too deeply"})
        return route.continue_()

    return answer


def test_one_that_spoils_every_request_is_parked_alone(stocked: Phone, expect_problem: Expect) -> None:
    expect_problem("400")
    (bad,) = stocked.record(stocked.arrival(note="bad"))
    stocked.record(*[stocked.arrival()] * 8)
    stocked.answers(unreadable("bad"))
    stocked.flush()
    assert (stocked.status()["unsent"], stocked.status()["parked"]) == (0, 1)
    (parked,) = stocked.page.evaluate("() => box.parked()")
    assert (parked["id"], parked["answer"]["say"]) == (bad["id"], "nested too deeply")
    assert len(in_book()) == 16


def test_a_server_that_reads_nothing_parks_nothing(stocked: Phone, expect_problem: Expect) -> None:
    """It is the request that is at fault, say a store that does not exist: nothing of it is an entry's fault."""
    expect_problem("400")
    said = {"code": "unreadable", "say": "store: Say which store this is written in, by its code."}
    stocked.answers({"status": 400, "json": said})
    stocked.flush()
    status = stocked.status()
    assert (status["unsent"], status["parked"], status["line"]) == (8, 0, "unreachable")
    assert status["say"] == said["say"] and len(stocked.bodies) <= 12


def test_a_login_that_ran_out_pauses_loses_nothing_and_asks(
    stocked: Phone, expect_problem: Expect, sign_in: Any
) -> None:
    expect_problem("401")
    stocked.page.context.clear_cookies(name="sessionid")
    stocked.answers(None)
    stocked.flush()
    status = stocked.until(line="signed_out")
    assert (status["unsent"], status["parked"]) == (8, 0)
    stocked.bodies.clear()
    stocked.record(stocked.arrival())
    stocked.page.wait_for_timeout(2500)  # longer than the first pause of a line that is only cut
    assert stocked.bodies == []  # it does not knock for ever
    sign_in(stocked.page, stocked.user)
    stocked.flush()
    assert stocked.until(line="on")["unsent"] == 0 and len(in_book()) == 9


def test_a_token_that_grew_old_is_renewed_by_asking_who_is_here(
    stocked: Phone, expect_problem: Expect
) -> None:
    expect_problem("403")
    stocked.answers({"status": 403, "json": {"code": "no_right", "say": "CSRF token"}}, times=1)
    stocked.flush()
    assert stocked.until(line="on")["unsent"] == 0 and sizes(stocked) == [8, 8]


def test_a_revoked_phone_is_told_and_still_sends(stocked: Phone) -> None:
    said = {"user": {"id": stocked.user.pk, "name": "sam"}, "revoked": True}
    stocked.answers({"json": said}, url="**/orchard/here/")
    stocked.answers(None)
    stocked.flush()
    stocked.flush()
    assert stocked.until(line="revoked")["unsent"] == 0
