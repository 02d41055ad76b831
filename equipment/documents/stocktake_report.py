"""The report of a stocktake: what was expected and seen, each surprise and how it was settled, places to sign.

It is made of what was kept when the stocktake ended, so the same report comes out for ever; the chain heads of its
beginning and end say which lines of the book it stands on.
"""

from collections.abc import Sequence

from django.utils.translation import gettext as _

from equipment.documents.fonts import BOLD, MONO
from equipment.documents.page import A4, MARGIN, Paper, Writing
from equipment.documents.ruled import WIDTH, Column, heads, row, rule
from equipment.documents.stocktake_rows import PieceLine, Report

ROW, BELOW, HEAD_ROOM, TAGS_A_LINE = 6.0, 4.0, 8.0, 7
TITLE_ROOM = 9.0


def stocktake_report(report: Report, farm: str, size: tuple[float, float] = A4) -> bytes:
    """As a PDF of pages of `size`, in mm."""
    paper = Paper(report.title, farm, size=size)
    _Pages(paper, report, size[1] - MARGIN).write()
    return paper.finish()


class _Pages:
    def __init__(self, paper: Paper, report: Report, top: float) -> None:
        self.paper, self.report, self.top = paper, report, top
        self.writing = Writing(paper, self.head)

    def write(self) -> None:
        report = self.report
        self.facts()
        self.kinds()
        self.pieces(_("Surprises"), report.surprises, _("Nothing was seen that should not lie here."))
        self.pieces(_("Expected, and not seen"), report.unseen, _("Everything that was expected was seen."))
        if report.meanwhile:
            self.pieces(_("Left meanwhile, by the book"), report.meanwhile, "")
        self.sign()
        self.chains()
        self.tags()
        self.writing.done()

    def head(self, paper: Paper) -> float:
        top = self.top
        paper.text(MARGIN, top - 6, self.report.title, font=BOLD, size=15, room=WIDTH, smallest=10)
        rule(paper, top - 9, dark=True)
        return top - 11

    def section(self, title: str, columns: Sequence[Column] = ()) -> None:
        """Its title, and heads of columns that come again on every page."""
        self.writing.head = self.head
        self.writing.keep(TITLE_ROOM + HEAD_ROOM + 2 * ROW)
        self.paper.text(MARGIN, self.writing.down(TITLE_ROOM) + 1.5, title, font=BOLD, size=11)
        if columns:
            heads(self.paper, self.writing.down(ROW), columns)
            self.writing.head = lambda paper: self.again(paper, columns)

    def again(self, paper: Paper, columns: Sequence[Column]) -> float:
        y = self.head(paper) - ROW
        heads(paper, y, columns)
        return y

    def line(self, text: str, size: float = 9, font: str = "") -> None:
        words = {"font": font} if font else {}
        self.paper.text(MARGIN, self.writing.down(5) + 1.2, text, size=size, room=WIDTH, smallest=6, **words)

    def facts(self) -> None:
        report = self.report
        people = ", ".join(f"{name} ({count})" for name, count in report.people) or _("nobody")
        for text in (
            _("Counted: %(what)s") % {"what": report.counted},
            report.begun,
            report.ended or _("Not ended: this is how it stands now, and it may change."),
            _("Scanned by (pieces): %(people)s") % {"people": people},
        ):
            self.line(text)
        if report.why_open:
            self.line(
                _("What is marked “open” stays open. Why: %(why)s") % {"why": report.why_open}, font=BOLD
            )
        if report.late:
            tags = ", ".join(report.late)
            self.line(_("Scanned before the end, and arrived after it: %(tags)s") % {"tags": tags}, font=BOLD)

    def kinds(self) -> None:
        columns = (
            Column(_("Kind"), MARGIN, 62),
            Column(_("Where"), MARGIN + 62, 42),
            Column(_("Expected"), MARGIN + 104, 20),
            Column(_("Seen"), MARGIN + 124, 20),
            Column(_("Not seen, open"), MARGIN + 144, 24),
            Column(_("Accounted for"), MARGIN + 168, 22),
        )
        self.section(_("What was expected"), columns)
        for each in self.report.kinds:
            numbers = (each.expected, each.seen, each.left, each.accounted)
            row(self.paper, self.writing.down(ROW), columns, (each.kind, each.place, *map(str, numbers)))
        sums = [sum(getattr(each, name) for each in self.report.kinds) for name in _NUMBERS]
        bold = [Column(c.head, c.x, c.room, BOLD) for c in columns]
        row(self.paper, self.writing.down(ROW), bold, (_("All"), "", *map(str, sums)))

    def pieces(self, title: str, lines: Sequence[PieceLine], none: str) -> None:
        self.section(f"{title} ({len(lines)})", _piece_columns() if lines else ())
        if not lines:
            self.line(none)
        for each in lines:
            self.piece(each)

    def piece(self, each: PieceLine) -> None:
        """What it is; below it who saw it, and how it was settled by whom."""
        told = [_("Seen by %(told)s") % {"told": each.seen} if each.seen else ""]
        told.append(_("Settled: %(how)s") % {"how": each.settled} if each.settled else "")
        below = " · ".join(filter(None, told))
        columns = _piece_columns()
        y = self.writing.down(ROW + BELOW if below else ROW)
        cells = (each.tag, each.kind, each.what, _("open") if each.open else "")
        for column, cell in zip(columns, cells, strict=True):
            up, room, size = (BELOW if below else 0) + 1.7, column.room - 1, column.size
            self.paper.text(
                column.x, y + up, cell, font=column.font, size=size, room=room, smallest=size * 0.7
            )
        self.paper.text(columns[1].x, y + 1.5, below, size=8, room=WIDTH - columns[0].room, smallest=6)
        rule(self.paper, y)

    def sign(self) -> None:
        self.writing.head = self.head
        self.writing.keep(34)
        for who in (_("Counted by"), _("Looked over by")):
            y = self.writing.down(15)
            for x, room, words in (
                (MARGIN, 60, who),
                (MARGIN + 66, 70, _("Signature")),
                (MARGIN + 142, 48, _("Date")),
            ):
                self.paper.rule(x, y + 4, room)
                self.paper.text(x, y + 0.6, words, size=7)

    def chains(self) -> None:
        self.section(_("Where the book stood"))
        for each in self.report.chains:
            words = {"store": each.store, "when": each.when, "position": each.position}
            self.line(_("%(store)s, %(when)s: line %(position)d") % words, size=8)
            self.line(each.digest, size=7, font=MONO)
        if self.report.digest:
            self.line(_("Seal of what was found (SHA-256):"), size=8)
            self.line(self.report.digest, size=7, font=MONO)

    def tags(self) -> None:
        """Every piece that was seen, close together."""
        for kind, tags in self.report.seen.items():
            self.section(_("Seen: %(kind)s (%(count)d)") % {"kind": kind, "count": len(tags)})
            for first in range(0, len(tags), TAGS_A_LINE):
                y = self.writing.down(4.6)
                for place, tag in enumerate(tags[first : first + TAGS_A_LINE]):
                    room = WIDTH / TAGS_A_LINE
                    self.paper.text(
                        MARGIN + place * room, y + 1, tag, font=MONO, size=8, room=room - 2, smallest=5
                    )


_NUMBERS = ("expected", "seen", "left", "accounted")


def _piece_columns() -> Sequence[Column]:
    return (
        Column(_("Tag"), MARGIN, 28, MONO, 8),
        Column(_("Kind"), MARGIN + 28, 42),
        Column(_("What"), MARGIN + 70, 104),
        Column(_("Settled?"), MARGIN + 174, 16, BOLD),
    )
