"""The head and the foot of a register's pages.

The head says what it is, of which days and limited to what, with its notes and cautions; the later pages' in one line.
The foot ties the paper to the book: printing, state of the stores' books, digest, and a symbol that says the same.
"""

from collections.abc import Sequence

from django.conf import settings
from django.utils.translation import gettext as _
from reportlab.lib.units import mm
from reportlab.lib.utils import ImageReader

from equipment.documents import symbols
from equipment.documents.fonts import BOLD, BY_HAND, MONO, PLAIN
from equipment.documents.registers.cautioned import cautions
from equipment.documents.registers.facts import Facts
from equipment.documents.registers.leaves import Leaves
from equipment.documents.registers.logo import logo
from equipment.documents.registers.setting import broken

LOGO = (56.0, 18.0)
SYMBOL, FOOT, EDGE = 23.0, 25.0, 7.0
TITLE, PERIOD, BODY, CAUTION, SMALL = 18.0, 11.0, 8.5, 7.5, 7.0
LATER_HEAD = 15.5
FOOT_FORM, HEAD_CHARACTERS = "foot", 12
# Height of a line in mm, by the points of its type.
STEP_A_POINT = 0.42


class Face:
    def __init__(self, leaves: Leaves, facts: Facts, margin: float) -> None:
        self.leaves, self.facts, self.left = leaves, facts, margin
        self.right = leaves.width - margin
        self.end = EDGE + FOOT
        self.count_type = (BOLD, SMALL)
        self._draw_foot()

    def first(self) -> float:
        """The head of the first page; the height at which the table begins."""
        leaves, facts, top = self.leaves, self.facts, self.leaves.height - 10
        room = self.right - self.left - self._logo(top)
        y = self._lines(top, [settings.FARM_NAME], BOLD, 10, room)
        header = [line.strip() for line in settings.FARM_HEADER.split("|")]
        y = self._lines(y, [line for line in header if line], PLAIN, BODY, room)
        y = self._lines(y - 1.5, [facts.title], BOLD, TITLE, room)
        y = self._lines(y, [facts.period], BOLD, PERIOD, room)
        y = self._lines(y, [facts.limited], PLAIN, BODY, room)
        if self.logo_height:
            y = min(y, top - self.logo_height)
        whole = self.right - self.left
        y = self._lines(y - 0.8, [_(note) for note in facts.register.notes], PLAIN, BODY, whole)
        y = self._cautions(y - 0.4, cautions(facts.register.cautions))
        leaves.bookmarkHorizontalAbsolute("top", leaves.height * mm)
        leaves.addOutlineEntry(facts.title, "top")
        return y - 2.5

    @property
    def later_room(self) -> float:
        """Between the head and the foot of a further page."""
        return self.leaves.height - LATER_HEAD - self.end

    def later(self) -> float:
        """The head of a further page."""
        said = f"{self.facts.title} · {self.facts.period} · {self.facts.limited} · {settings.FARM_NAME}"
        y = self.leaves.height - LATER_HEAD + 2.5
        self.leaves.text(self.left, y, said, font=BOLD, size=BODY, room=self.right - self.left)
        return y - 2.5

    def foot(self) -> None:
        """Of this page: what all pages share, its number, and what is to be written by hand."""
        leaves, y = self.leaves, EDGE + FOOT - 5.2
        by_hand = leaves.by_hand
        leaves.doForm(FOOT_FORM)
        count = _("page %(number)d of") % {"number": leaves.number}
        end = self.right - leaves.stringWidth("0" * 5, *self.count_type) / mm
        leaves.text(end - 0.8, y, count, font=BOLD, size=SMALL, align="right")
        leaves.show_count(end, y)
        if by_hand:
            note = _("%(gap)s: no type for these letters, write them by hand") % {"gap": BY_HAND}
            leaves.text(self.right, EDGE - 0.8, note, size=SMALL - 1, align="right")

    def _logo(self, top: float) -> float:
        """Drawn in the upper right corner; how much room it takes from what stands to its left."""
        picture, _problem = logo()
        self.logo_height = 0.0
        if picture is None:
            return 0.0
        scale = min(LOGO[0] / picture.width, LOGO[1] / picture.height)
        width, self.logo_height = picture.width * scale, picture.height * scale
        x, y = self.right - width, top - self.logo_height
        self.leaves.drawImage(ImageReader(picture), x * mm, y * mm, width * mm, self.logo_height * mm)
        return width + 4

    def _cautions(self, y: float, said: Sequence[str]) -> float:
        """A paragraph for each topic, under a heading of their own."""
        if not said:
            return y
        y = self._lines(y, [_("Take care")], BOLD, CAUTION, self.right - self.left)
        return self._lines(y, [f"• {each}" for each in said], PLAIN, CAUTION, self.right - self.left)

    def _lines(self, y: float, texts: Sequence[str], font: str, size: float, room: float) -> float:
        """Texts one under the other, wrapped, from the margin on; the height below them."""
        for text in texts:
            for line in broken(text, room, font, size):
                y -= size * STEP_A_POINT
                self.leaves.text(self.left, y, line, font=font, size=size)
        return y

    def _draw_foot(self) -> None:
        """Once: every page shows the same form."""
        leaves, x, y = self.leaves, self.left, EDGE + FOOT - 5.2
        leaves.beginForm(FOOT_FORM)
        leaves.rule(EDGE + FOOT - 1.5, self.left, self.right, 0.8)
        symbols.draw_quiet(leaves, symbols.url(self.facts.symbol), x - 1.5, EDGE - 0.5, SYMBOL)
        x += SYMBOL
        leaves.text(x, y, self.facts.code, font=MONO, size=9)
        printed = f"{self.facts.title} · {self.facts.printed}"
        leaves.text(x + 24, y, printed, font=BOLD, size=SMALL, room=self.right - x - 24 - 30)
        room = self.right - x
        y = self._small(x, y - 1, _("The book stood at"), self._heads(), room, 3)
        y = self._small(x, y, _("Digest of the lines"), self.facts.digest, room, 2)
        tell = _(
            "Scan the symbol, or type the code under Verify: it says whether this paper agrees with the book."
        )
        for line in broken(tell, room, PLAIN, SMALL)[:2]:
            y -= SMALL * STEP_A_POINT + 0.4
            leaves.text(x, y, line, size=SMALL)
        leaves.endForm()

    def _small(self, x: float, y: float, name: str, text: str, room: float, most: int) -> float:
        """A name and what may take `most` lines of small type after it; cut short with "…"."""
        after = self.leaves.stringWidth(f"{name}  ", PLAIN, SMALL) / mm
        lines = broken(text, room - after, MONO, SMALL - 1)
        if len(lines) > most:
            lines = (*lines[: most - 1], f"{lines[most - 1][:-1]}…")
        for number, line in enumerate(lines):
            y -= SMALL * STEP_A_POINT
            if number == 0:
                self.leaves.text(x, y, name, size=SMALL)
            self.leaves.text(x + after, y, line, font=MONO, size=SMALL - 1)
        return y

    def _heads(self) -> str:
        """Position and the beginning of the digest, a store each; in full they stand at the end."""
        if not self.facts.heads:
            return _("nothing: the book is empty")
        return " · ".join(f"{where} {digest[:HEAD_CHARACTERS]}" for where, digest in self.facts.lasting())
