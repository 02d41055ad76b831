"""A crew's visits and mornings, and the life of a dip bath."""

from dataclasses import replace
from datetime import date
from typing import Any
from uuid import UUID

from equipment.domain.values import BathState, CrewState, Replan, StrengthTest, Visit
from tests.steps import BEFORE, EARLIER, NOW, OWN, SAME, of

FIRST = UUID(int=1)
AT_HOME = CrewState(members={1: EARLIER})
IN_N4 = replace(AT_HOME, visits=(Visit(FIRST, "N4", BEFORE),))
WAS_IN_N4 = replace(AT_HOME, visits=(Visit(FIRST, "N4", EARLIER, BEFORE, "left"),))
ALL_NIGHT = replace(AT_HOME, visits=(Visit(FIRST, "N4", NOW.replace(day=31, month=5, hour=5)),))
TODAY = date(2026, 6, 1)
SNAPPED = replace(AT_HOME, replanned=(Replan(FIRST, BEFORE, TODAY, "day", clipped=False),))
# A device whose clock is ahead said so.
IN_N4_LATER = replace(AT_HOME, visits=(Visit(FIRST, "N4", NOW.replace(hour=9)),))


def arrived(block: str) -> dict[str, Any]:
    return {"block": block, "detail": {"block": block}}


def over(cause: str) -> dict[str, Any]:
    return {"visits": (Visit(FIRST, "N4", BEFORE, NOW, cause),)}


def stopped(cause: str) -> dict[str, Any]:
    return {"detail": {"cause": cause}}


VISITS = [
    of("arrived", AT_HOME, {"visits": (Visit(OWN, "N4", NOW),)}, **arrived("N4")),
    of("arrived", AT_HOME, {"visits": (Visit(OWN, "N4", NOW),)}, detail={"block": "N4"}),
    of("arrived", IN_N4, SAME, **arrived("N4")),  # told twice
    of(
        "arrived",
        IN_N4,
        {"visits": (Visit(FIRST, "N4", BEFORE, NOW, "moved"), Visit(OWN, "S1", NOW))},
        **arrived("S1"),
    ),
    of("arrived", WAS_IN_N4, {"visits": (*WAS_IN_N4.visits, Visit(OWN, "N4", NOW))}, **arrived("N4")),
    of(  # nobody said that yesterday's was over: it was, at night
        "arrived",
        ALL_NIGHT,
        {
            "visits": (
                replace(ALL_NIGHT.visits[0], until=NOW.replace(day=31, month=5, hour=17), cause="moved"),
                Visit(OWN, "S1", NOW),
            )
        },
        **arrived("S1"),
    ),
    of(
        "arrived",
        IN_N4_LATER,
        {
            "visits": (
                Visit(FIRST, "N4", NOW.replace(hour=9), NOW.replace(hour=9), "moved"),
                Visit(OWN, "S1", NOW.replace(hour=9)),
            )
        },
        **arrived("S1"),
    ),
    of("left", IN_N4, over("left")),
    of("left", AT_HOME, SAME),
    of("left", WAS_IN_N4, SAME),
    of(
        "left",
        IN_N4_LATER,
        {"visits": (replace(IN_N4_LATER.visits[0], until=NOW.replace(hour=9), cause="left"),)},
    ),
    of("stopped", IN_N4, over("rain"), **stopped("rain")),
    of("stopped", IN_N4, over("break"), **stopped("break")),
    of("stopped", AT_HOME, SAME, **stopped("heat")),
    of("stopped", WAS_IN_N4, SAME, **stopped("heat")),
    of("morning_checked", AT_HOME, {"checked_at": NOW}, detail={"answers": {"present": 12}}),
    of(
        "morning_checked",
        replace(AT_HOME, checked_at=EARLIER),
        {"checked_at": NOW},
        detail={"answers": {"present": 0}, "failed": {"present": ""}},
    ),
    of(
        "replanned",
        AT_HOME,
        {"replanned": (Replan(OWN, NOW, TODAY, "day", clipped=False),)},
        detail={"date": "2026-06-01", "clipped": False},
    ),
    of(
        "replanned",
        SNAPPED,
        {"replanned": (*SNAPPED.replanned, Replan(OWN, NOW, TODAY, "afternoon", True, "S1"))},
        block="S1",
        detail={"date": "2026-06-01", "part": "afternoon", "clipped": True, "block": "S1"},
    ),
    of("taken_over", AT_HOME, {"led_by": 7}, by=7),
    of("taken_over", replace(AT_HOME, led_by=7), {"led_by": 8}, by=8),
]

DRY = BathState()
FULL = BathState(recipe="clippers_daily_bleach", agent="bleach", store="A", litres=2.0, mixed_at=BEFORE)
READ = (StrengthTest(FIRST, BEFORE, 5000),)
MIX = {"recipe": "clippers_daily_bleach", "litres": 2, "product_ml": 200}
BATHS = [
    of(
        "mixed",
        DRY,
        {"recipe": "clippers_daily_bleach", "store": "A", "litres": 2.0, "mixed_at": NOW},
        detail=MIX,
    ),
    of(
        "mixed",
        DRY,
        {
            "recipe": "clippers_daily_bleach",
            "store": "B",
            "litres": 2.0,
            "mixed_at": NOW,
            "agent": "bleach",
            "ppm": 4000.0,
            "life_minutes": 120,
            "capacity": 20,
            "low_ppm": 4000,
            "high_ppm": 6500,
            "flaws": ("too_weak",),
        },
        store="B",
        detail={
            **MIX,
            "agent": "bleach",
            "ppm": 4000.0,
            "life_minutes": 120,
            "capacity": 20,
            "low_ppm": 4000,
            "high_ppm": 6500,
            "flaws": ["too_weak"],
        },
    ),
    of("mixed", FULL, SAME, "mixed_twice", detail=MIX),
    of("mixed", replace(FULL, emptied_at=BEFORE), SAME, "mixed_twice", detail=MIX),
    of(
        "mixed",
        replace(DRY, tests=READ),
        {"recipe": "clippers_daily_bleach", "store": "A", "litres": 2.0, "mixed_at": NOW},
        detail=MIX,
    ),
    of("tested", FULL, {"tests": (StrengthTest(OWN, NOW, 500.0),)}, detail={"ppm": 500}),
    of("tested", FULL, {"tests": (StrengthTest(OWN, NOW, 5000.0),)}, detail={"ppm": 500, "diluted": 10}),
    of("tested", FULL, {"tests": (StrengthTest(OWN, NOW, 0.0),)}, detail={"ppm": 0, "diluted": 10}),
    of(
        "tested",
        replace(FULL, tests=READ),
        {"tests": (*READ, StrengthTest(OWN, NOW, 4500.0))},
        detail={"ppm": 4500},
    ),
    of("tested", DRY, {"tests": (StrengthTest(OWN, NOW, 500.0),)}, detail={"ppm": 500}),
    of("emptied", FULL, {"emptied_at": NOW}, detail={"where": "septic tank"}),
    of("emptied", replace(FULL, emptied_at=BEFORE), SAME, detail={"where": "septic tank"}),
    of("emptied", DRY, {"emptied_at": NOW}, detail={"where": "septic tank"}),
]

LESSONS = [of("trained", CrewState(), SAME, picker=1, detail={"topic": "ladder"})]

CASES = [*VISITS, *BATHS, *LESSONS]
