"""A phone's batch is written in parts, so that a counter waits for one of them only: small ones while counters scan."""

from datetime import timedelta
from typing import Any

import pytest
from django.utils import timezone

from equipment.actions.batch import AT_ONCE, BESIDE_COUNTERS, Batch
from equipment.actions.receive import _Counters
from tests.cast import Farm


def batch(farm: Farm, entries: list[Any], gate: str = "note", later: float = 0) -> Batch:
    now = timezone.now() + timedelta(seconds=later)
    return Batch(farm.users["sam"], farm.device, "A", gate, now, now, entries)  # type: ignore[arg-type]


def sizes(whole: Batch, at_once: int) -> list[int]:
    parts = list(whole.parts(at_once))
    assert [entry for part in parts for entry in part.entries] == list(whole.entries)
    return [len(part.entries) for part in parts]


def test_notes_go_in_parts_and_none_is_lost(farm: Farm) -> None:
    assert sizes(batch(farm, [{"id": n} for n in range(7)]), 3) == [3, 3, 1]
    assert sizes(batch(farm, [{"id": n} for n in range(3)]), 3) == [3]
    assert sizes(batch(farm, []), 3) == [0]
    assert sizes(batch(farm, ["no entry", None, 7, {"act": 5}]), 2) == [2, 2]


def test_an_act_stays_in_one_piece(farm: Farm) -> None:
    act = [{"id": n, "act": "a swap"} for n in range(5)]
    assert sizes(batch(farm, [{"id": 9}, *act, {"id": 10}]), 3) == [6, 1]


def test_what_a_counter_sends_is_decided_together(farm: Farm) -> None:
    assert sizes(batch(farm, [{"id": n} for n in range(7)], gate="hold"), 3) == [7]


@pytest.mark.parametrize(("later", "most"), [(0, BESIDE_COUNTERS), (4, BESIDE_COUNTERS), (6, AT_ONCE)])
def test_while_a_counter_scans_the_parts_are_small(farm: Farm, later: float, most: int) -> None:
    counters = _Counters()
    assert counters.leave(batch(farm, [])) == AT_ONCE
    counters.leave(batch(farm, [], gate="hold"))
    assert counters.leave(batch(farm, [], later=later)) == most
