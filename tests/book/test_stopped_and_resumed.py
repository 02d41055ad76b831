"""A verification or a rebuilding that is killed half-way and goes on: the same verdict as one that was not."""

import json
from collections.abc import Callable
from datetime import timedelta
from pathlib import Path
from typing import Any

import pytest
from django.db import connection
from django.utils import timezone

from equipment.actions.going_on import Mark
from equipment.actions.rebuild_states import rebuild_states
from equipment.actions.verify_book import Run, Verified, verify_book
from equipment.actions.verify_book.findings import Finding
from equipment.management.commands.verify_book import resuming
from equipment.models import CrewState, Entry, ItemState, Membership, triggers
from tests.cast import Farm
from tests.commands import manage

pytestmark = pytest.mark.django_db


class Killed(BaseException):
    """As a power cut: nothing of ours gets to hear of it."""


@pytest.fixture
def mark(tmp_path: Path) -> Mark:
    return Mark(tmp_path / "mark.json", "verify_book", every=0)


@pytest.fixture(autouse=True)
def _in_short_stretches(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr("equipment.actions.verify_book.chains.STRETCH", 4)
    monkeypatch.setattr("equipment.actions.verify_book.gear.AT_ONCE", 2)
    monkeypatch.setattr("equipment.models.histories.PAGE", 2)


@pytest.fixture
def book(farm: Farm, post: Any) -> Farm:
    """Both stores have lines, an item's and a crew's; of three items one is in store B."""
    bags = farm.gear("bag", 2) + farm.gear("bag", 1, store="B")
    for _ in range(3):
        post(*(farm.entry("handed_out", item=bag, picker=farm.badges["ana"]) for bag in bags[:2]))
        post(*(farm.entry("returned", item=bag, note="Dry.") for bag in bags[:2]))
    return farm


def meddle(sql: str, *values: Any) -> None:
    triggers.drop(connection)
    with connection.cursor() as cursor:
        cursor.execute(sql, values)
    triggers.install(connection)


def listening() -> tuple[list[int], Callable[[int, int], None]]:
    """What is told from now on, and whom to tell it."""
    told: list[int] = []
    return told, lambda done, total: told.append(done)


def killed_after(times: int, work: Callable[[Callable[[int, int], None]], Any]) -> int:
    """Let it work until it has told how far it is so many times; how many entries it was done with then."""
    told: list[int] = []

    def say(done: int, total: int) -> None:
        told.append(done)
        if len(told) == times:
            raise Killed

    with pytest.raises(Killed):
        work(say)
    return told[-1]


def moments(mark: Mark) -> int:
    """How often a whole verification tells how far it is."""
    told, say = listening()
    verify_book(say, mark)
    assert not mark.path.exists(), "what is done needs no mark"
    return len(told)


def test_wherever_it_is_killed_it_goes_on_to_the_same_verdict(book: Farm, mark: Mark) -> None:
    whole, looked = verify_book(), moments(mark)
    assert whole.clean and looked >= 8
    for times in range(1, looked + 1):
        killed_after(times, lambda say: verify_book(say, mark))
        told, say = listening()
        assert verify_book(say, mark, resume=True) == whole
        assert len(told) == looked - times, "nothing is looked at twice"


def test_what_was_found_before_the_kill_is_told_after_it(book: Farm, mark: Mark) -> None:
    meddle("UPDATE equipment_entry SET device_seq = device_seq + 1 WHERE store_id = 'A' AND position = 2")
    ItemState.objects.filter(place="store", store="B").update(wet=True)
    whole = verify_book()
    assert {"altered", "state_differs"} <= codes(whole)
    for times in (1, 2, 5, 8):
        killed_after(times, lambda say: verify_book(say, mark))
        assert verify_book(mark=mark, resume=True) == whole


def test_what_is_tampered_with_behind_the_kill_is_found_where_it_goes_on(book: Farm, mark: Mark) -> None:
    killed_after(1, lambda say: verify_book(say, mark))
    last = Entry.objects.filter(store="A").order_by("-position").values_list("position", flat=True)[0]
    meddle("UPDATE equipment_entry SET act = id WHERE store_id = 'A' AND position = %s", last - 1)
    assert codes(verify_book(mark=mark, resume=True)) == {"altered"}


SINCE = {
    "end_gone_more": "DELETE FROM equipment_entry WHERE store_id = 'A' AND position > 5",
    "digest_altered": f"UPDATE equipment_entry SET digest = '{'f' * 64}' WHERE store_id = 'A' AND position = 8",
}


@pytest.mark.parametrize(("code", "stretches"), [("end_gone_more", 5), ("digest_altered", 2)])
def test_where_the_last_line_that_was_looked_at_is_another_all_begins_anew(
    code: str, stretches: int, book: Farm, mark: Mark
) -> None:
    killed_after(stretches, lambda say: verify_book(say, mark))
    meddle("DELETE FROM equipment_note")
    meddle(SINCE[code])
    told, say = listening()
    assert code in codes(verify_book(say, mark, resume=True)) and told[0] <= 5


def test_it_begins_anew_where_it_is_not_told_to_go_on(book: Farm, mark: Mark) -> None:
    looked = moments(mark)
    killed_after(3, lambda say: verify_book(say, mark))
    told, say = listening()
    verify_book(say, mark)
    assert len(told) == looked


@pytest.mark.parametrize(
    "kept", ["", "[]", "{", '{"at": "soon"}', '{"at": "2020-01-01T00:00:00+00:00", "of": []}']
)
def test_a_mark_that_is_none_is_no_mark(book: Farm, mark: Mark, kept: str) -> None:
    mark.path.write_text(kept)
    assert mark.found(timezone.now()) is None
    assert verify_book(mark=mark, resume=True).clean


def test_a_mark_is_of_one_work_on_one_database_and_of_one_day(book: Farm, mark: Mark) -> None:
    now = timezone.now()
    mark.keep(now, lambda: {"stage": "seals"})
    assert mark.found(now + timedelta(hours=23)) is not None
    assert mark.found(now + timedelta(hours=25)) is None
    assert Mark(mark.path, "rebuild_states").found(now) is None
    kept = json.loads(mark.path.read_text())
    mark.path.write_text(json.dumps(kept | {"of": [*kept["of"][:2], "another", "", ""]}))
    assert mark.found(now) is None


def test_a_mark_is_kept_each_second_at_most(tmp_path: Path) -> None:
    mark = Mark(tmp_path / "mark.json", "verify_book", every=3600)
    mark._kept -= 7200
    mark.keep(timezone.now(), lambda: {"place": 1})
    mark.keep(timezone.now(), lambda: {"place": 2})
    found = mark.found(timezone.now())
    assert found is not None and found["place"] == 1
    assert [path.name for path in tmp_path.iterdir()] == ["mark.json"]


def test_of_very_many_findings_the_first_are_kept_and_all_are_counted(
    book: Farm, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr("equipment.actions.verify_book.run.MOST_FINDINGS", 3)
    meddle("UPDATE equipment_entry SET act = id WHERE store_id = 'A'")
    found, lines = verify_book(), Entry.objects.filter(store="A").count()
    assert (len(found.findings), found.more) == (3, lines - 3) and not found.clean
    out, _, code = manage("verify_book")
    assert (
        code == 1 and f"And {lines - 3} more." in out and f"{lines} things are not as they should be." in out
    )


def test_a_rebuilding_goes_on_wherever_it_was_killed(book: Farm, tmp_path: Path) -> None:
    mark = Mark(tmp_path / "mark.json", "rebuild_states", every=0)
    states = list(ItemState.objects.order_by("pk").values())
    parts, say = listening()
    whole = rebuild_states(say, rows=10)
    assert len(parts) > 3
    for times in range(1, len(parts)):
        for model in (ItemState, CrewState, Membership):
            model.objects.all().delete()
        killed_after(times, lambda say: rebuild_states(say, 10, mark))
        told, say = listening()
        done = rebuild_states(say, 10, mark, resume=True)
        assert told == parts[times:] and (done.entries, done.items) == (whole.entries, whole.items)
        assert list(ItemState.objects.order_by("pk").values()) == states
    assert verify_book().clean and not mark.path.exists()


def test_the_commands_say_that_they_go_on(book: Farm, settings: Any, tmp_path: Path) -> None:
    settings.DATA_DIR = tmp_path
    verify, rebuild = Mark.of("verify_book"), Mark.of("rebuild_states")
    verify.every = rebuild.every = 0
    killed_after(2, lambda say: verify_book(say, verify))
    killed_after(1, lambda say: rebuild_states(say, 10, rebuild))
    out, err, code = manage("verify_book", "--resume")
    assert code == 0 and "The book is whole" in out
    assert "Going on where it was stopped at" in err and "the seals of 8 entries" in err
    assert "Going on where it was stopped: the states of" in manage("rebuild_states", "--resume")[1]
    for command in ("verify_book", "rebuild_states"):
        out, err, code = manage(command, "--resume")
        assert code == 0 and "nothing to go on from" in err
        assert manage(command)[1] == ""
    assert [*tmp_path.glob(".*.json")] == []


def test_whoever_begins_anew_is_told_that_it_could_go_on() -> None:
    run = Run("seals", ["A", 8], entries=8, findings=[Finding("altered", {"line": "A 2"})], at=timezone.now())
    assert "--resume would go on from there" in resuming(run, resume=False)
    assert "8 entries and the states of 0 were looked at until then. Findings until then: 1." in resuming(
        run, True
    )


def codes(verified: Verified) -> set[str]:
    return {found.code for found in verified.findings}
