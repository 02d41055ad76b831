"""The evening page for a crew: tomorrow's handout on paper, for when the power fails.

One crew after another, each beginning a page of its own. A box stands beside each picker's usual tag, one column a
kind, so that a handout is one tick. Thirty pickers, the blank lines and a few pieces of shared gear fit on one page.
"""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field
from datetime import date

from django.utils.formats import date_format
from django.utils.translation import gettext as _

from equipment.documents import symbols
from equipment.documents.fonts import BOLD, MONO
from equipment.documents.page import A4, MARGIN, RULING, Paper, Writing
from equipment.documents.ruled import WIDTH, Column, heads, rule
from equipment.domain.words import gettext_noop

ROW, BOX, TAG_SIZE = 6.0, 3.6, 8.0
BLANK_LINES = 4
NUMBER_ROOM, BADGE_ROOM, LEAST_NAME, WIDEST_KIND = 7.0, 19.0, 48.0, 24.0
SHARED_COLUMNS = 3

# NSW DPI on citrus ladders; WAC 296-307-05505 on the top two steps. The farm's own rules may ask for more.
LADDER_CAUTIONS = (
    gettext_noop(
        "Ladders: look each one over before the first climb. Bent, broken, cracked or loose: it stays here."
    ),
    gettext_noop(
        "Climb with an empty bag, keep three contacts and the hips below the top rung, never on the top two steps."
    ),
    gettext_noop("The ladder's own label, the safety sheet and local law come before this page."),
)


@dataclass(frozen=True)
class PickerLine:
    """`usual`: the word of a kind -> the tag that this picker usually carries."""

    name: str
    badge: str
    usual: Mapping[str, str] = field(default_factory=dict)


@dataclass(frozen=True)
class SharedLine:
    """A piece that goes to the crew as a whole; `tag` "" leaves a line to write one on."""

    kind: str
    tag: str = ""


@dataclass(frozen=True)
class CrewSheet:
    """One crew's tomorrow. `kinds` are the words of what the kit asks of a picker, in the order of giving.

    Without a plan there are no kinds and no part of day: the page is a list of names to write beside.
    """

    code: str
    crew: str
    supervisor: str
    block: str
    day: date
    part_of_day: str
    kinds: tuple[str, ...]
    pickers: tuple[PickerLine, ...]
    shared: tuple[SharedLine, ...] = ()
    ladders: bool = False


def crew_pages(sheets: Sequence[CrewSheet], farm: str) -> bytes:
    """A4, ready to print the evening before. ValueError where there is no crew."""
    if not sheets:
        raise ValueError(_("No crew works tomorrow: there is nothing to print."))
    paper = Paper(_("Crew pages for %(day)s") % {"day": date_format(sheets[0].day, _("j F Y"))}, farm)
    for sheet in sheets:
        _Pages(paper, sheet).write()
    return paper.finish()


class _Pages:
    """The pages of one crew."""

    def __init__(self, paper: Paper, sheet: CrewSheet) -> None:
        self.paper, self.sheet = paper, sheet
        room = WIDTH - NUMBER_ROOM - BADGE_ROOM
        self.kind_room = min(WIDEST_KIND, (room - LEAST_NAME) / max(1, len(sheet.kinds)))
        self.kinds_from = A4[0] - MARGIN - self.kind_room * len(sheet.kinds)
        badge_from = self.kinds_from - BADGE_ROOM
        name_from = MARGIN + NUMBER_ROOM
        self.columns = (
            Column("", MARGIN, NUMBER_ROOM),
            Column(_("Picker"), name_from, badge_from - name_from),
            Column(_("Badge"), badge_from, BADGE_ROOM, MONO, 7.5),
            *(
                Column(kind, self.kind_x(n), self.kind_room, MONO, TAG_SIZE)
                for n, kind in enumerate(sheet.kinds)
            ),
        )

    def kind_x(self, number: int) -> float:
        return self.kinds_from + self.kind_room * number + 1

    def write(self) -> None:
        writing = Writing(self.paper, self.head_with_columns)
        lines = [*self.sheet.pickers, *[PickerLine("", "")] * BLANK_LINES]
        for number, line in enumerate(lines, start=1):
            self.picker(writing.down(ROW), number, line)
        writing.head = self.head
        self.shared(writing)
        self.cautions(writing)
        writing.done()

    def head(self, paper: Paper) -> float:
        """Who, where and when; the symbol opens this crew where the page is entered afterwards."""
        sheet, top = self.sheet, A4[1] - 9
        symbols.draw_quiet(paper, symbols.bare(sheet.code), A4[0] - MARGIN - 20, top - 20, 23)
        room = WIDTH - 24
        paper.text(MARGIN, top - 6, sheet.crew, font=BOLD, size=17, room=room - 30, smallest=11)
        paper.text(MARGIN + room, top - 6, sheet.code, font=MONO, size=11, align="right")
        when = ", ".join(filter(None, (date_format(sheet.day, _("l j F Y")), sheet.part_of_day)))
        paper.text(MARGIN, top - 12, when, font=BOLD, size=11, room=room, smallest=8)
        who = _("Block: %(block)s · Supervisor: %(supervisor)s") % {
            "block": sheet.block,
            "supervisor": sheet.supervisor,
        }
        paper.text(MARGIN, top - 17.5, who, size=10, room=room, smallest=7)
        return top - 19

    def head_with_columns(self, paper: Paper) -> float:
        y = self.head(paper)
        tell = _(
            "Tick the box when the tag beside it is given. Another piece: write its tag below the printed one."
        )
        paper.text(MARGIN, y - 3.5, tell, size=8, room=WIDTH - 24, smallest=6)
        heads(paper, y - 9.5, self.columns)
        return y - 9.5

    def picker(self, y: float, number: int, line: PickerLine) -> None:
        paper, (_number, name, badge, *kinds) = self.paper, self.columns
        paper.text(MARGIN + 5, y + 1.7, str(number), size=8, align="right")
        paper.text(name.x, y + 1.7, line.name, size=10, room=name.room - 1, smallest=7)
        paper.text(badge.x, y + 1.8, line.badge, font=MONO, size=badge.size, room=badge.room - 1, smallest=5)
        for column in kinds:
            paper.box(column.x, y + (ROW - BOX) / 2, BOX, BOX)
            tag, room = line.usual.get(column.head, ""), column.room - BOX - 2.6
            paper.text(column.x + BOX + 0.8, y + 3.2, tag, font=MONO, size=TAG_SIZE, room=room, smallest=4)
        rule(paper, y, dark=number % 5 == 0)
        self.between_kinds(y)

    def between_kinds(self, y: float) -> None:
        self.paper.saveState()
        self.paper.setStrokeColor(RULING)
        for number in range(len(self.sheet.kinds)):
            self.paper.upright(self.kind_x(number) - 1, y, ROW)
        self.paper.restoreState()

    def shared(self, writing: Writing) -> None:
        """Gear of the whole crew, three to a line."""
        pieces = [*self.sheet.shared, *[SharedLine("")] * (-len(self.sheet.shared) % SHARED_COLUMNS)]
        if not pieces:
            return
        writing.keep(6 + ROW)
        self.paper.text(MARGIN, writing.down(6) + 1, _("For the whole crew"), font=BOLD, size=9)
        for first in range(0, len(pieces), SHARED_COLUMNS):
            y = writing.down(ROW)
            for number, piece in enumerate(pieces[first : first + SHARED_COLUMNS]):
                self.shared_piece(MARGIN + number * WIDTH / SHARED_COLUMNS, y, piece)
            rule(self.paper, y)

    def shared_piece(self, x: float, y: float, piece: SharedLine) -> None:
        self.paper.box(x, y + (ROW - BOX) / 2, BOX, BOX)
        self.paper.text(x + 5, y + 1.8, piece.kind, size=9, room=32, smallest=6.5)
        self.paper.text(x + 38, y + 1.8, piece.tag, font=MONO, size=8, room=22, smallest=6)

    def cautions(self, writing: Writing) -> None:
        if self.sheet.ladders:
            writing.keep(len(LADDER_CAUTIONS) * 3.8 + 1)
            writing.down(1)
            for caution in LADDER_CAUTIONS:
                self.paper.text(MARGIN, writing.down(3.8) + 0.8, _(caution), size=8, room=WIDTH, smallest=6)
