"""Made-up lives of an item, a crew, a bath and a lot, as hypothesis strategies: whatever the book may come to hold.

Devices whose clocks are set back, times that are equal, a number given twice by one device, lines that take back a line
that comes later, one of another subject, themselves or another taking-back, and discrepancies settled before they
arise. Ids say nothing about the order.
"""

from collections.abc import Mapping, Sequence
from datetime import UTC, datetime, timedelta
from math import prod
from random import Random
from typing import Any
from uuid import UUID

from hypothesis import strategies as st

from equipment.domain.contradictions import CONTRADICTIONS
from equipment.domain.values import Entry

MORNING = datetime(2026, 6, 1, 3, 30, tzinfo=UTC)
DEVICES = tuple(UUID(int=number) for number in (11, 12, 13))
ITEM_VERBS = (
    "registered retagged packed handed_out handed_out returned returned stowed missed found moved written_off "
    "fault_found fault_found mended released inspected cleaned cleaned flagged seen heard"
)
CREW_VERBS = (
    "joined joined parted waived arrived arrived left stopped morning_checked taken_over replanned trained"
)
BATH_VERBS = "mixed mixed tested tested tested emptied"
LOT_VERBS = "received received given given used used discarded counted"

BLOCKS = ("N4", "S1")
BATH = UUID(int=2000)
LOT = UUID(int=3000)
BY_SOMEBODY = ("mended", "released", "taken_over")

# One number says everything of a line but its verb: quick to draw, and it still shrinks towards the plainest.
CHOICES = {"word": 12, "second": 13, "picker": 4, "device_seq": 10, "device": 3, "store": 2, "crew": 2}
PLANS = st.integers(0, prod(CHOICES.values()) - 1)


def item_life(most: int = 12) -> st.SearchStrategy[list[Entry]]:
    return _life(ITEM_VERBS, most)


def crew_life(most: int = 12) -> st.SearchStrategy[list[Entry]]:
    return _life(CREW_VERBS, most)


def bath_life(most: int = 12) -> st.SearchStrategy[list[Entry]]:
    return _life(BATH_VERBS, most)


def lot_life(most: int = 12) -> st.SearchStrategy[list[Entry]]:
    return _life(LOT_VERBS, most)


def shuffled(life: Sequence[Entry], seed: int) -> list[Entry]:
    return Random(seed).sample(life, len(life))


def _life(verbs: str, most: int) -> st.SearchStrategy[list[Entry]]:
    verb = st.sampled_from([*verbs.split(), "reversed", "reversed", "settled"])
    plans = st.lists(st.tuples(verb, PLANS), min_size=1, max_size=most)
    return st.builds(_told, plans, st.integers(0, 999))


def _told(plans: Sequence[tuple[str, int]], seed: int) -> list[Entry]:
    numbers = Random(seed).sample(range(100, 100 + len(plans)), len(plans))
    ids = [UUID(int=number) for number in numbers]
    return [entry(verb, ids[place], _choices(number), ids) for place, (verb, number) in enumerate(plans)]


def _choices(number: int) -> dict[str, int]:
    made = {}
    for name, count in CHOICES.items():
        number, made[name] = divmod(number, count)
    return made


def entry(verb: str, own: UUID, made: Mapping[str, int], ids: Sequence[UUID]) -> Entry:
    """The entry of a drawn plan; `word` chooses what its detail says, and which other line it speaks of."""
    store = "AB"[made["store"]]
    word, other = made["word"], [*ids, UUID(int=1)][made["word"] % (len(ids) + 1)]
    detail = _details(word, store, other).get(verb, {})
    return Entry(
        id=own,
        verb=verb,
        happened_at=MORNING + timedelta(seconds=made["second"]),
        device=DEVICES[made["device"]],
        device_seq=made["device_seq"],
        store=store,
        detail=detail,
        picker=made["picker"] or (1 if verb in ("joined", "parted", "waived") else None),
        crew=("CW0001X", "CW0002V")[made["crew"]],
        block=BLOCKS[word % 2] if verb in ("stowed", "arrived") else None,
        bath=BATH if detail.get("method") == "sterilise" else None,
        by=made["picker"] % 2 + 1 if verb in BY_SOMEBODY else None,
    )


def _details(word: int, store: str, other: UUID) -> dict[str, dict[str, Any]]:
    """By verb."""
    return {
        "registered": {"kind": "bag", "store": store, "tag": f"BG{word}"},
        "retagged": {"tag": f"BG{word}"},
        "packed": {"set": "ST0001L" if word % 2 else None},
        "handed_out": (
            {},
            {"from": f"picker:{word % 3 + 1}"},
            {"verdict": ["picker_left"]},
            {"from": "crew:CW0001X"},
        )[word % 4],
        "returned": {"wet": True} if word % 2 else {},
        "stowed": {"block": BLOCKS[word % 2], "counted": word},
        "moved": {"to": "BA"[word % 2]},
        "written_off": {"circumstance": "lost"},
        **_conditions(word),
        "waived": {"kind": "gloves"},
        "arrived": {"block": BLOCKS[word % 2]},
        "stopped": {"cause": ("break", "rain")[word % 2]},
        "morning_checked": {"answers": {"present": word}},
        "replanned": {
            "date": f"2026-06-0{word % 2 + 1}",
            "part": (None, "day", "morning", "afternoon")[word % 4],
            "clipped": word % 3 == 0,
            "block": (None, *BLOCKS)[word % 3],
        },
        **_baths(word),
        **_lots(word),
        "reversed": {"entry": str(other)},
        "settled": {
            "key": f"{list(CONTRADICTIONS)[word % len(CONTRADICTIONS)]}:{other}",
            "choice": "so it was",
        },
    }


def _conditions(word: int) -> dict[str, dict[str, Any]]:
    fault = ("bag_hole", "bag_torn_seam", "dirty", "wet")[word % 4]
    failed = ({}, {"failed": {"seams": "bag_torn_seam", "cloth": "bag_hole"}}, {"failed": {"straps": ""}})[
        word % 3
    ]
    way = (
        {"method": "wash"},
        {"method": "dry"},
        {
            "method": "sterilise",
            "recipe": "clippers_daily_bleach",
            "seconds": 300 * word,
            "needs_seconds": 600,
        },
        {"method": "sterilise", "kills": ["exocortis"]},
        {"method": "sterilise", "wrong": "no_recipe"},
        {"method": "wash", "kills": ["brown_rot"]},
    )[word % 6]
    return {
        "fault_found": {"fault": fault},
        "mended": {
            "fault": fault,
            "method": "sewn",
            "minutes": word,
            "where": "shed",
            **({}, {"release": "second"}, {"release": "officer"})[word % 3],
        },
        "released": {"fault": fault},
        "inspected": {
            "checklist": ("bag_weekly", "bag_daily")[word % 2],
            "answers": {"seams": "no"},
            **failed,
            **(
                {"expiries": {"tape": f"2026-0{word % 9 + 1}-01", "eye wash": "2026-05-01"}}
                if word % 4
                else {}
            ),
        },
        "cleaned": way,
        "flagged": {"disease": ("exocortis", "brown_rot")[word % 2], "case": f"case {word % 3}"},
    }


def _baths(word: int) -> dict[str, dict[str, Any]]:
    limits = {"low_ppm": 4000, "high_ppm": 6500, "life_minutes": 120, "capacity": 20}
    flaws = ({}, {"flaws": ["too_weak"]})[word % 2]
    return {
        "mixed": {
            "recipe": "clippers_daily_bleach",
            "litres": word + 1,
            "product_ml": 200,
            **limits,
            **flaws,
        },
        "tested": {"ppm": 500 * word, "diluted": word % 3 + 1},
        "emptied": {"where": "septic tank"},
    }


def _lots(word: int) -> dict[str, dict[str, Any]]:
    taken = {"quantity": (0.1, 0.2, 0.25, 1, 3, 7)[word % 6]}
    came = {"goods": "plasters", "quantity": (0.3, 4, 10)[word % 3], "lot_number": f"L{word}"}
    return {
        "received": {**came, **({"expires_on": f"2026-0{word % 3 + 5}-28"} if word % 2 else {})},
        "given": taken,
        "used": {**taken, "purpose": ("mend", "bath", "other")[word % 3]},
        "discarded": taken,
        "counted": {"left": (0, 0.3, 5)[word % 3]},
    }
