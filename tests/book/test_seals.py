"""What is spelled straight from the columns is what the chain's own code spells from the models, or nothing."""

import json
import uuid
from typing import Any

import pytest
from django.db import connection

from equipment.domain import chain
from equipment.ledger import columns_of
from equipment.models import Entry, seals, triggers
from tests.cast import Farm

pytestmark = pytest.mark.django_db
LAST = 10**9


@pytest.fixture
def lines(farm: Farm, post: Any) -> list[Entry]:
    """Entries with every column that there is, and some that are out of the ordinary."""
    bags = farm.gear("bag", 3, make="“Sjöberg” \\ & sons")
    post(
        *(
            farm.entry("handed_out", item=bag, picker=farm.badges["ana"], act=str(uuid.uuid4()))
            for bag in bags
        )
    )
    post(
        farm.entry(
            "stowed", item=bags[0], block="N4", detail={"block": "N4", "counted": 2, "locked_by": "Zoë"}
        )
    )
    post(farm.entry("returned", item=bags[1], detail={"wet": True}, note="Very wet."))
    post(farm.entry("waived", crew=farm.crews["red"].pk, picker=farm.badges["ben"], detail={"kind": "bag"}))
    mixed = {"recipe": "clippers_daily_bleach", "litres": 7.5, "product_ml": 118.25, "strength_pct": 3.5}
    post(farm.entry("mixed", bath=str(uuid.uuid4()), detail=mixed), gate="note")
    return list(Entry.objects.filter(store="A").order_by("position"))


def test_every_line_is_spelled_as_the_chain_spells_it(lines: list[Entry]) -> None:
    found = list(seals.sealed("A", 0, LAST))
    assert [each.position for each in found] == [line.position for line in lines]
    spelled = [(each, line) for each, line in zip(found, lines, strict=True) if each.canonical is not None]
    for each, line in spelled:
        assert each.canonical == chain.canonical(columns_of(line))
        assert (each.digest, each.noted) == (line.digest, line.note_digest is not None)
    assert len(lines) - len(spelled) == len([line for line in lines if not ascii_only(line)]) == 4
    assert {line.verb for _, line in spelled} >= {"handed_out", "returned", "waived", "joined", "mixed"}


def ascii_only(line: Entry) -> bool:
    return chain.canonical(columns_of(line)).isascii()


def test_only_the_positions_that_were_asked_for(lines: list[Entry]) -> None:
    assert [each.position for each in seals.sealed("A", 2, 5)] == [3, 4, 5]
    assert list(seals.sealed("A", 5, 5)) == list(seals.sealed("B", 0, LAST)) == []


CHANGED = {
    "detail": json.dumps(["no", "object"]),
    "sent_digest": "short",
    "verb": "missed",
    "picker_id": None,
}


@pytest.mark.parametrize("column", CHANGED)
def test_what_was_changed_never_passes_for_what_was_sealed(lines: list[Entry], column: str) -> None:
    line = next(line for line in lines if line.verb == "handed_out")
    triggers.drop(connection)
    with connection.cursor() as cursor:
        sql = f"UPDATE equipment_entry SET {column} = %s WHERE store_id = 'A' AND position = %s"
        cursor.execute(sql, [CHANGED[column], line.position])
    (found,) = seals.sealed("A", line.position - 1, line.position)
    assert found.canonical is None or found.canonical != chain.canonical(columns_of(line))


def test_texts_cannot_run_into_each_other() -> None:
    """A value that holds the rest of the line is quoted, or is not of the length that it must have."""
    assert seals._quoted('A","v":2') == '"A\\",\\"v\\":2"'
    for spell in (seals._hexed, seals._dashed, seals._as_it_is(27), seals._moment):
        with pytest.raises(ValueError, match='"v":2'):
            spell('0","v":2')
    with pytest.raises(ValueError, match="x05"):
        seals._moment("2026-05-04x05:30:00.000000")
    assert seals._moment("2026-05-04 05:30:00") == '"2026-05-04T05:30:00.000000Z"'
