"""A trace as its page and its paper show it."""

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from datetime import datetime
from typing import Any

from django.utils.translation import gettext as _
from django.utils.translation import ngettext

from equipment.actions import names
from equipment.actions.trace import telling
from equipment.actions.trace.running import Found
from equipment.actions.trace.telling import BlockLine, PieceLine
from equipment.catalogue.rules import settled
from equipment.models import Case, Entry, ItemState
from equipment.models.rules import Rule, subjects_known
from equipment.pages.places import where
from equipment.pages.rules import saying

SHOWN_OF_A_BLOCK = 40
DEEPEST = 6
"""Lines further in are indented no more: on a phone there is no room for it."""


@dataclass(frozen=True, slots=True)
class TreeLine:
    """A block or a piece of the tree, `step` blocks away from the first; `more` pieces of a block are not shown."""

    step: int
    indent: int
    block: BlockLine | None = None
    piece: PieceLine | None = None
    more: int = 0


@dataclass(frozen=True, slots=True)
class Recalled:
    """A piece to call back: what it is, where it is now, and how it came to carry the disease."""

    row: ItemState
    what: str
    where: str
    path: Sequence[str]

    @property
    def tag(self) -> str:
        return self.row.tag


def shown(found: Found) -> dict[str, Any]:
    """What every page of a trace shows."""
    return {
        "found": found,
        "disease": names.disease(found.disease.code),
        "kinds": ", ".join(_(kind.name) for kind in found.kinds),
        "no_route": telling.no_route(found),
        "nothing": telling.nothing_reached(found),
        "before_the_book": before_the_book(found),
        "sums": sums(found),
        "tree": list(lines(telling.tree(found))) if found.pieces else [],
        "asked": telling.asked(found.question),
        "ends": ends(found),
        "does_not": [_(each.what) for each in found.disease.does_not],
        "cleaned": telling.cleaned_word(found),
        "cautions": telling.cautions(found),
    }


def sums(found: Found) -> str:
    pieces, carrying, blocks = len(found.pieces), len(found.carrying), len(found.blocks)
    return " ".join(
        (
            ngettext("%(n)d piece was reached.", "%(n)d pieces were reached.", pieces) % {"n": pieces},
            ngettext("%(n)d may still carry it.", "%(n)d may still carry it.", carrying) % {"n": carrying},
            ngettext("It came to %(n)d block more.", "It came to %(n)d blocks more.", blocks) % {"n": blocks},
        )
    )


def before_the_book(found: Found) -> datetime | None:
    """When the book begins, where that is later than what was asked about."""
    first: datetime | None = (
        Entry.objects.order_by("happened_at").values_list("happened_at", flat=True).first()
    )
    return first if first is not None and first > found.question.since else None


def ends(found: Found) -> str:
    """What ends it, by the rule in force when the trace was asked."""
    subject = f"disease {found.disease.code}"
    rule = Rule.objects.of(subject).filter(from_at__lte=found.question.until).first()
    row = subjects_known()[subject]
    return saying.say(row, settled(row, rule.values if rule else {}))


def lines(block: BlockLine, step: int = 0) -> Iterator[TreeLine]:
    """The tree in the order in which it is read, without recursion: it may be as deep as there are blocks."""
    waiting = [TreeLine(step, 0, block=block)]
    while waiting:
        line = waiting.pop()
        yield line
        waiting += reversed(list(_below(line)))


def _below(line: TreeLine) -> Iterator[TreeLine]:
    indent = min(line.indent + 1, DEEPEST)
    if line.piece is not None:
        yield from (TreeLine(line.step + 1, indent, block=block) for block in line.piece.leads)
    elif line.block is not None:
        few = line.block.pieces[:SHOWN_OF_A_BLOCK]
        few += [piece for piece in line.block.pieces[SHOWN_OF_A_BLOCK:] if piece.leads]
        yield from (TreeLine(line.step, indent, piece=piece) for piece in few)
        if more := len(line.block.pieces) - len(few):
            yield TreeLine(line.step, indent, more=more)


def recalled(found: Found, rows: Sequence[ItemState]) -> list[Recalled]:
    """These pieces with their paths, by where they are: who fetches them goes from place to place."""
    told = [
        Recalled(
            row,
            ", ".join(str(each) for each in (row.item.kind, row.item.make, row.item.size) if each),
            where(row),
            telling.path(found, telling.last_life(found, row.pk)),
        )
        for row in rows
    ]
    return sorted(told, key=lambda each: (each.where, each.tag))


def differs(case: Case, found: Found) -> dict[str, list[str]]:
    """What the book says now and did not say when the case was kept, and the other way round."""
    now, then = {found.tag(piece) for piece in found.pieces}, set(case.found.get("pieces", ()))
    return {"more": sorted(now - then), "fewer": sorted(then - now)}
