"""What stands under a register's last line: what it adds up to, who signs, and the state of the book in full."""

from collections.abc import Sequence
from typing import TYPE_CHECKING

from django.utils.translation import gettext as _

from equipment.documents.fonts import BOLD, MONO, PLAIN
from equipment.documents.registers.facts import Facts
from equipment.documents.registers.setting import broken

if TYPE_CHECKING:
    from equipment.documents.registers.pdf import Table

BODY, SMALL = 9.0, 7.0
STEP, SMALL_STEP, SIGN, STORE, AIR = 4.2, 3.3, 13.0, 18.0, 9.0
GROUP = 8


class Ends:
    """Written under the table, on a further page where this one has no room."""

    def __init__(self, table: "Table", facts: Facts) -> None:
        self.table, self.facts, self.leaves = table, facts, table.leaves
        self.left, self.right = table.face.left, table.face.right

    def draw(self, sentences: Sequence[str]) -> None:
        """All of it on one page, where a page can hold it."""
        said = [
            (line, BOLD if number == 0 else PLAIN)
            for number, sentence in enumerate(sentences)
            for line in broken(sentence, self.right - self.left, BOLD, BODY)
        ]
        stores = len(self.facts.heads) + 3
        height = len(said) * STEP + len(self.facts.register.signatures) * SIGN + stores * SMALL_STEP + AIR
        self.table.keep(height if height < self.leaves.height / 2 else 2 * STEP)
        self.table.mark(_("Totals and signatures"))
        self.table.y -= 2
        for line, font in said:
            self._line(line, font)
        self._signatures()
        self._book()

    def _line(self, text: str, font: str) -> None:
        self.table.keep(STEP)
        self.table.y -= STEP
        self.leaves.text(self.left, self.table.y, text, font=font, size=BODY)

    def _signatures(self) -> None:
        """A name, a signature and a day for each who signs."""
        places = (_("Name"), _("Signature"), _("Date"))
        room = (self.right - self.left - 34) / len(places)
        for who in self.facts.register.signatures:
            self.table.keep(SIGN)
            self.table.y -= SIGN
            y = self.table.y
            self.leaves.text(self.left, y + 0.8, _(who), font=BOLD, size=BODY, room=32, smallest=6)
            for number, place in enumerate(places):
                x = self.left + 34 + number * room
                self.leaves.rule(y, x, x + room - 4, 0.6)
                self.leaves.text(x, y - 3, place, size=SMALL)
        self.table.y -= 5

    def _book(self) -> None:
        """The heads and the digest whole: the paper is the witness of them."""
        rows = [*self.facts.lasting(), (_("Digest"), self.facts.digest)]
        self.table.keep(SMALL_STEP * 3)
        self.table.y -= SMALL_STEP + 1
        head = _("The book as it stood when this was printed: each store's last line and its digest")
        self.leaves.text(self.left, self.table.y, head, font=BOLD, size=SMALL, room=self.right - self.left)
        for name, digest in rows:
            self.table.keep(SMALL_STEP)
            self.table.y -= SMALL_STEP
            y = self.table.y
            self.leaves.text(self.left, y, name, size=SMALL, room=STORE + 12, smallest=5)
            grouped = " ".join(digest[at : at + GROUP] for at in range(0, len(digest), GROUP))
            room = self.right - self.left - STORE - 14
            self.leaves.text(
                self.left + STORE + 14, y, grouped, font=MONO, size=SMALL - 0.5, room=room, smallest=4
            )
