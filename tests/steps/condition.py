"""Faults, mends, inspections, cleanings and flags of an item."""

from dataclasses import replace
from datetime import date
from typing import Any
from uuid import UUID

from equipment.domain.values import Cleaning, Flag, ItemState, OpenFault
from tests.steps import BEFORE, EARLIER, GONE, IN_STORE, NOW, OWN, SAME, WITH_ANA, of

FIRST, SECOND = UUID(int=1), UUID(int=2)
TORN = OpenFault("bag_hole", FIRST, EARLIER)
BURR = OpenFault("ladder_burrs", SECOND, BEFORE)
WAITING = replace(TORN, mended_at=BEFORE, mended_by=7, release="second")
FOR_OFFICER = replace(WAITING, release="officer")
DIPPED = Cleaning(FIRST, EARLIER, "sterilise")
WASHED = Cleaning(SECOND, BEFORE, "wash")
FLAG = Flag("exocortis", FIRST, EARLIER, "case 7")

FAULTY = replace(IN_STORE, faults=(TORN, BURR))
MENDED = replace(IN_STORE, faults=(WAITING, BURR))
CLEAN = replace(WITH_ANA, cleanings=(DIPPED, WASHED))
DIRTY = replace(IN_STORE, dirty_at=BEFORE)
FLAGGED = replace(IN_STORE, flags=(FLAG,), cleanings=(replace(DIPPED, ends=(("flag", EARLIER),)),))


def fault(code: str) -> dict[str, Any]:
    return {"detail": {"fault": code}}


def ended(cause: str, *cleanings: Cleaning) -> tuple[Cleaning, ...]:
    return tuple(replace(each, ends=(*each.ends, (cause, NOW))) for each in cleanings)


FAULTS = [
    of("fault_found", IN_STORE, {"faults": (OpenFault("bag_hole", OWN, NOW),)}, **fault("bag_hole")),
    of("fault_found", WITH_ANA, {"faults": (OpenFault("bag_hole", OWN, NOW),)}, **fault("bag_hole")),
    of(
        "fault_found",
        FAULTY,
        {"faults": (TORN, BURR, OpenFault("bag_buckle", OWN, NOW))},
        **fault("bag_buckle"),
    ),
    of("fault_found", FAULTY, SAME, **fault("bag_hole")),  # known already: as it was first found
    of("fault_found", MENDED, {"faults": (BURR, OpenFault("bag_hole", OWN, NOW))}, **fault("bag_hole")),
    of(
        "fault_found", CLEAN, {"dirty_at": NOW, "cleanings": ended("dirty", DIPPED, WASHED)}, **fault("dirty")
    ),
    of("fault_found", CLEAN, {"wet_at": NOW, "cleanings": ended("wet", DIPPED, WASHED)}, **fault("wet")),
    of("fault_found", DIRTY, SAME, **fault("dirty")),
    of("fault_found", DIRTY, {"wet_at": NOW}, **fault("wet")),
    of("fault_found", GONE, SAME, "written_off", **fault("bag_hole")),
    of(
        "fault_found",
        replace(WITH_ANA, place="missing"),
        {"faults": (OpenFault("x", OWN, NOW),)},
        **fault("x"),
    ),
]


def mend(code: str, release: str = "") -> dict[str, Any]:
    sealed = {"release": release} if release else {}
    return {"by": 7, "detail": {"fault": code, "method": "sewn", "minutes": 10, "where": "shed", **sealed}}


MENDS = [
    of("mended", FAULTY, {"faults": (BURR,)}, **mend("bag_hole")),
    of(
        "mended",
        FAULTY,
        {"faults": (BURR, replace(TORN, mended_at=NOW, mended_by=7, release="second"))},
        **mend("bag_hole", "second"),
    ),
    of(
        "mended",
        FAULTY,
        {"faults": (BURR, replace(TORN, mended_at=NOW, mended_by=7, release="officer"))},
        **mend("bag_hole", "officer"),
    ),
    of("mended", MENDED, {"faults": (BURR, replace(WAITING, mended_at=NOW))}, **mend("bag_hole", "second")),
    of("mended", IN_STORE, SAME, "not_faulty", **mend("bag_hole")),
    of("mended", FAULTY, SAME, "not_faulty", **mend("bag_buckle")),
    of("mended", DIRTY, SAME, "not_faulty", **mend("dirty")),  # washed off, not mended
    of("mended", GONE, SAME, "written_off", **mend("bag_hole")),
    of("released", MENDED, {"faults": (BURR,)}, by=8, **fault("bag_hole")),
    of("released", MENDED, SAME, "own_mend", by=7, **fault("bag_hole")),
    of("released", replace(IN_STORE, faults=(FOR_OFFICER,)), {"faults": ()}, by=7, **fault("bag_hole")),
    of("released", FAULTY, SAME, "not_mended", by=8, **fault("bag_hole")),
    of("released", IN_STORE, SAME, "not_faulty", by=8, **fault("bag_hole")),
    of("released", GONE, SAME, "written_off", by=8, **fault("bag_hole")),
]


def inspected(**more: Any) -> dict[str, Any]:
    return {"detail": {"checklist": "bag_weekly", "answers": {"cloth": "no"}, **more}}


LOOKED_AT = {"inspected": {"bag_weekly": NOW}}
INSPECTIONS = [
    of("inspected", IN_STORE, LOOKED_AT, **inspected()),
    of(
        "inspected",
        replace(IN_STORE, inspected={"bag_weekly": BEFORE, "other": EARLIER}),
        {"inspected": {"bag_weekly": NOW, "other": EARLIER}},
        **inspected(),
    ),
    of(
        "inspected",
        IN_STORE,
        LOOKED_AT | {"faults": (OpenFault("bag_buckle", OWN, NOW), OpenFault("bag_hole", OWN, NOW))},
        # Two points that open one fault, and one that opens none; in the order of the alphabet.
        **inspected(failed={"cloth": "bag_hole", "seams": "bag_hole", "buckles": "bag_buckle", "clean": ""}),
    ),
    of("inspected", FAULTY, LOOKED_AT, **inspected(failed={"cloth": "bag_hole"})),
    of("inspected", FAULTY, LOOKED_AT, **inspected()),  # passing mends nothing
    of(
        "inspected",
        CLEAN,
        LOOKED_AT | {"dirty_at": NOW, "cleanings": ended("dirty", DIPPED, WASHED)},
        **inspected(failed={"clean": "dirty"}),
    ),
    of(
        "inspected",
        replace(IN_STORE, expires_on=date(2026, 1, 1)),
        LOOKED_AT | {"expires_on": date(2026, 8, 1)},
        **inspected(expiries={"tape": "2027-01-01", "eye wash": "2026-08-01"}),
    ),
    of("inspected", replace(IN_STORE, expires_on=date(2026, 1, 1)), LOOKED_AT, **inspected()),
    of("inspected", GONE, SAME, "written_off", **inspected()),
]


def cleaned(method: str, **detail: Any) -> dict[str, Any]:
    return {"detail": {"method": method, **detail}}


def done(method: str, **more: Any) -> Cleaning:
    return Cleaning(OWN, NOW, method, **more)


FOUR = tuple(replace(DIPPED, entry=UUID(int=20 + n)) for n in range(4))
BATH = UUID(int=77)
CLEARED = tuple(UUID(int=30 + n) for n in range(4))
CLEANINGS = [
    of("cleaned", IN_STORE, {"cleanings": (done("sterilise"),)}, **cleaned("sterilise")),
    of(
        "cleaned", IN_STORE, {"cleanings": (done("sterilise", bath=BATH),)}, bath=BATH, **cleaned("sterilise")
    ),
    # In Ana's hands, she is the first to have it since; while it lies somewhere, nobody is.
    of("cleaned", WITH_ANA, {"cleanings": (done("sterilise", picker=1),)}, **cleaned("sterilise")),
    of("cleaned", replace(WITH_ANA, place="missing"), {"cleanings": (done("wash"),)}, **cleaned("wash")),
    of("cleaned", replace(WITH_ANA, place="orchard"), {"cleanings": (done("wash"),)}, **cleaned("wash")),
    of("cleaned", CLEAN, {"cleanings": (DIPPED, WASHED, done("wash", picker=1))}, **cleaned("wash")),
    of(  # four of a method are kept
        "cleaned",
        replace(IN_STORE, cleanings=(FOUR[0], WASHED, *FOUR[1:])),
        {"cleanings": (WASHED, *FOUR[1:], done("sterilise"))},
        **cleaned("sterilise"),
    ),
    of(
        "cleaned",
        IN_STORE,
        {"cleanings": (done("sterilise"),)},
        **cleaned("sterilise", seconds=600, needs_seconds=600),
    ),
    # Too short, no dirt off it, the wrong recipe: written down, and it does not count.
    of("cleaned", IN_STORE, SAME, **cleaned("sterilise", seconds=599, needs_seconds=600)),
    of("cleaned", IN_STORE, SAME, **cleaned("sterilise", needs_seconds=600)),
    of("cleaned", IN_STORE, SAME, **cleaned("sterilise", wrong="wrong_recipe")),
    of("cleaned", IN_STORE, SAME, **cleaned("sterilise", wrong="no_recipe")),
    of("cleaned", DIRTY, SAME, **cleaned("sterilise", seconds=600, needs_seconds=600)),
    of("cleaned", FLAGGED, SAME, **cleaned("sterilise", seconds=1, needs_seconds=10, kills=["exocortis"])),
    of("cleaned", DIRTY, {"dirty_at": None, "cleanings": (done("wash"),)}, **cleaned("wash")),
    of("cleaned", DIRTY, {"cleanings": (done("dry"),)}, **cleaned("dry")),
    of(
        "cleaned",
        replace(IN_STORE, wet_at=BEFORE),
        {"wet_at": None, "cleanings": (done("dry"),)},
        **cleaned("dry"),
    ),
    of("cleaned", replace(IN_STORE, wet_at=BEFORE), {"cleanings": (done("wash"),)}, **cleaned("wash")),
    # Only what kills the disease clears its flag.
    of("cleaned", FLAGGED, {"cleanings": (*FLAGGED.cleanings, done("sterilise"))}, **cleaned("sterilise")),
    of(
        "cleaned",
        FLAGGED,
        {"cleanings": (*FLAGGED.cleanings, done("sterilise"))},
        **cleaned("sterilise", kills=["citrus_canker"]),
    ),
    of(
        "cleaned",
        FLAGGED,
        {"cleanings": (*FLAGGED.cleanings, done("sterilise")), "flags": (replace(FLAG, cleared=(OWN,)),)},
        **cleaned("sterilise", kills=["citrus_canker", "exocortis"]),
    ),
    of(
        "cleaned",
        replace(IN_STORE, flags=(replace(FLAG, cleared=CLEARED),)),
        {"cleanings": (done("wash"),), "flags": (replace(FLAG, cleared=(*CLEARED[1:], OWN)),)},
        **cleaned("wash", kills=["exocortis"]),
    ),
    of("cleaned", GONE, SAME, "written_off", **cleaned("wash")),
    of("cleaned", ItemState(), SAME, "written_off", **cleaned("wash")),
]


def flag(disease: str, **more: Any) -> dict[str, Any]:
    return {"detail": {"disease": disease, **more}}


FLAGS = [
    of(
        "flagged",
        CLEAN,
        {"flags": (Flag("exocortis", OWN, NOW, "case 8"),), "cleanings": ended("flag", DIPPED, WASHED)},
        **flag("exocortis", case="case 8"),
    ),
    of("flagged", FLAGGED, {"flags": (FLAG, Flag("citrus_canker", OWN, NOW))}, **flag("citrus_canker")),
    # Flagged anew: what cleared it before does not now.
    of(
        "flagged",
        replace(IN_STORE, flags=(replace(FLAG, cleared=(SECOND,)),)),
        {"flags": (Flag("exocortis", OWN, NOW),)},
        **flag("exocortis"),
    ),
    of("flagged", GONE, SAME, "written_off", **flag("exocortis")),
]

CASES = [*FAULTS, *MENDS, *INSPECTIONS, *CLEANINGS, *FLAGS]
