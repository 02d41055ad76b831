"""What an item's fold, its crews' visits, its baths and the rules add up to, with the rules that come with the program.

Each line says what is known of the item, and what its condition is by that.
"""

from dataclasses import replace
from datetime import UTC, date, datetime, timedelta
from typing import Any
from uuid import UUID

import pytest

from equipment.domain.condition import CONTENTS, Around, Condition, condition
from equipment.domain.rules import NO_RULES, FaultRule, InspectionRule, Rules
from equipment.domain.values import Cleaning, Flag, ItemState, OpenFault, Stint, Visit
from tests.rulebook import RULES

NOW = datetime(2026, 6, 15, 4, 0, tzinfo=UTC)
NOTHING = Around()
DIP, WASH = UUID(int=1), UUID(int=2)


def ago(**span: float) -> datetime:
    return NOW - timedelta(**span)


def ahead(**span: float) -> datetime:
    return NOW + timedelta(**span)


def lying(kind: str, **known: Any) -> ItemState:
    """In the store since last night, registered half a year ago."""
    return ItemState(
        place="store",
        store="A",
        kind=kind,
        registered=True,
        registered_at=ago(days=180),
        since=ago(hours=12),
        **known,
    )


def found(fault: str, **more: Any) -> OpenFault:
    """Yesterday."""
    return OpenFault(fault, UUID(int=9), ago(days=1), **more)


def washed(at: datetime, **more: Any) -> Cleaning:
    return Cleaning(WASH, at, "wash", **more)


def dipped(at: datetime, **more: Any) -> Cleaning:
    return Cleaning(DIP, at, "sterilise", **more)


def of(state: ItemState, rules: Rules = RULES, around: Around = NOTHING) -> Condition:
    return condition(state, rules, around)


def cleanings(condition: Condition) -> list[tuple[str, datetime | None, str | None, bool]]:
    return [(due.method, due.at, due.cause, due.holds) for due in condition.cleanings]


# --- faults


@pytest.mark.parametrize(
    ("kind", "fault", "stops", "mend_by"),
    [
        ("clippers", found("clippers_worn_spring"), True, None),
        ("ladder", found("ladder_cracked_stile"), True, None),
        ("bag", found("bag_wire_mend"), True, None),
        ("clippers", found("clippers_light_rust"), False, RULES.fault("clippers_light_rust").within_days),
        ("goggles", found("goggles_scratched"), False, RULES.fault("goggles_scratched").within_days),
        ("clippers", found("of_another_catalogue"), True, None),  # not known (any more): it stops the use
        # Mended, and waiting for another pair of eyes.
        ("ladder", found("ladder_cracked_stile", mended_at=ago(hours=1), release="second"), True, None),
        ("goggles", found("goggles_scratched", mended_at=ago(hours=1), release="officer"), True, None),
    ],
)
def test_a_fault_stops_the_use_or_has_its_day(
    kind: str, fault: OpenFault, stops: bool, mend_by: int | None
) -> None:
    has = of(lying(kind, faults=(fault,)))
    assert has.stopping == ((fault,) if stops else ())
    assert has.mending == (((fault, fault.at + timedelta(days=mend_by)),) if mend_by else ())


def test_a_note_is_only_written_down() -> None:
    rules = replace(RULES, faults={"faded": FaultRule("faded", severity="note")})
    has = of(lying("sheeting", faults=(found("faded"),)), rules)
    assert (has.stopping, has.mending) == ((), ())


def test_what_can_maim_is_let_out_by_nobody() -> None:
    faults = (
        "clippers_worn_spring",
        "ladder_cracked_stile",
        "goggles_cracked",
        "trailer_brake",
        "hurt_someone",
    )
    has = of(lying("trailer", faults=tuple(found(fault) for fault in faults)))
    assert has.never == set(faults) - {"clippers_worn_spring"}


# --- cleaning


def test_a_cleaning_holds_the_item_here_or_only_warns() -> None:
    """Clippers that are not sterile stay here; a bag that was never washed goes out, and it is said."""
    assert cleanings(of(lying("clippers"))) == [("sterilise", ago(days=180), "never", True)]
    assert cleanings(of(lying("bag"))) == [("wash", ago(days=180), "never", False)]


@pytest.mark.parametrize(
    ("kind", "known", "due"),
    [
        ("clippers", {"cleanings": (dipped(ago(hours=1)),)}, [("sterilise", ahead(hours=71), "rest", True)]),
        ("clippers", {"cleanings": (dipped(ago(hours=73)),)}, [("sterilise", ago(hours=1), "rest", True)]),
        ("water_container", {"cleanings": (washed(ago(days=7)),)}, [("wash", NOW, "rest", True)]),
        ("goggles", {"cleanings": (washed(ago(days=99), picker=1),)}, [("wash", None, None, True)]),
        (
            "goggles",
            {"cleanings": (washed(ago(days=99), picker=1, other_at=ago(hours=2)),)},
            [("wash", ago(hours=2), "picker", True)],
        ),
        ("toolbox", {}, []),  # nothing to clean by any rule
        # Found dirty, found wet: washing, drying, at once.
        ("toolbox", {"dirty_at": ago(hours=2)}, [("wash", ago(hours=2), "dirty", True)]),
        ("sheeting", {"wet_at": ago(hours=2)}, [("dry", ago(hours=2), "wet", True)]),
        (
            "clippers",
            {"wet_at": ago(hours=2), "cleanings": (dipped(ago(hours=1)),)},
            [("sterilise", ahead(hours=71), "rest", True)],
        ),
        (
            "clippers",
            {"dirty_at": ago(hours=2), "cleanings": (dipped(ago(hours=3), ends=(("dirty", ago(hours=2)),)),)},
            [("sterilise", ago(hours=2), "dirty", True), ("wash", ago(hours=2), "dirty", True)],
        ),
        # One line a method: dirt makes the washing due that the rule would ask for later.
        (
            "goggles",
            {"dirty_at": ago(hours=2), "cleanings": (washed(ago(hours=3), ends=(("dirty", ago(hours=2)),)),)},
            [("wash", ago(hours=2), "dirty", True)],
        ),
        (
            "gloves",
            {
                "dirty_at": ago(hours=3),
                "wet_at": ago(hours=2),
                "cleanings": (washed(ago(hours=9), ends=(("dirty", ago(hours=3)), ("wet", ago(hours=2)))),),
            },
            [("wash", ago(hours=3), "dirty", True), ("dry", ago(hours=2), "wet", True)],
        ),
        # Wet does not matter on clippers, a flag does on everything.
        (
            "clippers",
            {"cleanings": (dipped(ago(hours=3), ends=(("wet", ago(hours=2)), ("flag", ago(hours=1)))),)},
            [("sterilise", ago(hours=1), "flag", True)],
        ),
    ],
)
def test_what_is_to_be_cleaned(kind: str, known: dict[str, Any], due: list[Any]) -> None:
    assert cleanings(of(lying(kind, **known))) == due


def test_a_dip_that_its_bath_voids_does_not_count() -> None:
    state = lying(
        "clippers", cleanings=(replace(dipped(ago(hours=9)), entry=UUID(int=3)), dipped(ago(hours=1)))
    )
    assert cleanings(of(state)) == [("sterilise", ahead(hours=71), "rest", True)]
    void = Around(void={DIP: "test_failed"})
    assert cleanings(of(state, around=void)) == [("sterilise", ahead(hours=63), "rest", True)]
    both = Around(void={DIP: "test_failed", UUID(int=3): "too_old"})
    assert cleanings(of(state, around=both)) == [("sterilise", ago(hours=1), "void", True)]


def test_the_clock_runs_by_the_visits_of_the_crew_that_has_it() -> None:
    out = replace(
        lying(
            "clippers", cleanings=(dipped(ago(hours=3), picker=1),), stints=(Stint(1, "RED", ago(hours=2)),)
        ),
        place="picker",
        picker=1,
        crew="RED",
    )
    assert cleanings(of(out)) == [("sterilise", ahead(hours=2), "hours", True)]
    visit = Visit(UUID(int=5), "N4", ago(hours=1))
    assert cleanings(of(out, around=Around({"RED": [visit]}))) == [
        ("sterilise", ahead(hours=3), "hours", True)
    ]
    assert cleanings(of(out, around=Around({"BLUE": [visit]}))) == cleanings(of(out))


# --- inspections


@pytest.mark.parametrize(
    ("known", "due"),
    [
        ({}, ago(days=180)),  # never since it was registered
        ({"inspected": {"ladder_monthly": ago(days=29)}}, ahead(days=1)),
        ({"inspected": {"ladder_monthly": ago(days=30)}}, NOW),
        ({"inspected": {"ladder_monthly": ago(days=31)}}, ago(days=1)),
        ({"inspected": {"ladder_daily": ago(days=1)}}, ago(days=180)),  # another list
    ],
)
def test_an_inspection_every_so_many_days(known: dict[str, Any], due: datetime) -> None:
    """Ladders monthly: common practice; the officer sets it."""
    by_list = {each.checklist: each for each in of(lying("ladder", **known)).inspections}
    assert (by_list["ladder_monthly"].at, by_list["ladder_monthly"].holds) == (due, True)


@pytest.mark.parametrize(
    ("known", "due"),
    [
        ({}, ago(hours=12)),  # since it came back
        ({"inspected": {"ladder_daily": ago(hours=13)}}, ago(hours=12)),  # yesterday, before it went out
        ({"inspected": {"ladder_daily": ago(hours=12)}}, None),
        ({"inspected": {"ladder_daily": ago(minutes=5)}}, None),
        ({"place": "picker", "picker": 1, "crew": "RED"}, None),  # out: looked at when it is back
        ({"place": "orchard", "crew": "RED"}, None),
        ({"place": "gone"}, "nothing"),
    ],
)
def test_an_inspection_before_the_days_first_use(known: dict[str, Any], due: Any) -> None:
    """29 CFR 1910.23: before initial use in each work shift (from memory); good practice, it does not bind farms."""
    state = replace(lying("ladder"), **known)
    by_list = {each.checklist: each.at for each in of(state).inspections}
    assert by_list.get("ladder_daily", "nothing") == due


def test_what_is_in_a_first_aid_kit_goes_out_of_date() -> None:
    """Good to the end of the day that stands on it."""
    state = lying("first_aid_kit", expires_on=date(2026, 6, 15), inspected={"first_aid_weekly": ago(days=1)})
    weekly, contents = of(state).inspections
    assert (weekly.checklist, weekly.at) == ("first_aid_weekly", ahead(days=6))
    assert (contents.checklist, contents.at, contents.holds) == (
        CONTENTS,
        datetime(2026, 6, 16, tzinfo=UTC),
        True,
    )


# --- flags


@pytest.mark.parametrize(
    ("cleared", "void", "flagged"),
    [
        ((), (), True),
        ((DIP,), (), False),
        ((DIP,), (DIP,), True),  # the bath was too weak to kill it
        ((DIP, WASH), (DIP,), False),
        ((DIP, WASH), (DIP, WASH), True),
    ],
)
def test_a_flag_stands_until_something_that_kills_it_counts(
    cleared: tuple[UUID, ...], void: tuple[UUID, ...], flagged: bool
) -> None:
    flag = Flag("exocortis", UUID(int=8), ago(days=2), cleared=cleared)
    has = of(lying("clippers", flags=(flag,)), around=Around(void=dict.fromkeys(void, "test_failed")))
    assert has.flags == (("exocortis",) if flagged else ())


# --- all together


def test_the_first_of_all_that_time_brings() -> None:
    rust = found("clippers_light_rust")
    state = lying("clippers", cleanings=(dipped(ago(hours=1)),), faults=(rust,))
    days = RULES.fault("clippers_light_rust").within_days or 0
    has = of(state)
    assert has.due_at == ahead(hours=71)
    assert has.holds_at == min(ahead(hours=71), rust.at + timedelta(days=days))
    assert of(replace(state, dirty_at=ago(hours=5))).due_at == ago(hours=5)
    assert Condition().due_at is Condition().holds_at is None


def test_what_only_warns_never_holds_it_here() -> None:
    """Never washed, never looked at."""
    assert of(lying("bag")).due_at == ago(days=180)
    assert of(lying("bag")).holds_at is None
    holding = replace(RULES, inspections={"bag": (InspectionRule("bag_weekly", "bag", 7, holds=True),)})
    assert of(lying("bag"), holding).holds_at == ago(days=180)


def test_of_what_is_gone_there_is_nothing_to_say() -> None:
    state = replace(lying("ladder", faults=(found("ladder_cracked_stile"),), dirty_at=NOW), place="gone")
    assert of(state) == Condition()


def test_no_rules_ask_for_nothing() -> None:
    state = lying("clippers", dirty_at=ago(hours=1), wet_at=ago(hours=1), cleanings=(dipped(ago(days=99)),))
    assert of(state, NO_RULES) == Condition()
