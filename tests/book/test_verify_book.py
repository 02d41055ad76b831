"""`verify_book` finds what somebody did to the database by other means, and names exactly that."""

import json
import re
from collections.abc import Callable
from datetime import timedelta
from typing import Any

import pytest
from django.db import connection, transaction
from django.utils import timezone

from equipment.actions.change_crew import leave
from equipment.actions.verify_book import verify_book
from equipment.actions.writing import new_id
from equipment.domain import codes as tags
from equipment.models import (
    ChainHead,
    CrewState,
    Discrepancy,
    Entry,
    Item,
    ItemState,
    Label,
    Membership,
    Note,
    Visit,
    triggers,
)
from tests.commands import manage

pytestmark = pytest.mark.django_db


@pytest.fixture(autouse=True)
def _in_short_stretches(monkeypatch: pytest.MonkeyPatch) -> None:
    """As a long book is followed: each stretch by itself, with what came before it read for that."""
    monkeypatch.setattr("equipment.actions.verify_book.chains.STRETCH", 3)


@pytest.fixture
def day(farm, post) -> list[Entry]:
    """A small day in store A: bags handed out and returned, one missed with a note, one contradiction. In order."""
    bags = farm.gear("bag", 4)
    post(*(farm.entry("handed_out", item=bag, picker=farm.badges["ana"]) for bag in bags[:3]))
    post(farm.entry("returned", item=bags[0], detail={"wet": True}))
    post(farm.entry("missed", item=bags[1], note="She says it was stolen."))
    post(farm.entry("handed_out", item=bags[2], picker=farm.badges["ben"]), gate="note")
    post(farm.entry("retagged", item=bags[3], detail={"tag": tags.make("BG", 900)}))
    leave(farm.pen(), [farm.pickers["ben"]])
    assert manage("verify_book")[2] == 0
    return list(Entry.objects.filter(store="A").order_by("position"))


@pytest.fixture
def meddle(db) -> Callable[..., None]:
    """SQL past the triggers, by somebody who owns the machine; then the triggers stand again."""

    def meddled(sql: str, *params: Any) -> None:
        triggers.drop(connection)
        with connection.cursor() as cursor:
            cursor.execute(sql, params)
        triggers.install(connection)

    return meddled


def stored(field: str, value: Any) -> Any:
    """A value as this database's driver takes it."""
    return Entry._meta.get_field(field).get_db_prep_value(value, connection)


def findings() -> list[tuple[str, str]]:
    return [(found.code, str(found)) for found in verify_book().findings]


def codes() -> list[str]:
    return [code for code, _ in findings()]


def of(day: list[Entry], verb: str) -> Entry:
    return next(entry for entry in day if entry.verb == verb)


def test_a_whole_book_is_called_whole_with_its_last_digests(day):
    out, err, code = manage("verify_book")
    last = day[-1]
    assert code == 0 and not err
    assert f"A {last.position} {last.digest}\n" in out
    assert "The book is whole" in out


ALTERATIONS = {
    "detail": lambda entry: {**entry.detail, "wet": False},
    "verb": lambda entry: "found",
    "happened_at": lambda entry: entry.happened_at - timedelta(microseconds=1),
    "recorded_at": lambda entry: entry.recorded_at + timedelta(microseconds=1),
    "device_seq": lambda entry: entry.device_seq + 1,
    "v": lambda entry: 2,
    "act": lambda entry: entry.pk,
    "sent_digest": lambda entry: "0" * 64,
}


@pytest.mark.parametrize("column", ALTERATIONS)
def test_an_altered_entry_is_named_and_no_other_is_accused(day, meddle, column):
    entry = of(day, "returned")
    value = stored(column, ALTERATIONS[column](entry))
    meddle(f"UPDATE equipment_entry SET {column} = %s WHERE id = %s", value, stored("id", entry.pk))
    verb = "found" if column == "verb" else "returned"
    said = (
        f"Entry A {entry.position} ({entry.pk}, {verb}) does not fit its digest: something in it was changed."
    )
    assert [words for code, words in findings() if code == "altered"] == [said]
    out, _, code = manage("verify_book")
    assert code == 1 and said in out
    assert "Keep this database as it is" in out


def test_an_alteration_that_changes_the_state_is_told_twice(day, meddle):
    entry = of(day, "returned")
    meddle("UPDATE equipment_entry SET detail = %s WHERE id = %s", json.dumps({}), stored("id", entry.pk))
    told = dict(findings())
    assert set(told) == {"altered", "state_differs"}
    assert re.search(
        rf"BG\w+ \({entry.item_id}\) is not what its entries add up to: wet, fold", told["state_differs"]
    )


def test_a_changed_digest_is_told_from_changed_content(day, meddle):
    for entry in (day[3], day[-1]):
        meddle("UPDATE equipment_entry SET digest = %s WHERE id = %s", "f" * 64, stored("id", entry.pk))
    meddle("UPDATE equipment_entry SET digest = 'nonsense' WHERE id = %s", stored("id", day[6].pk))
    assert codes() == ["digest_altered"] * 3


def test_a_last_entry_that_was_altered_is_not_called_a_bad_head(day, meddle):
    meddle("UPDATE equipment_entry SET act = id WHERE id = %s", stored("id", day[-1].pk))
    assert codes() == ["altered"]


def test_a_deleted_last_entry_is_named(day, meddle):
    last = day[-1]
    meddle("DELETE FROM equipment_entry WHERE id = %s", stored("id", last.pk))
    said = f"The last entry of the store's book, A {last.position} ({last.pk}), is gone."
    assert [words for code, words in findings() if code == "end_gone"] == [said]
    assert manage("verify_book")[2] == 1


def test_several_deleted_at_the_end_are_counted(day, meddle):
    meddle("DELETE FROM equipment_entry WHERE store_id = 'A' AND position > %s", day[-4].position)
    last = day[-1]
    assert (
        f"The last 3 entries of the store's book, up to A {last.position} ({last.pk}), are gone."
        in dict(findings()).values()
    )


def test_a_deleted_entry_in_the_middle_is_named_and_no_other_is_accused(day, meddle):
    gone, next_one = day[5], day[6]
    meddle("DELETE FROM equipment_entry WHERE id = %s", stored("id", gone.pk))
    told = [words for code, words in findings() if code == "missing"]
    assert told == [
        f"Position A {gone.position} is missing. Entry A {next_one.position} ({next_one.pk}, {next_one.verb}) was"
        " sealed upon it, so its own digest cannot be checked."
    ]
    assert "altered" not in codes()


def test_a_whole_store_that_was_emptied_is_missed(day, meddle):
    Note.objects.all().delete()
    meddle("DELETE FROM equipment_entry WHERE store_id = 'A'")
    assert "end_gone_more" in codes()


def test_the_head_is_verified_too(day):
    head = ChainHead.objects.filter(store="A")
    head.update(digest="0" * 64)
    assert codes() == ["head_differs"]
    head.update(digest=day[-1].digest, entry_id=day[0].pk)
    assert codes() == ["head_differs"]
    head.update(entry_id=day[-2].pk, position=day[-2].position)
    assert codes() == ["beyond_head"]
    head.delete()
    assert codes() == ["head_gone"]


def test_notes_may_be_erased_but_not_changed_taken_or_added(day):
    noted = of(day, "missed")
    note = Note.objects.filter(entry=noted)
    salt = note.get().salt
    note.update(text="She says it was lost.")
    assert findings() == [
        (
            "note_altered",
            f"The note of entry A {noted.position} ({noted.pk}, missed) is not the one that was sealed.",
        )
    ]
    note.update(text="", salt="", erased_at=timezone.now())
    assert codes() == []
    note.update(text="hidden")
    assert codes() == ["note_altered"]
    note.update(text="She says it was stolen.", salt=salt, erased_at=None)
    assert codes() == []
    Note.objects.create(entry=day[0], salt="00", text="put here later")
    assert codes() == ["note_added"]
    Note.objects.filter(entry=day[0]).delete()
    note.delete()
    assert codes() == ["note_gone"]


def test_missing_triggers_are_found(day):
    triggers.drop(connection)
    assert set(codes()) == {"unguarded"}
    out, _, code = manage("verify_book")
    assert code == 1 and "entry_no_update" in out
    triggers.install(connection)


def the_returned(day: list[Entry]) -> Any:
    return ItemState.objects.filter(item=of(day, "returned").item_id)


def the_doubted(day: list[Entry]) -> Any:
    return ItemState.objects.filter(item=Discrepancy.objects.first().item_id)


STATES = {
    "place": (lambda day: the_returned(day).update(place="missing"), {"state_differs"}),
    "holder": (lambda day: the_doubted(day).update(picker=None), {"state_differs"}),
    "fit": (lambda day: the_returned(day).update(fit=False), {"state_differs"}),
    "since": (lambda day: the_returned(day).update(since=timezone.now()), {"state_differs"}),
    "fold": (lambda day: the_returned(day).update(fold={"state": {}}), {"state_differs"}),
    "nonsense": (lambda day: the_returned(day).update(fold={"state": 7}), {"state_differs"}),
    "lost": (lambda day: the_returned(day).delete(), {"state_gone"}),
    "crew": (lambda day: CrewState.objects.update(fold={}), {"state_differs"}),
    "crew lost": (lambda day: CrewState.objects.all().delete(), {"state_gone"}),
    "member": (lambda day: Membership.objects.all().delete(), {"members_differ"}),
    "discrepancy": (lambda day: Discrepancy.objects.all().delete(), {"discrepancies_differ"}),
    "settled": (lambda day: Discrepancy.objects.update(settled=True), {"discrepancies_differ"}),
    "invented": (
        lambda day: Discrepancy.objects.create(
            item_id=day[0].item_id or day[-1].item_id, code="not_out", entry_id=day[0].pk
        ),
        {"discrepancies_differ"},
    ),
    "stray": (
        lambda day: Discrepancy.objects.update(item=the_returned(day).get().item_id),
        {"discrepancies_differ"},
    ),
}


@pytest.mark.parametrize("what", STATES)
def test_a_state_that_drifted_is_named_and_rebuilt(day, what):
    if what == "invented":
        day = [entry for entry in day if entry.item_id]
    drift, expected = STATES[what]
    drift(day)
    assert set(codes()) == expected
    out, _, code = manage("verify_book")
    assert code == 1 and "`manage.py rebuild_states` puts this right." in out
    assert manage("rebuild_states")[2] == 0
    assert findings() == []


def test_gear_must_be_what_was_registered(day):
    made = of(day, "registered")
    Item.objects.filter(pk=made.item_id).update(make="Other", price="1.00")
    Label.objects.create(code="BG9999X", item_id=made.item_id)
    told = dict(findings())
    assert set(told) == {"item_differs", "labels_differ"}
    assert told["item_differs"].endswith("make, price.")
    assert told["labels_differ"].endswith("BG9999X.")


def test_entries_that_make_no_sense_stop_nothing(day, meddle):
    entry = of(day, "retagged")
    meddle("UPDATE equipment_entry SET detail = '[]' WHERE id = %s", stored("id", entry.pk))
    assert set(codes()) == {"altered", "unfoldable", "labels_differ"}
    out, _, code = manage("rebuild_states")
    assert code == 1 and str(entry.item_id) in out


@pytest.mark.only_on("sqlite")
def test_what_cannot_even_be_read_is_named(day, meddle):
    entry = of(day, "returned")
    meddle("UPDATE equipment_entry SET act = 'yesterday' WHERE id = %s", stored("id", entry.pk))
    assert ("unreadable", f"Entry A {entry.position} cannot be read.") in findings()


def test_two_arrivals_at_one_moment_are_no_difference(farm, post):
    """A phone that records both in one act: which came first the count says, not the ids of the moment."""
    at, crew = timezone.now() - timedelta(hours=1), farm.crews["red"].pk
    ids = sorted((new_id() for _ in range(4)), reverse=True)
    told = [
        farm.entry("arrived", id=pk, crew=crew, block=block, at=at)
        for pk, block in zip(ids, "N4 S2 N4 S2".split(), strict=True)
    ]
    post(*told, name="sam", gate="note")
    assert Visit.objects.count() == 4
    assert verify_book().clean


IN_ONE_PLACE = {
    "altered": "UPDATE equipment_entry SET device_seq = device_seq + 1 WHERE store_id = 'A' AND position = %s",
    "digest_altered": f"UPDATE equipment_entry SET digest = '{'f' * 64}' WHERE store_id = 'A' AND position = %s",
    "missing": "DELETE FROM equipment_entry WHERE store_id = 'A' AND position = %s",
}
OF_A_CHAIN = {*IN_ONE_PLACE, "unreadable", "head_differs", "end_gone", "missing_more"}


@pytest.mark.parametrize("code", IN_ONE_PLACE)
def test_wherever_it_was_done_it_is_told_once_and_of_no_other_line(day, meddle, code):
    """At the ends of stretches too, which are each followed by themselves."""
    Note.objects.all().delete()
    for entry in day[:-1]:
        with transaction.atomic():
            meddle(IN_ONE_PLACE[code], entry.position)
            told = [found for found in verify_book().findings if found.code in OF_A_CHAIN]
            transaction.set_rollback(True)
        assert [found.code for found in told] == [code], entry.position
        assert f"A {entry.position}" in str(told[0])
