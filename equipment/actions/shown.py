"""The state of a subject as every answer and list shows it: plain JSON values, people by badge only."""

from collections.abc import Iterable, Mapping
from datetime import UTC, date, datetime
from typing import Any
from uuid import UUID

from crews.models import BadgeLoan
from equipment.domain import bath as baths
from equipment.domain import gate, values
from equipment.domain.condition import Condition
from equipment.domain.custody import against_handing_out


def item(
    state: values.ItemState,
    kind: str | None,
    badges: Mapping[int, str],
    at: datetime,
    found: Condition | None = None,
) -> dict[str, Any]:
    """`tag kind store place picker crew since fit reasons due_at`; `badges` maps pickers to their cards of the day,
    `found` is the condition of the item."""
    found = found or Condition()
    custody = against_handing_out(state, state.store or "", None)
    against = gate.against(found, at)
    due_at = found.due_at
    return {
        "tag": state.tag,
        "kind": kind,
        "store": state.store,
        "place": "bench" if state.place == "store" and found.stopping else state.place,
        "picker": badges.get(state.picker) if state.picker is not None else None,
        "crew": state.crew,
        "set": state.set,
        "since": stamp(state.since),
        "wet": state.wet,
        "fit": not custody and not any(reason.blocks for reason in against),
        "reasons": list(dict.fromkeys([*custody, *(reason.code for reason in against)])),
        "due_at": stamp(due_at),
    }


def crew(code: str, state: values.CrewState) -> dict[str, Any]:
    visit = state.visits[-1] if state.visits and state.visits[-1].until is None else None
    return {
        "code": code,
        "members": len(state.members),
        "block": visit.block if visit else None,
        "since": stamp(visit.at) if visit else None,
    }


def bath(own: UUID, state: values.BathState, at: datetime) -> dict[str, Any]:
    """`against` says why a dip at `at` would not count, null where it would; how many it has taken is not counted."""
    return {
        "bath": str(own),
        "recipe": state.recipe,
        "mixed_at": stamp(state.mixed_at),
        "good_until": stamp(baths.good_until(state)),
        "emptied_at": stamp(state.emptied_at),
        "ppm": state.tests[-1].ppm if state.tests else state.ppm,
        "capacity": state.capacity,
        "against": baths.against_dip(state, at, 1),
    }


def lot(own: UUID, state: values.LotState) -> dict[str, Any]:
    """`left` in the unit of the goods; `expires_on` is the last day on which it may be given or used."""
    return {
        "lot": str(own),
        "goods": state.goods,
        "store": state.store,
        "lot_number": state.lot_number,
        "expires_on": state.expires_on.isoformat() if state.expires_on else None,
        "left": state.left,
        "received_at": stamp(state.received_at),
        "counted_at": stamp(state.counted_at),
    }


def stamp(at: datetime | None) -> str | None:
    """UTC as `YYYY-MM-DDTHH:MM:SS.ffffffZ`."""
    return f"{at.astimezone(UTC).replace(tzinfo=None).isoformat(timespec='microseconds')}Z" if at else None


def badges_of(pickers: Iterable[int], day: date) -> dict[int, str]:
    """The card that each of these pickers holds on `day`; those without one are left out. One query, or none."""
    pickers = list(pickers)
    if not pickers:
        return {}
    loans = BadgeLoan.objects.on(day).filter(picker__in=pickers).order_by("from_day", "id")
    return dict(loans.values_list("picker", "badge"))
