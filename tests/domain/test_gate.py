"""May it go out? The gate and the rule of custody, as a table of an item, who asks, and the verdict."""

from dataclasses import replace
from datetime import UTC, date, datetime, timedelta
from typing import Any
from uuid import UUID

import pytest

from equipment.domain.condition import Around
from equipment.domain.custody import against_handing_out, holder
from equipment.domain.gate import WORDS, To, Verdict, fits, verdict
from equipment.domain.rules import NO_RULES
from equipment.domain.values import Cleaning, Flag, ItemState, OpenFault
from tests.rulebook import RULES

NOW = datetime(2026, 6, 1, 4, 0, tzinfo=UTC)
AT_HOME = ItemState(place="store", store="A")
OUT = ItemState(place="picker", store="A", picker=1, crew="RED")
WITH_CREW = ItemState(place="crew", store="A", crew="RED")
IN_ORCHARD = ItemState(place="orchard", store="A", crew="RED", block="N4")


@pytest.mark.parametrize(
    ("state", "to", "codes"),
    [
        (AT_HOME, To("A", picker=2), ()),
        (AT_HOME, To("A", crew="RED"), ()),
        (AT_HOME, To("B", picker=2), ("other_store",)),
        (AT_HOME, To(None), ()),  # asked of no store: of its own
        (OUT, To("A", picker=2), ("already_out",)),
        (OUT, To("A", picker=1), ("already_out",)),  # scanned twice
        (OUT, To("A", picker=2, from_holder="picker:1"), ()),
        (OUT, To("B", picker=2, from_holder="picker:1"), ()),  # a change of hands knows no store
        (OUT, To("A", picker=2, from_holder="picker:3"), ("already_out",)),
        (OUT, To("A", picker=2, from_holder="crew:RED"), ("already_out",)),  # Ana has it, not her crew
        (AT_HOME, To("A", picker=2, from_holder="crew:RED"), ("not_out",)),  # a spare that nobody took along
        (AT_HOME, To("B", picker=2, from_holder="picker:1"), ("not_out",)),
        (WITH_CREW, To("A", picker=2), ("already_out",)),
        (WITH_CREW, To("A", picker=2, from_holder="crew:RED"), ()),
        (IN_ORCHARD, To("A", picker=2, from_holder="crew:RED"), ()),
        (ItemState(place="bench", store="A"), To("A"), ()),
        (ItemState(place="missing", store="A", picker=1), To("A"), ("missing",)),
        (ItemState(place="missing", store="A", picker=1), To("A", from_holder="picker:1"), ("missing",)),
        (ItemState(place="gone", store="A"), To("A"), ("written_off",)),
        (ItemState(), To("A"), ("written_off",)),
    ],
)
def test_the_verdict_on_custody(state: ItemState, to: To, codes: tuple[str, ...]) -> None:
    found = verdict(state, NO_RULES, NOW, to)
    assert (tuple(reason.code for reason in found.reasons), found.fit) == (codes, not codes)
    assert found.blocking == found.reasons
    assert against_handing_out(state, to.store or state.store or "", to.from_holder) == codes


@pytest.mark.parametrize(
    ("traits", "wants", "good"),
    [
        ({"size": "L", "hand": ""}, {"size": "L", "hand": ""}, True),
        ({"size": "L", "hand": ""}, {"size": "M", "hand": ""}, False),
        ({"size": "", "hand": "left"}, {"size": "M", "hand": "right"}, False),
        ({"size": "", "hand": "left"}, {"size": "M", "hand": "left"}, True),
        ({"size": "L", "hand": ""}, {"size": "", "hand": "left"}, True),  # neither says both
        ({}, {"size": "M"}, True),
        ({"size": "L"}, {}, True),
    ],
)
def test_a_wrong_size_is_said_and_does_not_hold_anyone_back(traits: Any, wants: Any, good: bool) -> None:
    assert fits(traits, wants) == good
    found = verdict(AT_HOME, NO_RULES, NOW, To("A", wants=wants), traits)
    assert (found.fit, [reason.code for reason in found.reasons]) == (True, [] if good else ["wrong_size"])
    assert found.blocking == ()


def test_what_blocks_and_what_does_not_are_both_said() -> None:
    found = verdict(OUT, NO_RULES, NOW, To("A", picker=2, wants={"size": "M"}), {"size": "L"})
    assert [reason.code for reason in found.reasons] == ["already_out", "wrong_size"]
    assert [reason.code for reason in found.blocking] == ["already_out"]
    assert all(reason.words == WORDS[reason.code] for reason in found.reasons)


@pytest.mark.parametrize(
    ("picker", "crew", "word"),
    [(1, "RED", "picker:1"), (0, None, "picker:0"), (None, "RED", "crew:RED"), (None, None, None)],
)
def test_one_word_for_who_has_it(picker: int | None, crew: str | None, word: str | None) -> None:
    assert holder(picker, crew) == word


# --- what its condition says against it, by the rules that come with the program

KINDS = ("clippers", "ladder", "goggles", "bag", "first_aid_kit", "trailer", "toolbox")
OFFICER, STORE = ("safety officer",), ("storeman", "safety officer")
NOBODY: tuple[str, ...] = ()
DONE = UUID(int=1)


def sound(kind: str, **known: Any) -> ItemState:
    """Nothing speaks against it: it came back, was cleaned and looked at, at four."""
    cleaned = tuple(Cleaning(DONE, NOW, rule.method) for rule in RULES.cleaning.get(kind, ()))
    inspected = {rule.checklist: NOW for rule in RULES.inspections.get(kind, ())}
    fresh = {"since": NOW, "registered_at": NOW, "cleanings": cleaned, "inspected": inspected}
    return replace(AT_HOME, kind=kind, **{**fresh, **known})


def ago(**span: float) -> datetime:
    return NOW - timedelta(**span)


def open_fault(code: str, **more: Any) -> OpenFault:
    return OpenFault(code, UUID(int=9), ago(days=60), **more)


@pytest.mark.parametrize("kind", KINDS)
def test_sound_and_clean_it_may_go_out(kind: str) -> None:
    assert verdict(sound(kind), RULES, NOW, To("A", picker=2)) == Verdict(fit=True)


@pytest.mark.parametrize(
    ("state", "code", "blocks", "override"),
    [
        (sound("clippers", faults=(open_fault("clippers_worn_spring"),)), "stop_use", True, OFFICER),
        (sound("bag", faults=(open_fault("bag_torn_seam"),)), "stop_use", True, OFFICER),
        # Ladder structure, trailer brake or coupling, cracked goggles, "hurt someone": overridden by nobody.
        (sound("ladder", faults=(open_fault("ladder_cracked_stile"),)), "stop_use", True, NOBODY),
        (sound("ladder", faults=(open_fault("ladder_splinters"),)), "stop_use", True, OFFICER),
        (sound("trailer", faults=(open_fault("trailer_brake"),)), "stop_use", True, NOBODY),
        (sound("trailer", faults=(open_fault("trailer_coupling"),)), "stop_use", True, NOBODY),
        (sound("trailer", faults=(open_fault("trailer_tailgate"),)), "stop_use", True, OFFICER),
        (sound("goggles", faults=(open_fault("goggles_cracked"),)), "stop_use", True, NOBODY),
        (sound("goggles", faults=(open_fault("goggles_torn_strap"),)), "stop_use", True, OFFICER),
        (sound("bag", faults=(open_fault("hurt_someone"),)), "stop_use", True, NOBODY),
        # Mended, but nobody else has looked at it yet.
        (
            sound("ladder", faults=(open_fault("ladder_cracked_stile", mended_at=NOW, release="second"),)),
            "stop_use",
            True,
            NOBODY,
        ),
        (sound("clippers", faults=(open_fault("clippers_light_rust"),)), "mend_overdue", True, STORE),
        (sound("goggles", faults=(open_fault("goggles_scratched"),)), "mend_overdue", True, STORE),
        (sound("clippers", cleanings=()), "cleaning_due", True, OFFICER),
        (
            sound("clippers", cleanings=(Cleaning(DONE, ago(hours=72), "sterilise"),)),
            "cleaning_due",
            True,
            OFFICER,
        ),
        (
            sound("goggles", cleanings=(Cleaning(DONE, NOW, "wash", picker=1, other_at=NOW),)),
            "cleaning_due",
            True,
            STORE,
        ),
        (sound("bag", cleanings=()), "cleaning_due", False, STORE),  # said, and it goes out
        (sound("first_aid_kit", wet_at=NOW), "cleaning_due", True, STORE),
        (
            sound("ladder", inspected={"ladder_daily": NOW}, registered_at=ago(days=1)),
            "inspection_due",
            True,
            OFFICER,
        ),
        (
            sound("ladder", inspected={"ladder_daily": NOW, "ladder_monthly": ago(days=30)}),
            "inspection_due",
            True,
            OFFICER,
        ),
        # The daily look at it warns, until the officer makes it hold.
        (sound("ladder", inspected={"ladder_monthly": NOW}), "inspection_due", False, OFFICER),
        (sound("first_aid_kit", expires_on=date(2026, 5, 31)), "inspection_due", True, OFFICER),
        (sound("clippers", flags=(Flag("exocortis", UUID(int=8), NOW),)), "disease_flag", True, NOBODY),
        (sound("bag", flags=(Flag("brown_rot", UUID(int=8), NOW),)), "disease_flag", True, NOBODY),
    ],
)
def test_one_thing_that_speaks_against_it(
    state: ItemState, code: str, blocks: bool, override: tuple[str, ...]
) -> None:
    found = verdict(state, RULES, NOW, To("A", picker=2))
    (reason,) = found.reasons
    assert (reason.code, reason.blocks, reason.override, reason.words) == (
        code,
        blocks,
        override,
        WORDS[code],
    )
    assert found.fit is not blocks


@pytest.mark.parametrize(
    ("state", "params"),
    [
        (
            sound("clippers", faults=(open_fault("clippers_blunt"),)),
            {"fault": "clippers_blunt", "since": ago(days=60), "waits": ""},
        ),
        (
            sound("clippers", cleanings=(Cleaning(DONE, ago(hours=80), "sterilise"),)),
            {"method": "sterilise", "cause": "rest", "since": ago(hours=8)},
        ),
        (
            sound("ladder", inspected={"ladder_daily": NOW, "ladder_monthly": ago(days=33)}),
            {"checklist": "ladder_monthly", "since": ago(days=3)},
        ),
        (sound("clippers", flags=(Flag("exocortis", UUID(int=8), NOW),)), {"disease": "exocortis"}),
    ],
)
def test_the_answer_says_since_when_and_why(state: ItemState, params: dict[str, Any]) -> None:
    (reason,) = verdict(state, RULES, NOW, To("A", picker=2)).reasons
    assert reason.params == params


def test_all_that_speaks_against_it_is_said_the_gravest_first() -> None:
    state = sound(
        "clippers",
        flags=(Flag("exocortis", UUID(int=8), NOW),),
        faults=(
            open_fault("clippers_light_rust"),
            open_fault("clippers_blunt"),
            open_fault("clippers_worn_spring"),
        ),
        cleanings=(),
        inspected={},
    )
    found = verdict(
        replace(state, store="B"), RULES, NOW, To("A", picker=2, wants={"hand": "left"}), {"hand": "right"}
    )
    assert [reason.code for reason in found.reasons] == [
        "other_store",
        "disease_flag",
        "stop_use",
        "stop_use",
        "mend_overdue",
        "cleaning_due",
        "inspection_due",
        "wrong_size",
    ]
    assert [reason.code for reason in found.blocking][-1] == "cleaning_due"


def test_where_it_lies_nobody_overrides() -> None:
    for state in (OUT, replace(AT_HOME, store="B"), replace(AT_HOME, place="missing"), ItemState()):
        assert [reason.override for reason in verdict(state, RULES, NOW, To("A", picker=2)).reasons] == [()]


def test_a_void_dip_keeps_it_here() -> None:
    void = Around(void={DONE: "test_failed"})
    assert verdict(sound("clippers"), RULES, NOW, To("A"), around=void).fit is False


def test_what_falls_due_later_does_not_keep_it_here_now() -> None:
    due = NOW + timedelta(hours=72)
    state = sound("clippers")
    assert verdict(state, RULES, due - timedelta(seconds=1), To("A")).fit
    assert [reason.code for reason in verdict(state, RULES, due, To("A")).reasons] == ["cleaning_due"]


def test_a_farm_that_has_set_no_rules_is_kept_from_nothing() -> None:
    bare = sound("clippers", cleanings=(), inspected={}, dirty_at=NOW, wet_at=NOW)
    assert verdict(bare, NO_RULES, NOW, To("A")).fit
