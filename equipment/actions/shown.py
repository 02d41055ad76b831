"""The state of a subject as every answer and list shows it: plain JSON values, people by badge only."""

from collections.abc import Iterable, Mapping
from datetime import UTC, date, datetime
from typing import Any

from crews.models import BadgeLoan
from equipment.domain import gate, values


def item(
    state: values.ItemState, kind: str | None, badges: Mapping[int, str], at: datetime
) -> dict[str, Any]:
    """`tag kind store place picker crew since fit reasons due_at`; `badges` maps pickers to their cards of the day."""
    verdict = gate.verdict(state, {}, at, gate.To(store=state.store))
    return {
        "tag": state.tag,
        "kind": kind,
        "store": state.store,
        "place": state.place,
        "picker": badges.get(state.picker) if state.picker is not None else None,
        "crew": state.crew,
        "set": state.set,
        "since": stamp(state.since),
        "wet": state.wet,
        "fit": verdict.fit,
        "reasons": [reason.code for reason in verdict.reasons],
        "due_at": None,
    }


def crew(code: str, state: values.CrewState) -> dict[str, Any]:
    return {"code": code, "members": len(state.members)}


def stamp(at: datetime | None) -> str | None:
    """UTC as `YYYY-MM-DDTHH:MM:SS.ffffffZ`."""
    return at.astimezone(UTC).strftime("%Y-%m-%dT%H:%M:%S.%fZ") if at else None


def badges_of(pickers: Iterable[int], day: date) -> dict[int, str]:
    """The card that each of these pickers holds on `day`; those without one are left out. One query, or none."""
    pickers = list(pickers)
    if not pickers:
        return {}
    loans = BadgeLoan.objects.on(day).filter(picker__in=pickers).order_by("from_day", "id")
    return dict(loans.values_list("picker", "badge"))
