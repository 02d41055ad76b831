"""Entries in, state out: `state = reduce(step, ordered entries not named by a reversed)`.

Order within a subject is (effective time, device, device_seq, id). The effective time of an entry is the running
maximum of `happened_at` along its device's own sequence, so a clock set back at noon cannot put the afternoon before
the morning. The same stored entries give the same state in any order of arrival.
"""

from collections.abc import Callable, Iterable, Mapping
from dataclasses import dataclass, field
from datetime import datetime
from typing import Any, Generic, TypeVar
from uuid import UUID

from equipment.domain.values import Entry, State

S = TypeVar("S", bound=State)
Step = Callable[[Any, Entry], Any]
Key = tuple[datetime, UUID, int, UUID]


@dataclass(frozen=True, slots=True)
class Folded(Generic[S]):
    """A state, and what must be remembered to add one more entry without reading the others.

    `last` is the order key of the last entry, `tails` the highest sequence number seen of each device, `awaited` the
    entries that a `reversed` names but that have not arrived.
    """

    state: S
    last: Key | None = None
    tails: Mapping[str, int] = field(default_factory=dict)
    awaited: frozenset[UUID] = frozenset()


def ordered(entries: Iterable[Entry]) -> list[tuple[Key, Entry]]:
    """The entries of one subject with their order keys, in order."""
    latest: dict[UUID, datetime] = {}
    keyed = []
    for entry in sorted(entries, key=lambda e: (e.device_seq, e.id)):
        seen = latest.get(entry.device)
        effective = entry.happened_at if seen is None or entry.happened_at > seen else seen
        latest[entry.device] = effective
        keyed.append(((effective, entry.device, entry.device_seq, entry.id), entry))
    keyed.sort(key=lambda pair: pair[0])
    return keyed


def reversals(entries: Iterable[Entry]) -> dict[UUID, UUID]:
    """Reversed entry -> the entry that reverses it (the lowest id where several do)."""
    named: dict[UUID, UUID] = {}
    for entry in entries:
        if entry.verb == "reversed":
            target = UUID(entry.detail["entry"])
            named[target] = min(entry.id, named.get(target, entry.id))
    return named


def fold(entries: Iterable[Entry], start: S, steps: Mapping[str, Step]) -> Folded[S]:
    """The state of one subject from all its stored entries, in any order."""
    in_order = ordered(entries)
    named = reversals(entry for _, entry in in_order)
    reversible = {entry.id for _, entry in in_order if entry.verb != "reversed"}
    state: Any = start
    tails: dict[str, int] = {}
    for _, entry in in_order:
        device = str(entry.device)
        tails[device] = max(entry.device_seq, tails.get(device, entry.device_seq))
        if entry.verb == "reversed":
            if UUID(entry.detail["entry"]) not in reversible:
                state = state.contradicted("not_reversible", entry.id)
        elif entry.id not in named:
            state = steps[entry.verb](state, entry)
    return Folded(
        state=state,
        last=in_order[-1][0] if in_order else None,
        tails=tails,
        awaited=frozenset(named) - reversible,
    )


def extends(folded: Folded[S], entry: Entry) -> bool:
    """Whether `entry` comes after everything folded so far and so is one step; if not, the subject is refolded."""
    if entry.verb == "reversed" or entry.id in folded.awaited:
        return False
    # A number that a device gives twice may come before the entry that bears it already: the id decides.
    tail = folded.tails.get(str(entry.device))
    if tail is not None and entry.device_seq <= tail:
        return False
    return folded.last is None or (entry.happened_at, entry.device, entry.device_seq, entry.id) > folded.last


def extend(folded: Folded[S], entry: Entry, steps: Mapping[str, Step]) -> Folded[S]:
    """One step; only for an entry that `extends`."""
    state: Any = steps[entry.verb](folded.state, entry)
    return Folded(
        state=state,
        last=(entry.happened_at, entry.device, entry.device_seq, entry.id),
        tails={**folded.tails, str(entry.device): entry.device_seq},
        awaited=folded.awaited,
    )
