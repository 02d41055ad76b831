"""A case is kept; its pieces are flagged in one act, and the flags taken off again in one."""

from collections.abc import Collection, Sequence
from datetime import datetime
from uuid import UUID

from django.utils.translation import gettext as _

from crews.models import User
from equipment.actions.trace.running import Found
from equipment.actions.wording import NotDone
from equipment.actions.writing import Pen, new_id
from equipment.ledger import Draft
from equipment.models import Case, Entry, ItemState


def keep(found: Found, by: User, at: datetime, why: str = "") -> Case:
    """Keep what was asked and what the book says to it now. The same question kept again is another case."""
    asked = found.question
    return Case.objects.create(
        disease=found.disease.code,
        block_id=asked.block,
        since=asked.since,
        until=asked.until,
        strict=asked.strict,
        steps=asked.steps,
        why=why,
        found=summary(found),
        by=by,
        at=at,
    )


def summary(found: Found) -> dict[str, list[str]]:
    """The codes of all that was reached, as a case keeps them."""
    return {
        "blocks": [code for code, _reach in found.blocks],
        "pieces": sorted(found.tag(piece) for piece in found.pieces),
        "carrying": sorted(found.tag(piece) for piece in found.carrying),
    }


def flags_of(case: Case) -> dict[UUID, UUID]:
    """Piece -> the line of this case that flags it, where that still stands. Two queries."""
    lines = Entry.objects.filter(verb="flagged", happened_at__gte=case.at, detail__case=str(case.number))
    flagged = dict(lines.order_by("happened_at").values_list("item", "id"))
    undone = Entry.objects.filter(verb="reversed", item__in=list(flagged), happened_at__gte=case.at)
    struck = {UUID(detail["entry"]) for detail in undone.values_list("detail", flat=True)}
    return {item: entry for item, entry in flagged.items() if entry not in struck}


def to_flag(found: Found, case: Case) -> list[ItemState]:
    """The pieces that may still carry it and that this case has not flagged, but for what is written off."""
    flagged = flags_of(case)
    rows = [found.rows[piece] for piece in found.carrying if piece not in flagged]
    return [row for row in rows if row.place != ItemState.Place.GONE]


def flag(pen: Pen, case: Case, found: Found, chosen: Collection[str]) -> int:
    """Flag those of the pieces `to_flag` whose tags are chosen, in one act with the case's number; how many. Raises
    NotDone where none is left, or where one has changed meanwhile."""
    rows = [row for row in to_flag(found, case) if row.tag in chosen]
    if not rows:
        raise NotDone(_("None of these is left to flag: look at the list again."))
    act = new_id()
    detail = {"disease": case.disease, "case": str(case.number)}
    _record(
        pen,
        [
            pen.draft(
                "flagged",
                item=row.item_id,
                crew=row.crew_id,
                store=row.store_id or pen.store,
                act=act,
                detail=detail,
            )
            for row in rows
        ],
    )
    return len(rows)


def take_flags_off(pen: Pen, case: Case, why: str) -> int:
    """Take back every flag of the case that stands, in one act; how many. Raises NotDone where there is none."""
    if not why.strip():
        raise NotDone(_("Say why the flags come off: a laboratory's answer, or a slip."))
    flagged = flags_of(case)
    if not flagged:
        raise NotDone(_("No piece carries a flag of this case."))
    act = new_id()
    drafts = [
        pen.draft(
            "reversed",
            item=row.item_id,
            crew=row.crew_id,
            store=row.store_id or pen.store,
            act=act,
            note=why.strip(),
            detail={"entry": str(flagged[row.item_id])},
        )
        for row in ItemState.objects.filter(pk__in=list(flagged)).order_by("pk")
    ]
    _record(pen, drafts)
    return len(drafts)


def _record(pen: Pen, drafts: Sequence[Draft]) -> None:
    if not all(outcome.recorded for outcome in pen.record(drafts).outcomes):
        raise NotDone(_("A piece has changed meanwhile. Look at the list, then try again."))
