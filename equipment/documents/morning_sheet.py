"""The morning sheet: one page for each crew, for whoever loads its trailer before first light.

What is handed out and what goes along, a box to tick beside each; the spares to load; by when each dip falls due.
"""

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date

from django.utils.formats import date_format
from django.utils.translation import gettext as _
from django.utils.translation import ngettext
from reportlab.lib.units import mm
from reportlab.lib.utils import simpleSplit

from equipment.documents import fonts, symbols
from equipment.documents.fonts import BOLD, MONO, PLAIN
from equipment.documents.page import A4, MARGIN, Paper, Writing
from equipment.documents.ruled import WIDTH, rule

ROW, BOX, LINE = 6.2, 3.6, 4.2
COLUMNS = 2
TIMES = 3


@dataclass(frozen=True)
class GearLine:
    """So many of a sort of gear; what is not `required` is advised."""

    what: str
    count: int
    required: bool


@dataclass(frozen=True)
class DipLine:
    """`says` what ends a dip of this kind; `times`: picking begun then, due by then."""

    kind: str
    says: str
    times: Sequence[tuple[str, str]] = ()


@dataclass(frozen=True)
class MorningSheet:
    """One crew's morning; `work` are its plans in words."""

    code: str
    crew: str
    supervisor: str
    store: str
    work: str
    day: date
    pickers: int
    handed: Sequence[GearLine]
    shared: Sequence[GearLine]
    spares: Sequence[GearLine]
    dips: Sequence[DipLine] = ()
    cautions: Sequence[str] = ()


def morning_sheets(sheets: Sequence[MorningSheet], farm: str) -> bytes:
    """A4, one crew after another. ValueError where there is no crew."""
    if not sheets:
        raise ValueError(_("No crew works that day: there is nothing to print."))
    paper = Paper(_("Morning sheets for %(day)s") % {"day": date_format(sheets[0].day, _("j F Y"))}, farm)
    for sheet in sheets:
        _Pages(paper, sheet).write()
    return paper.finish()


class _Pages:
    """The page of one crew; a large one may need a second."""

    def __init__(self, paper: Paper, sheet: MorningSheet) -> None:
        self.paper, self.sheet = paper, sheet

    def write(self) -> None:
        sheet, writing = self.sheet, Writing(self.paper, self.head)
        if not sheet.pickers:
            self.paragraph(writing, _("There are no pickers in this crew: nothing is asked for."), BOLD, 10)
        self.gear(writing, _("Handed out to the pickers"), sheet.handed)
        self.gear(writing, _("For the whole crew"), sheet.shared)
        self.gear(writing, _("Spares to load, in a clean closed box"), sheet.spares)
        if sheet.dips:
            self.dips(writing)
        if sheet.cautions:
            self.title(writing, _("Take care"))
            for sentence in sheet.cautions:
                self.paragraph(writing, sentence, PLAIN, 8)
        writing.down(3)
        self.paragraph(writing, _("Loaded by (name, time):"), PLAIN, 9)
        rule(self.paper, writing.down(7), dark=True)
        writing.done()

    def head(self, paper: Paper) -> float:
        """Who, where and when; the symbol opens this crew."""
        sheet, top = self.sheet, A4[1] - 9
        symbols.draw_quiet(paper, symbols.bare(sheet.code), A4[0] - MARGIN - 20, top - 20, 23)
        room = WIDTH - 24
        paper.text(MARGIN, top - 6, sheet.crew, font=BOLD, size=17, room=room - 30, smallest=11)
        paper.text(MARGIN + room, top - 6, sheet.code, font=MONO, size=11, align="right")
        when = _("%(day)s, from %(store)s") % {
            "day": date_format(sheet.day, _("l j F Y")),
            "store": sheet.store,
        }
        paper.text(MARGIN, top - 12, when, font=BOLD, size=11, room=room, smallest=8)
        people = ngettext("%(n)d picker", "%(n)d pickers", sheet.pickers) % {"n": sheet.pickers}
        who = " · ".join(filter(None, (sheet.work, people, sheet.supervisor)))
        paper.text(MARGIN, top - 17.5, who, size=10, room=room, smallest=6.5)
        return top - 21

    def title(self, writing: Writing, words: str) -> None:
        writing.keep(9 + ROW)
        y = writing.down(9)
        self.paper.text(MARGIN, y + 1.6, words, font=BOLD, size=10)
        rule(self.paper, y, dark=True)

    def gear(self, writing: Writing, title: str, lines: Sequence[GearLine]) -> None:
        """Two to a line, a box before each."""
        if not lines:
            return
        self.title(writing, title)
        for first in range(0, len(lines), COLUMNS):
            y = writing.down(ROW)
            for number, line in enumerate(lines[first : first + COLUMNS]):
                self.one(MARGIN + number * WIDTH / COLUMNS, y, line)
            rule(self.paper, y)

    def one(self, x: float, y: float, line: GearLine) -> None:
        self.paper.box(x, y + (ROW - BOX) / 2, BOX, BOX)
        self.paper.text(x + 15, y + 1.8, str(line.count), font=BOLD, size=11, align="right")
        what = line.what if line.required else _("%(what)s (advised)") % {"what": line.what}
        self.paper.text(x + 18, y + 1.8, what, size=9.5, room=WIDTH / COLUMNS - 21, smallest=7)

    def dips(self, writing: Writing) -> None:
        self.title(writing, _("Sterilise again: gloves and goggles on, sap and dirt off first"))
        for dip in self.sheet.dips:
            words = {"kind": dip.kind, "when": dip.says}
            self.paragraph(writing, _("%(kind)s: %(when)s.") % words, PLAIN, 9)
            y = writing.down(ROW)
            for number, (begun, due) in enumerate(dip.times[:TIMES]):
                told = _("Begun %(begun)s: by %(due)s") % {"begun": begun, "due": due or "–"}
                x = MARGIN + number * WIDTH / (TIMES + 1)
                self.paper.text(x, y + 1.8, told, size=9, room=WIDTH / (TIMES + 1) - 2, smallest=6.5)
            if dip.times:
                x = MARGIN + TIMES * WIDTH / (TIMES + 1)
                self.paper.text(x, y + 1.8, _("Begun ______ : by ______"), size=9)
            rule(self.paper, y)

    def paragraph(self, writing: Writing, text: str, font: str = PLAIN, size: float = 8.5) -> None:
        for line in simpleSplit(fonts.printable(text), font, size, WIDTH * mm):
            self.paper.text(MARGIN, writing.down(LINE) + 0.9, line, font=font, size=size)
