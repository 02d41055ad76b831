"""The list for recall of a disease case: each piece that may carry it, where it is now, and how that came about."""

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import datetime

from django.utils.formats import date_format
from django.utils.translation import gettext as _
from reportlab.lib.units import mm
from reportlab.lib.utils import simpleSplit

from equipment.documents import fonts
from equipment.documents.fonts import BOLD, MONO, PLAIN
from equipment.documents.page import A4, MARGIN, Paper, Writing
from equipment.documents.ruled import WIDTH, Column, heads, rule

ROW, LINE, BOX = 6.0, 3.9, 3.6
PATH_SIZE = 8.0


@dataclass(frozen=True)
class RecallRow:
    """`path` are the sentences of how the disease may have come to it."""

    tag: str
    what: str
    where: str
    path: Sequence[str] = ()


@dataclass(frozen=True)
class Recall:
    """A case: `since` a day in words, `printed` a local time, `sums` what was found, `ends` what ends the disease."""

    number: int
    disease: str
    block: str
    since: str
    printed: datetime
    sums: str
    ends: str
    rows: Sequence[RecallRow]
    cautions: Sequence[str]


def recall_list(recall: Recall, farm: str) -> bytes:
    """A4. A case without pieces is a page that says so."""
    paper = Paper(_("Recall, case %(number)s") % {"number": recall.number}, farm)
    _Pages(paper, recall).write()
    return paper.finish()


class _Pages:
    def __init__(self, paper: Paper, recall: Recall) -> None:
        self.paper, self.recall = paper, recall
        self.columns = (
            Column(_("Back"), MARGIN, 9),
            Column(_("Piece"), MARGIN + 9, 26, MONO, 9),
            Column(_("What it is"), MARGIN + 35, 57),
            Column(_("Where it is now"), MARGIN + 92, WIDTH - 92),
        )

    def write(self) -> None:
        writing = Writing(self.paper, self.head)
        self.paragraph(writing, self.recall.sums, BOLD, 10)
        self.paragraph(writing, self.recall.ends)
        for sentence in self.recall.cautions:
            self.paragraph(writing, sentence)
        if self.recall.rows:
            y = writing.down(10)
            heads(self.paper, y, self.columns)
        for each in self.recall.rows:
            self.piece(writing, each)
        writing.down(4)
        self.paragraph(writing, _("Called back by (name, date):"), PLAIN, 9)
        rule(self.paper, writing.down(8), dark=True)
        writing.done()

    def head(self, paper: Paper) -> float:
        recall, top = self.recall, A4[1] - 12
        words = {"disease": recall.disease, "block": recall.block, "day": recall.since}
        title = _("Call back: %(disease)s, found in %(block)s, present since %(day)s") % words
        paper.text(MARGIN, top - 4, title, font=BOLD, size=15, room=WIDTH, smallest=10)
        told = _("Case %(number)s. Printed on %(when)s: where things are changes by the hour.") % {
            "number": recall.number,
            "when": date_format(recall.printed, _("j F Y H:i")),
        }
        paper.text(MARGIN, top - 10, told, size=9, room=WIDTH, smallest=7)
        return top - 13

    def paragraph(self, writing: Writing, text: str, font: str = PLAIN, size: float = 8.5) -> None:
        for line in _split(text, font, size, WIDTH):
            self.paper.text(MARGIN, writing.down(LINE + (size - 8) / 4) + 0.8, line, font=font, size=size)

    def piece(self, writing: Writing, each: RecallRow) -> None:
        told = [line for sentence in each.path for line in _split(sentence, PLAIN, PATH_SIZE, WIDTH - 12)]
        writing.keep(ROW + LINE * min(len(told), 12) + 1)
        y = writing.down(ROW)
        for column, cell in zip(self.columns[1:], (each.tag, each.what, each.where), strict=True):
            self.paper.text(
                column.x,
                y + 1.7,
                cell,
                font=column.font,
                size=column.size,
                room=column.room - 1,
                smallest=6.5,
            )
        self.paper.box(MARGIN, y + (ROW - BOX) / 2, BOX, BOX)
        for line in told:
            self.paper.text(MARGIN + 9, writing.down(LINE) + 1.2, line, size=PATH_SIZE)
        rule(self.paper, writing.down(0.6))


def _split(text: str, font: str, size: float, room: float) -> list[str]:
    return list(simpleSplit(fonts.printable(text), font, size, room * mm))
