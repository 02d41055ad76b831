"""What an item's row says of its condition: read from its fold, its crews' visits, its baths and the rules."""

from collections import defaultdict
from collections.abc import Collection, Iterable, Mapping
from datetime import UTC, datetime
from typing import Any
from uuid import UUID

from equipment.domain import bath, clock
from equipment.domain.condition import Around, Condition
from equipment.domain.custody import against_handing_out
from equipment.domain.values import BathState, ItemState, Visit
from equipment.models import scans, touching

COLUMNS = ("place", "fit", "reasons", "due_at", "holds_at", "due", "void")


def columns(state: ItemState, found: Condition, void: Mapping[UUID, str]) -> dict[str, Any]:
    """The derived columns of `ItemState`. An item in a store with a fault that stops its use lies on the bench."""
    reasons = list(against_handing_out(state, state.store or "", None))
    reasons = [
        *reasons,
        *(["stop_use"] if found.stopping else []),
        *(["disease_flag"] if found.flags else []),
    ]
    kept = {cleaning.entry for cleaning in state.cleanings} | {c for f in state.flags for c in f.cleared}
    return {
        "place": "bench" if state.place == "store" and found.stopping else state.place,
        "fit": not reasons,
        "reasons": reasons,
        "due_at": found.due_at,
        "holds_at": found.holds_at,
        "due": list(_dues(found)),
        "void": {str(entry): void[entry] for entry in sorted(kept & void.keys())},
    }


def _dues(found: Condition) -> Iterable[dict[str, Any]]:
    for due in found.cleanings:
        yield _due("clean", due.method, due.at, due.holds, cause=due.cause)
    for inspection in found.inspections:
        yield _due("inspect", inspection.checklist, inspection.at, inspection.holds)
    for fault, at in found.mending:
        yield _due("mend", fault.fault, at, True)


def _due(what: str, name: str, at: datetime | None, holds: bool, cause: str | None = None) -> dict[str, Any]:
    return {
        "what": what,
        "name": name,
        "at": at.astimezone(UTC).isoformat() if at else None,
        "holds": holds,
        "cause": cause,
    }


def needed_visits(states: Iterable[ItemState]) -> tuple[set[str], datetime | None]:
    """The crews whose visits the clocks of these items run by, and from when on; none where nothing was cleaned."""
    crews: set[str] = set()
    since: datetime | None = None
    for state in states:
        if not state.cleanings:
            continue
        first = state.cleanings[0].at
        stints = [stint for stint in state.stints if stint.until is None or stint.until > first]
        crews |= {stint.crew for stint in stints}
        since = min([first, *(stint.at for stint in stints), *([since] if since else [])])
    return crews, since


def visits(crews: Collection[str], since: datetime | None) -> dict[str, list[Visit]]:
    """The visits of these crews that were not over at `since`, in order. One query, or none."""
    found: dict[str, list[Visit]] = defaultdict(list)
    if crews and since is not None:
        for crew, visit in scans.visits(sorted(crews), since):
            found[crew].append(visit)
    return dict(found)


def voided(states: Iterable[ItemState], baths: Mapping[UUID, BathState]) -> dict[UUID, str]:
    """Cleaning (by entry) -> why its bath says that it does not count. `baths` are all that these items' cleanings
    name. Two queries, or none."""
    dips = {c.entry: c.bath for state in states for c in state.cleanings if c.bath is not None}
    if not dips:
        return {}
    rows = dips_in(set(dips.values()))
    found: dict[UUID, str] = {}
    for own, in_it in rows.items():
        state = baths.get(own, BathState())
        for nth, (at, entry) in enumerate(in_it, start=1):
            if entry in dips and (why := bath.against_dip(state, at, nth)):
                found[entry] = why
    return found


def dips_in(baths: Collection[UUID]) -> dict[UUID, list[tuple[datetime, UUID]]]:
    """The cleanings in each of these baths that were not taken back, in order of time. Two queries, or none."""
    found: dict[UUID, list[tuple[datetime, UUID]]] = {own: [] for own in baths}
    for own, at, entry in touching.dips(baths):
        found[own].append((at, entry))
    return found


def around(state: ItemState, seen: clock.Visits, void: Mapping[UUID, str]) -> Around:
    return Around({crew: seen.get(crew, ()) for crew in {stint.crew for stint in state.stints}}, void)
