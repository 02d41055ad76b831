"""Made-up lives of an item and of a crew, as hypothesis strategies: whatever the book may come to hold.

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
    "registered retagged packed handed_out handed_out returned returned stowed missed found moved written_off"
)
CREW_VERBS = "joined joined parted waived"

# One number says everything of a line but its verb: quick to draw, and it still shrinks towards the plainest.
CHOICES = {"word": 12, "second": 13, "picker": 4, "device_seq": 10, "device": 3, "store": 2, "crew": 2}
PLANS = st.integers(0, prod(CHOICES.values()) - 1)


def item_life(most: int = 12) -> st.SearchStrategy[list[Entry]]:
    return _life(ITEM_VERBS, most)


def crew_life(most: int = 12) -> st.SearchStrategy[list[Entry]]:
    return _life(CREW_VERBS, most)


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
    detail: dict[str, Any] = {
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
        "stowed": {"block": "N4", "counted": word},
        "moved": {"to": "BA"[word % 2]},
        "written_off": {"circumstance": "lost"},
        "waived": {"kind": "gloves"},
        "reversed": {"entry": str(other)},
        "settled": {
            "key": f"{list(CONTRADICTIONS)[word % len(CONTRADICTIONS)]}:{other}",
            "choice": "so it was",
        },
    }.get(verb, {})
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
        block="N4" if verb == "stowed" else None,
    )
