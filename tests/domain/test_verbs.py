"""What each verb does to the state it finds: one table, a line a case. A verb without a line fails."""

from dataclasses import dataclass, field, replace
from datetime import UTC, datetime, timedelta
from typing import Any
from uuid import UUID

import pytest
from pydantic import ValidationError

from equipment.domain.values import CrewState, Entry, ItemState
from equipment.domain.verbs import STEPS, VERBS

NOW = datetime(2026, 6, 1, 4, 0, tzinfo=UTC)
BEFORE = NOW - timedelta(hours=1)
OWN = UUID(int=9)

IN_STORE = ItemState(place="store", store="A", since=BEFORE, tag="BG1", registered=True)
WITH_ANA = replace(IN_STORE, place="picker", picker=1, crew="RED")
WITH_RED = replace(IN_STORE, place="crew", crew="RED")
STOWED = replace(WITH_RED, place="orchard", block="N4")
MISSING = replace(WITH_ANA, place="missing")
GONE = replace(IN_STORE, place="gone")
PACKED = replace(IN_STORE, set="ST1")
WET = replace(WITH_ANA, wet=True)
ON_BENCH = replace(IN_STORE, place="bench")
RED = CrewState(members={1: BEFORE})


@dataclass(frozen=True)
class Case:
    """`changes` are those of the state besides what the codes of `contradicts` add; all else stays as it was."""

    verb: str
    before: Any
    changes: dict[str, Any]
    contradicts: tuple[str, ...] = ()
    entry: dict[str, Any] = field(default_factory=dict)


def of(verb: str, before: Any, changes: dict[str, Any], *contradicts: str, **entry: Any) -> Case:
    return Case(verb, before, changes, contradicts, entry)


NOBODY = {"picker": None, "crew": None, "block": None, "since": NOW}
TO_BEN = {"place": "picker", "picker": 2, "crew": "RED", "block": None, "since": NOW, "set": None}
BEN = {"picker": 2, "crew": "RED"}
BORN = {"detail": {"kind": "bag", "store": "A", "tag": "BG1"}}
SAME: dict[str, Any] = {}

CASES = [
    of(
        "registered",
        ItemState(),
        {"place": "store", "store": "A", "tag": "BG1", "since": NOW, "registered": True},
        **BORN,
    ),
    of("registered", IN_STORE, SAME, "registered_twice", **BORN),
    of(  # a phone a minute behind: it handed out before, by its own clock
        "registered",
        replace(ItemState(), place="picker", picker=1, crew="RED", since=BEFORE),
        {"store": "A", "tag": "BG1", "registered": True},
        **BORN,
    ),
    of(
        "registered",
        replace(ItemState(), place="store", store="B", since=BEFORE, tag="BG2"),
        {"registered": True},
        **BORN,
    ),
    of("retagged", WITH_ANA, {"tag": "BG7"}, detail={"tag": "BG7"}),
    of("packed", IN_STORE, {"set": "ST1"}, detail={"set": "ST1"}),
    of("packed", PACKED, {"set": None}, detail={"set": None}),
    of("packed", WITH_ANA, {"set": "ST1"}, "already_out", detail={"set": "ST1"}),
    of("packed", MISSING, {"set": "ST1"}, "missing", detail={"set": "ST1"}),
    of("packed", GONE, {"set": "ST1"}, "written_off", detail={"set": "ST1"}),
    of("handed_out", IN_STORE, TO_BEN, **BEN),
    of("handed_out", PACKED, TO_BEN, **BEN),
    of("handed_out", IN_STORE, TO_BEN | {"place": "crew", "picker": None}, crew="RED"),
    of("handed_out", replace(IN_STORE, store="B"), TO_BEN, "other_store", **BEN),
    of("handed_out", WITH_ANA, TO_BEN, "already_out", **BEN),
    of("handed_out", WITH_ANA, TO_BEN, detail={"from": "picker:1"}, **BEN),
    of("handed_out", WITH_ANA, TO_BEN, "already_out", detail={"from": "picker:3"}, **BEN),
    of("handed_out", WITH_RED, TO_BEN, detail={"from": "crew:RED"}, **BEN),
    of("handed_out", MISSING, TO_BEN, "missing", **BEN),
    of("handed_out", GONE, TO_BEN, "written_off", **BEN),
    of("handed_out", IN_STORE, TO_BEN, "picker_left", detail={"verdict": ["picker_left"]}, **BEN),
    of("handed_out", IN_STORE, TO_BEN, detail={"verdict": ["wrong_size"]}, **BEN),
    of("returned", WITH_ANA, NOBODY | {"place": "store"}),
    of("returned", WITH_ANA, NOBODY | {"place": "store", "store": "B"}, store="B"),
    of("returned", WITH_ANA, NOBODY | {"place": "store", "wet": True}, detail={"wet": True}),
    of("returned", WET, NOBODY | {"place": "store", "wet": True}),
    of("returned", STOWED, NOBODY | {"place": "store"}),
    of("returned", MISSING, NOBODY | {"place": "store"}),
    of("returned", IN_STORE, NOBODY | {"place": "store"}, "not_out"),
    of("returned", ON_BENCH, NOBODY | {"place": "store"}, "not_out"),
    of("returned", GONE, SAME, "written_off"),
    of("stowed", WITH_ANA, {"place": "orchard", "block": "N4", "since": NOW}, block="N4"),
    of(
        "stowed",
        WITH_RED,
        {"place": "orchard", "block": "N4", "crew": "BLUE", "since": NOW},
        block="N4",
        crew="BLUE",
    ),
    of("stowed", MISSING, {"place": "orchard", "block": "N4", "since": NOW}, block="N4"),
    of("stowed", IN_STORE, {"place": "orchard", "block": "N4", "since": NOW}, "not_out", block="N4"),
    of("stowed", GONE, SAME, "written_off", block="N4"),
    of("missed", WITH_ANA, {"place": "missing", "since": NOW}),
    of("missed", PACKED, {"place": "missing", "since": NOW, "set": None}),
    of("missed", MISSING, SAME),
    of("missed", GONE, SAME, "written_off"),
    of("found", MISSING, NOBODY | {"place": "store", "store": "B"}, store="B"),
    of("found", MISSING, NOBODY | {"place": "crew", "crew": "RED"}, crew="RED"),
    of("found", WITH_ANA, SAME),
    of("found", GONE, SAME, "written_off"),
    of("moved", IN_STORE, NOBODY | {"place": "store", "store": "B"}, detail={"to": "B"}),
    of("moved", PACKED, NOBODY | {"place": "store", "store": "B"}, detail={"to": "B"}),
    of("moved", ON_BENCH, NOBODY | {"store": "B"}, detail={"to": "B"}),
    of("moved", WITH_ANA, NOBODY | {"place": "store", "store": "B"}, "already_out", detail={"to": "B"}),
    of("moved", GONE, SAME, "written_off", detail={"to": "B"}),
    of("written_off", MISSING, {"place": "gone", "since": NOW}, detail={"circumstance": "lost"}),
    of(
        "written_off",
        PACKED,
        {"place": "gone", "since": NOW, "set": None},
        detail={"circumstance": "worn_out"},
    ),
    of("written_off", GONE, SAME, "written_off", detail={"circumstance": "lost"}),
    of("joined", CrewState(), {"members": {1: NOW}}, picker=1),
    of("joined", RED, SAME, picker=1),
    of("joined", RED, {"members": {1: BEFORE, 2: NOW}}, picker=2),
    of("joined", RED, SAME),
    of("parted", RED, {"members": {}}, picker=1),
    of("parted", RED, SAME, "not_in_crew", picker=2),
    of("waived", RED, {"waived": ((1, "gloves", NOW),)}, picker=1, detail={"kind": "gloves"}),
    of(
        "waived",
        replace(RED, waived=((1, "bag", NOW - timedelta(hours=48)), (2, "bag", BEFORE))),
        {"waived": ((2, "bag", BEFORE), (1, "gloves", NOW))},
        picker=1,
        detail={"kind": "gloves"},
    ),
    of("waived", RED, SAME, detail={"kind": "gloves"}),
    of("reversed", WITH_ANA, SAME, detail={"entry": str(OWN)}),
    of("reversed", RED, SAME, detail={"entry": str(OWN)}),
    of(
        "settled",
        WITH_ANA,
        {"settled": frozenset({"already_out:x"})},
        detail={"key": "already_out:x", "choice": "so"},
    ),
    of(
        "settled",
        RED,
        {"settled": frozenset({"not_in_crew:x"})},
        detail={"key": "not_in_crew:x", "choice": "so"},
    ),
]


@pytest.mark.parametrize(
    "case", CASES, ids=lambda case: f"{case.verb} {getattr(case.before, 'place', 'crew')}"
)
def test_the_step(case: Case) -> None:
    said = {"store": "A", **case.entry}
    entry = Entry(OWN, case.verb, NOW, UUID(int=7), 1, **said)
    wanted = replace(case.before, **case.changes)
    for code in case.contradicts:
        wanted = wanted.contradicted(code, OWN)
    assert STEPS[case.verb](case.before, entry) == wanted


def test_every_verb_has_its_lines() -> None:
    assert {case.verb for case in CASES} == set(VERBS)


def test_a_verb_is_complete_in_its_file() -> None:
    for name, verb in VERBS.items():
        assert (verb.name, STEPS[name]) == (name, verb.step)
        assert verb.say
        assert verb.told
        assert verb.action


GOOD: dict[str, dict[str, Any]] = {
    "registered": {"kind": "bag", "store": "A"},
    "retagged": {"tag": "BG0001O"},
    "packed": {"set": None},
    "moved": {"to": "B"},
    "stowed": {"block": "N4", "counted": 0},
    "written_off": {"circumstance": "sold"},
    "waived": {"kind": "gloves"},
    "reversed": {"entry": str(OWN)},
    "settled": {"key": "x", "choice": "y"},
}


@pytest.mark.parametrize("verb", sorted(VERBS))
def test_its_detail_takes_what_it_needs_and_nothing_unknown(verb: str) -> None:
    detail, good = VERBS[verb].detail, GOOD.get(verb, {})
    detail.model_validate(good)
    for wrong in (
        {**good, "colour": "green"},
        *({k: v for k, v in good.items() if k != gone} for gone in good),
    ):
        with pytest.raises(ValidationError):
            detail.model_validate(wrong)
    for name in good:
        with pytest.raises(ValidationError):
            detail.model_validate({**good, name: ["not", {"this": "shape"}]})
        with pytest.raises(ValidationError):
            detail.model_validate({**good, name: "x" * 201})
