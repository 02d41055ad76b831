"""The finding of a sampling audit on paper: what was asked, how it was drawn, every answer, and places to sign."""

from collections.abc import Sequence
from dataclasses import dataclass, replace

from django.utils.translation import gettext as _
from reportlab.lib.units import mm

from equipment.documents import fonts
from equipment.documents.fonts import BOLD, MONO, PLAIN
from equipment.documents.page import A4, MARGIN, Paper, Writing
from equipment.documents.ruled import WIDTH, Column, heads, row

ROW, LINE = 6.0, 4.6
SIGN = 14.0


@dataclass(frozen=True)
class Row:
    """A piece of the sample. `answer` with its faults, `looked` by whom and when (local time), `book` its lines there;
    "" where it is not answered. `against`: it counts as faulty, and stands out."""

    turn: int
    tag: str
    where: str
    answer: str = ""
    looked: str = ""
    book: str = ""
    against: bool = False


@dataclass(frozen=True)
class Report:
    """All in words. `said`: the finding, or that there is none yet; `means`: whether it is acceptable. `facts` are
    names and values, `draw` how the list can be made again, `book` how far each store's book had come."""

    title: str
    said: tuple[str, ...]
    means: str
    facts: tuple[tuple[str, str], ...]
    assumptions: tuple[str, ...]
    draw: tuple[str, ...]
    cautions: tuple[str, ...]
    rows: tuple[Row, ...]
    book: tuple[str, ...]


def audit_report(report: Report, farm: str, size: tuple[float, float] = A4) -> bytes:
    """As many pages as the sample needs, of `size` in mm."""
    paper = Paper(report.title, farm, size=size)

    def head(paper: Paper) -> float:
        return _head(paper, report, size[1] - 10)

    writing = Writing(paper, head)
    _finding(writing, report)
    _facts(writing, report.facts)
    _listed(writing, _("What this rests on"), report.assumptions)
    _listed(writing, _("How the pieces were drawn"), report.draw)
    _listed(writing, _("Take care"), report.cautions)
    _sample(writing, report.rows)
    writing.head = head
    _listed(writing, _("The book, at this printing"), report.book)
    _signatures(writing)
    writing.done()
    return paper.finish()


def _head(paper: Paper, report: Report, top: float) -> float:
    paper.text(MARGIN, top - 6, report.title, font=BOLD, size=16, room=WIDTH - 60, smallest=10)
    paper.text(MARGIN + WIDTH, top - 6, paper.farm, size=10, room=58, smallest=7, align="right")
    paper.rule(MARGIN, top - 9, WIDTH, 1)
    return top - 11


def _finding(writing: Writing, report: Report) -> None:
    """The one thing that everybody looks for: boxed, so that it reads in black and white too."""
    lines = [line for said in report.said for line in _wrapped(writing.paper, said, BOLD, 13, WIDTH - 10)]
    means = _wrapped(writing.paper, report.means, PLAIN, 11, WIDTH - 10) if report.means else []
    height = 6.2 * len(lines) + 5.4 * len(means) + 5
    bottom = writing.down(height + 2)
    writing.paper.box(MARGIN, bottom, WIDTH, height, 1.4)
    y = bottom + height - 6.5
    for line in lines:
        writing.paper.text(MARGIN + 5, y, line, font=BOLD, size=13)
        y -= 6.2
    for line in means:
        writing.paper.text(MARGIN + 5, y, line, size=11)
        y -= 5.4
    writing.down(3)


def _facts(writing: Writing, facts: Sequence[tuple[str, str]]) -> None:
    for name, value in facts:
        lines = _wrapped(writing.paper, value, PLAIN, 9.5, WIDTH - 42)
        writing.keep(LINE * len(lines))
        for number, line in enumerate(lines):
            y = writing.down(LINE)
            if not number:
                writing.paper.text(MARGIN, y + 1, name, font=BOLD, size=9, room=40, smallest=6)
            writing.paper.text(MARGIN + 42, y + 1, line, size=9.5)


def _listed(writing: Writing, title: str, sentences: Sequence[str]) -> None:
    if not sentences:
        return
    writing.keep(LINE * 2 + 3)
    writing.paper.text(MARGIN, writing.down(LINE + 3) + 1, title, font=BOLD, size=9.5)
    for sentence in sentences:
        for line in _wrapped(writing.paper, sentence, PLAIN, 9, WIDTH - 4):
            writing.paper.text(MARGIN + 4, writing.down(LINE - 0.4) + 1, line, size=9)


def _sample(writing: Writing, rows: Sequence[Row]) -> None:
    columns = _columns()
    strong = tuple(replace(column, font=BOLD) if column.font == PLAIN else column for column in columns)

    def head(paper: Paper, y: float) -> float:
        heads(paper, y - 7, columns)
        return y - 7

    title = writing.head
    writing.keep(30)
    writing.y = head(writing.paper, writing.y - 3)
    writing.head = lambda paper: head(paper, title(paper))
    for each in rows:
        cells = (str(each.turn), each.tag, each.where, each.answer, each.looked, each.book)
        row(writing.paper, writing.down(ROW), strong if each.against else columns, cells)


def _columns() -> tuple[Column, ...]:
    widths = (
        (_("Drawn"), 11.0, PLAIN, 8.0),
        (_("Tag"), 22.0, MONO, 8.5),
        (_("Where now"), 50.0, PLAIN, 8.5),
        (_("Answer"), 50.0, PLAIN, 8.5),
        (_("Looked at by"), 42.0, PLAIN, 8.0),
        (_("In the book"), 15.0, PLAIN, 7.5),
    )
    found, x = [], MARGIN
    for name, room, font, size in widths:
        found.append(Column(name, x, room, font, size))
        x += room
    return tuple(found)


def _signatures(writing: Writing) -> None:
    """Whoever looked, and whoever answers for it: by hand, on paper."""
    writing.keep(2 * SIGN + 4)
    writing.down(4)
    for who in (_("Looked at the pieces"), _("Safety officer")):
        y = writing.down(SIGN)
        writing.paper.text(MARGIN, y + 1.2, who, font=BOLD, size=9, room=44, smallest=6)
        for x, length, name in ((46, 50, _("name")), (100, 60, _("signature")), (164, 36, _("date"))):
            writing.paper.rule(x, y + 4, length)
            writing.paper.text(x, y + 1, name, size=7)


def _wrapped(paper: Paper, text: str, font: str, size: float, room: float) -> list[str]:
    return fonts.wrapped(paper.said(text), font, room * mm, size, 6)
