"""Pages of fault tags, a kind of gear to a page: scanned after a piece, a tag says what is wrong with it."""

from collections.abc import Sequence
from dataclasses import dataclass

from django.utils.translation import gettext as _

from equipment.documents.page import Paper
from equipment.documents.tag_sheet import Head, TagRow, tag_pages


@dataclass(frozen=True)
class FaultRow:
    """The tag of a fault: its code, what it is called, and what the finder sees or feels."""

    code: str
    name: str
    look_for: str


@dataclass(frozen=True)
class KindSheet:
    """What can be wrong with a kind, in the order in which it is printed."""

    kind: str
    faults: Sequence[FaultRow]


def fault_tags(sheets: Sequence[KindSheet], farm: str) -> bytes:
    """Each kind begins a page. Raises ValueError where there is no kind."""
    if not sheets:
        raise ValueError(_("Choose a kind of gear."))
    paper = Paper(_("Fault tags"), farm)
    lead = _("Something is wrong with it? Scan the piece, then what is wrong. Then lay it aside.")
    for sheet in sheets:
        rows = [TagRow(row.code, row.name, hint=row.look_for) for row in sheet.faults]
        tag_pages(paper, Head(sheet.kind, lead), rows)
    return paper.finish()
