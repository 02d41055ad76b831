"""Where labels and cards lie on paper, as data. All in millimetres.

The sheets are the common sizes of plain label paper; a farm measures its own and, where it differs, adds a line.
"""

from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from itertools import count

from django.utils.translation import gettext as _

from equipment.documents.page import A4, Foot

# What a printer cannot reach, and the height of the foot's line.
EDGE, FOOT_HEIGHT = 4.3, 2.6
TURNED_FROM = 20


@dataclass(frozen=True)
class Layout:
    """`columns` by `rows` labels of `width` by `height` on A4, the first one `left` and `top` from the corner."""

    columns: int
    rows: int
    width: float
    height: float
    left: float
    top: float
    gap_x: float = 0
    gap_y: float = 0

    @property
    def name(self) -> str:
        return f"{self.places} of {self.width:g} x {self.height:g} mm"

    @property
    def places(self) -> int:
        return self.columns * self.rows

    @property
    def foot(self) -> Foot:
        """In the margin below the labels, or beside them where that one is wider."""
        if self.top >= EDGE + FOOT_HEIGHT:
            return Foot(self.left, max(EDGE + 1, self.top - 5), A4[0] - 2 * self.left)
        return Foot(self.left - 0.8, TURNED_FROM, A4[1] - 2 * TURNED_FROM, turned=True)

    def corner(self, place: int) -> tuple[float, float]:
        """Lower left corner of `place`: 1 is top left, counted along the rows."""
        row, column = divmod(place - 1, self.columns)
        x = self.left + column * (self.width + self.gap_x)
        return x, A4[1] - self.top - self.height - row * (self.height + self.gap_y)

    def free_places(self, start: int, used: frozenset[int]) -> Iterator[tuple[int, int]]:
        """(sheet, place) without end: from `start` on and without `used` on the first sheet, all of the later ones.

        Raises ValueError where a place is not on the sheet, or none is left.
        """
        if outside := sorted(place for place in {start, *used} if not 1 <= place <= self.places):
            message = _("This sheet has places 1 to %(last)d; there is no place %(place)d.")
            raise ValueError(message % {"last": self.places, "place": outside[0]})
        first = [(1, place) for place in range(start, self.places + 1) if place not in used]
        if not first:
            raise ValueError(_("No place is left on this sheet. Take a new one and start at place 1."))
        yield from first
        for sheet in count(2):
            yield from ((sheet, place) for place in range(1, self.places + 1))


LAYOUTS: Mapping[str, Layout] = {
    layout.name: layout
    for layout in (
        Layout(3, 8, 64, 33.9, left=7, top=12.9, gap_x=2),
        Layout(3, 7, 63.5, 38.1, left=7.2, top=15.15, gap_x=2.55),
        Layout(3, 4, 63.5, 72, left=7.2, top=4.5, gap_x=2.55),
        Layout(2, 7, 99.1, 38.1, left=4.65, top=15.15, gap_x=2.5),
        Layout(5, 13, 38.1, 21.2, left=4.75, top=10.7, gap_x=2.5),
    )
}
# Plain sticky paper, cut apart along the crosses.
TINY = Layout(11, 15, 17, 18, left=11.5, top=13.5)
# ISO/IEC 7810 ID-1, the size of a bank card.
CARDS = Layout(2, 5, 85.6, 54, left=14.4, top=13.5, gap_x=10)


@dataclass(frozen=True)
class Roll:
    """A label roll: one label is one page."""

    width: float
    height: float

    @property
    def name(self) -> str:
        return f"{self.width:g} x {self.height:g} mm"


ROLLS: Mapping[str, Roll] = {roll.name: roll for roll in (Roll(50, 25), Roll(62, 29), Roll(40, 20))}
TINY_ROLLS: Mapping[str, Roll] = {roll.name: roll for roll in (Roll(25, 15), Roll(17, 18), Roll(40, 20))}
