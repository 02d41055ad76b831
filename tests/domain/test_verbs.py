"""What each verb does to the state it finds, by the tables of `tests/steps`. A verb without a line fails."""

from dataclasses import replace
from typing import Any
from uuid import UUID

import pytest
from pydantic import ValidationError

from equipment.domain.contradictions import CONTRADICTIONS
from equipment.domain.values import Entry
from equipment.domain.verbs import STEPS, VERBS
from tests.steps import NOW, OWN, Case, condition, custody, lots, orchard

CASES = [*custody.CASES, *condition.CASES, *orchard.CASES, *lots.CASES]


@pytest.mark.parametrize("case", CASES, ids=lambda case: f"{case.verb} {getattr(case.before, 'place', '')}")
def test_the_step(case: Case) -> None:
    said = {"store": "A", **case.entry}
    entry = Entry(OWN, case.verb, NOW, UUID(int=7), 1, **said)
    wanted = replace(case.before, **case.changes)
    for code in case.contradicts:
        wanted = wanted.contradicted(code, OWN)
    assert STEPS[case.verb](case.before, entry) == wanted


def test_every_verb_has_its_lines() -> None:
    assert {case.verb for case in CASES} == set(VERBS)


def test_every_contradiction_has_its_line() -> None:
    """But for those that the fold, not a verb, finds."""
    assert {code for case in CASES for code in case.contradicts} == set(CONTRADICTIONS) - {"not_reversible"}


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
    "fault_found": {"fault": "bag_hole"},
    "mended": {"fault": "bag_hole", "method": "sewn", "minutes": 10},
    "released": {"fault": "bag_hole"},
    "inspected": {"checklist": "bag_weekly", "answers": {"cloth": "yes", "length": 3.5, "kits": True}},
    "cleaned": {"method": "sterilise"},
    "flagged": {"disease": "exocortis"},
    "arrived": {"block": "N4"},
    "stopped": {"cause": "rain"},
    "morning_checked": {"answers": {"present": 12}},
    "replanned": {"date": "2026-06-01", "clipped": False},
    "mixed": {"recipe": "clippers_daily_bleach", "litres": 2.5, "product_ml": 250},
    "tested": {"ppm": 500},
    "emptied": {"where": "septic tank"},
    "received": {"goods": "plasters", "quantity": 2.5},
    "given": {"quantity": 1},
    "used": {"quantity": 0.25},
    "discarded": {"quantity": 3},
    "counted": {"left": 0},
    "trained": {"topic": "ladder"},
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


@pytest.mark.parametrize(
    ("verb", "wrong"),
    [
        ("mended", {"minutes": -1}),
        ("mended", {"method": ""}),
        ("mended", {"where": "bench"}),
        ("cleaned", {"method": "boil"}),
        ("cleaned", {"seconds": -1}),
        ("cleaned", {"seconds": "ten"}),
        ("fault_found", {"photo": "not a hash"}),
        ("stopped", {"cause": "bored"}),
        ("trained", {"topic": "fishing"}),
        ("trained", {"trainer": "Mo"}),
        ("trained", {"trainer": -1}),
        ("trained", {"minutes": 0}),
        ("replanned", {"date": "today"}),
        ("replanned", {"part": "noon"}),
        ("replanned", {"clipped": "perhaps"}),
        ("inspected", {"answers": {"cloth": None}}),
        ("inspected", {"expiries": {"tape": "soon"}}),
        ("inspected", {"expiries": {"": "2026-01-01"}}),
        ("mixed", {"litres": 0}),
        ("mixed", {"litres": -2}),
        ("mixed", {"product_ml": 0}),
        ("mixed", {"product_ml": float("inf")}),
        ("mixed", {"ph": 15}),
        ("mixed", {"strength_pct": 101}),
        ("mixed", {"product_expires": "2026-13-01"}),
        ("tested", {"ppm": "0,5"}),
        ("tested", {"ppm": -1}),
        ("tested", {"ppm": float("nan")}),
        ("tested", {"diluted": 0}),
        ("emptied", {"where": ""}),
        ("received", {"quantity": 0}),
        ("received", {"goods": ""}),
        ("received", {"expires_on": "2026-02-30"}),
        ("given", {"quantity": -1}),
        ("given", {"quantity": 1_000_001}),
        ("used", {"quantity": float("nan")}),
        ("used", {"purpose": "lunch"}),
        ("discarded", {"quantity": 0}),
        ("counted", {"left": -0.5}),
        ("counted", {"left": float("inf")}),
    ],
)
def test_what_cannot_be_is_refused(verb: str, wrong: dict[str, Any]) -> None:
    with pytest.raises(ValidationError):
        VERBS[verb].detail.model_validate({**GOOD[verb], **wrong})


def test_what_the_server_seals_is_a_word_of_the_detail() -> None:
    for verb in VERBS.values():
        fields = verb.detail.model_fields
        known = {field.alias or name for name, field in fields.items()}
        assert set(verb.sealed) <= known, verb.name
        for word, nothing in verb.sealed.items():
            assert fields[word].default == nothing, (verb.name, word)
