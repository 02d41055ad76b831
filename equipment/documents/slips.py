"""Slips: what a leaver still has, and what to collect at the season's end."""

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date
from functools import partial

from django.utils.formats import date_format
from django.utils.translation import gettext as _
from reportlab.lib.units import mm

from equipment.documents import fonts
from equipment.documents.fonts import BOLD, MONO, PLAIN
from equipment.documents.page import A4, MARGIN, Paper, Writing
from equipment.documents.ruled import WIDTH, Column, heads, row, rule

ROW = 7.0
BOX = 4.0


@dataclass(frozen=True)
class Piece:
    """One item; `day` is since when it is out, or when it came back."""

    kind: str
    tag: str
    day: date


@dataclass(frozen=True)
class ClearanceSlip:
    """What the book says of a picker who leaves on `day`."""

    picker: str
    badge: str
    crew: str
    day: date
    out: tuple[Piece, ...] = ()
    back: tuple[Piece, ...] = ()


@dataclass(frozen=True)
class HeldPiece:
    """One item that is to come back, and who has it."""

    holder: str
    badge: str
    piece: Piece


@dataclass(frozen=True)
class Collection:
    """What one crew still has. `held` is grouped by holder."""

    crew: str
    supervisor: str
    held: tuple[HeldPiece, ...]


def clearance_slips(slips: Sequence[ClearanceSlip], farm: str) -> bytes:
    """A4, each picker on a page of their own. ValueError where there is none."""
    if not slips:
        raise ValueError(_("There is nothing to print: choose at least one."))
    paper = Paper(_("Clearance slips") if len(slips) > 1 else _("Clearance slip"), farm)
    for slip in slips:
        writing = Writing(paper, partial(_slip_head, slip=slip))
        _pieces(
            writing,
            _("Still out"),
            _("Out since"),
            slip.out,
            _("Nothing: all that was out in this name has come back."),
        )
        _pieces(writing, _("Came back"), _("On"), slip.back, _("Nothing is in the book under this name."))
        _words_and_signatures(writing)
        writing.done()
    return paper.finish()


def collection_list(crews: Sequence[Collection], day: date, farm: str) -> bytes:
    """A4, each crew on a page of its own: who holds what since when, with a box to tick. ValueError where empty."""
    if not crews:
        raise ValueError(_("Nothing is out: there is nothing to collect."))
    paper = Paper(_("To collect at the season's end"), farm)
    for crew in crews:
        writing = Writing(paper, partial(_collection_head, crew=crew, day=day))
        last = None
        for held in crew.held:
            holder = (held.holder, held.badge)
            _held_row(writing, held, again=holder == last)
            last = holder
        writing.done()
    return paper.finish()


def _slip_head(paper: Paper, slip: ClearanceSlip) -> float:
    top = A4[1] - 16
    paper.text(MARGIN, top, _("Clearance slip"), font=BOLD, size=18)
    paper.text(A4[0] - MARGIN, top, paper.farm, size=10, room=90, smallest=7, align="right")
    paper.text(MARGIN, top - 10, slip.picker, font=BOLD, size=14, room=WIDTH - 45, smallest=9)
    paper.text(A4[0] - MARGIN, top - 10, slip.badge, font=MONO, size=12, align="right")
    where = _("Crew: %(crew)s · by the book on %(day)s") % {
        "crew": slip.crew,
        "day": date_format(slip.day, _("j F Y")),
    }
    paper.text(MARGIN, top - 16, where, size=10, room=WIDTH, smallest=7)
    return top - 19


def _pieces(writing: Writing, title: str, when: str, pieces: Sequence[Piece], none: str) -> None:
    columns = (
        Column(_("Kind"), MARGIN, 80, size=10),
        Column(_("Tag"), MARGIN + 80, 45, MONO, 10),
        Column(when, MARGIN + 125, 65, size=10),
    )
    title = f"{title} ({len(pieces)})"
    writing.keep(15 + ROW)
    paper, plain_head = writing.paper, writing.head
    if not pieces:
        paper.text(MARGIN, writing.down(9) + 1, title, font=BOLD, size=12)
        paper.text(MARGIN, writing.down(ROW) + 1.7, none, size=10)
        return
    _pieces_head(paper, writing.down(15), title, columns)
    writing.head = lambda paper: _pieces_head(paper, plain_head(paper) - 15, title, columns)
    for piece in pieces:
        row(paper, writing.down(ROW), columns, (piece.kind, piece.tag, date_format(piece.day, _("j F Y"))))
    writing.head = plain_head


def _pieces_head(paper: Paper, y: float, title: str, columns: Sequence[Column]) -> float:
    paper.text(MARGIN, y + 7, title, font=BOLD, size=12)
    heads(paper, y, columns)
    return y


def _words_and_signatures(writing: Writing) -> None:
    """Kept together on one page, so that nobody signs a page that does not say what a signature means."""
    paper = writing.paper
    writing.keep(84)
    writing.down(4)
    meaning = _(
        "This slip says what the book shows on that day. It is not proof of a debt, and no ground to keep back wages; "
        "local law rules. Signing means: I have read this. It does not mean: I agree."
    )
    for line in fonts.wrapped(meaning, PLAIN, WIDTH * mm, 10, 4):
        paper.text(MARGIN, writing.down(5), line, size=10)
    paper.text(MARGIN, writing.down(9), _("What the picker says about it:"), font=BOLD, size=10)
    for _line in range(3):
        rule(paper, writing.down(8))
    y = writing.down(18)
    for number, who in enumerate((_("Picker"), _("Store"), _("Witness, where wanted"))):
        x = MARGIN + number * 65
        paper.rule(x, y, 60)
        paper.text(x, y - 4, who, size=9)
        paper.text(x + 60, y - 4, _("date"), size=9, align="right")


def _collection_head(paper: Paper, crew: Collection, day: date) -> float:
    top = A4[1] - 16
    paper.text(
        MARGIN,
        top,
        _("To collect: %(crew)s") % {"crew": crew.crew},
        font=BOLD,
        size=18,
        room=120,
        smallest=11,
    )
    paper.text(A4[0] - MARGIN, top, paper.farm, size=10, room=65, smallest=7, align="right")
    facts = _("Supervisor: %(supervisor)s · pieces: %(count)d · by the book on %(day)s")
    told = {"supervisor": crew.supervisor, "count": len(crew.held), "day": date_format(day, _("j F Y"))}
    paper.text(MARGIN, top - 7, facts % told, size=10, room=WIDTH, smallest=7)
    heads(paper, top - 17, _collection_columns())
    return top - 17


def _collection_columns() -> tuple[Column, ...]:
    return (
        Column(_("Holder"), MARGIN, 62, size=10),
        Column(_("Badge"), MARGIN + 62, 24, MONO, 9),
        Column(_("Kind"), MARGIN + 86, 42, size=10),
        Column(_("Tag"), MARGIN + 128, 26, MONO, 9),
        Column(_("Since"), MARGIN + 154, 28, size=10),
    )


def _held_row(writing: Writing, held: HeldPiece, again: bool) -> None:
    """The holder is named once, and again at the top of a page."""
    page = len(writing.paper.pages)
    y = writing.down(ROW)
    again = again and page == len(writing.paper.pages)
    who = ("", "") if again else (held.holder, held.badge)
    if not again:
        rule(writing.paper, y + ROW, dark=True)
    since = date_format(held.piece.day, _("j M Y"))
    row(writing.paper, y, _collection_columns(), (*who, held.piece.kind, held.piece.tag, since))
    writing.paper.box(A4[0] - MARGIN - BOX - 1, y + (ROW - BOX) / 2, BOX, BOX)
