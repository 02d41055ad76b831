"""Pickers join and leave crews; each is an entry of the crew."""

from collections.abc import Iterable, Mapping
from datetime import datetime

from crews.models import BadgeLoan, Crew, Picker
from equipment.actions.appeared import appeared
from equipment.actions.writing import Pen
from equipment.ledger import Draft
from equipment.models import Membership


def join(pen: Pen, pickers: Iterable[Picker], crew: Crew, at: datetime | None = None) -> None:
    """Put the pickers in `crew`, out of whichever they were in; those who are in it already stay."""
    pickers = list(pickers)
    drafts: list[Draft] = []
    now_in: dict[int, list[str]] = {}
    for picker, code in Membership.objects.filter(picker__in=pickers).values_list("picker", "crew"):
        now_in.setdefault(picker, []).append(code)
    for picker in pickers:
        crews = now_in.get(picker.pk, [])
        drafts += [
            pen.draft("parted", crew=c, picker=picker.pk, happened_at=at) for c in crews if c != crew.pk
        ]
        if crew.pk not in crews:
            drafts.append(pen.draft("joined", crew=crew.pk, picker=picker.pk, happened_at=at))
    _record(pen, drafts)


def leave(pen: Pen, pickers: Iterable[Picker], at: datetime | None = None) -> None:
    """Take the pickers out of every crew they are in: they have left the farm."""
    rows = Membership.objects.filter(picker__in=list(pickers)).values_list("picker", "crew")
    pen.record([pen.draft("parted", crew=crew, picker=picker, happened_at=at) for picker, crew in rows])


def move(pen: Pen, wanted: Mapping[int, Crew | None], at: datetime | None = None) -> None:
    """Put each picker (by id) in the crew wanted, or with None in no crew at all: they leave the farm.

    As `join` and `leave`, for many pickers and crews in one writing; each line stands in the book of its crew's own
    store, wherever the list was written.
    """
    drafts: list[Draft] = []
    now_in: dict[int, dict[str, str]] = {}
    rows = Membership.objects.filter(picker__in=list(wanted)).values_list("picker", "crew", "crew__store")
    for picker, code, store in rows:
        now_in.setdefault(picker, {})[code] = store
    for picker, crew in wanted.items():
        old = now_in.get(picker, {})
        for code, store in old.items():
            if crew is None or code != crew.pk:
                drafts.append(pen.draft("parted", crew=code, store=store, picker=picker, happened_at=at))
        if crew is not None and crew.pk not in old:
            drafts.append(
                pen.draft("joined", crew=crew.pk, store=crew.store_id, picker=picker, happened_at=at)
            )
    if drafts:
        _record(pen, drafts)


def _record(pen: Pen, drafts: list[Draft]) -> None:
    """A hand-out to someone who was in no crew yet may have been waiting for this."""
    pen.record(drafts)
    joined = {draft.picker for draft in drafts if draft.verb == "joined"}
    appeared(BadgeLoan.objects.filter(picker__in=joined).values_list("badge", flat=True))
