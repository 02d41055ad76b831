"""Are the lines at which the book stood still the ends of that very book?"""

from collections.abc import Mapping
from dataclasses import dataclass
from uuid import UUID

from equipment.models import Entry, Printing

# Of the other printings, the newest so many are asked how far the book is still theirs.
WITNESSES = 500


@dataclass(frozen=True, slots=True)
class Rewritten:
    """The line at `position` of a store's book bears another digest than was printed. `entry` is the one that stands
    there now. Up to `good` (0: not known) the book is as another printing, of the code `witness`, has it."""

    store: str
    position: int
    printed: str
    digest: str
    entry: UUID
    good: int = 0
    witness: str = ""


def rewritten(printing: Printing) -> tuple[Rewritten, ...]:
    """A chain that fits together and ends in another digest was written anew: only the paper can tell."""
    found = []
    for store, (position, printed) in printing.at_heads.items():
        row = Entry.objects.filter(store=store, position=position).values_list("digest", "id").first()
        if row and row[0] != printed:
            found.append(Rewritten(store, position, printed, *row, *_still_good(printing, store, position)))
    return tuple(found)


def _still_good(printing: Printing, store: str, position: int) -> tuple[int, str]:
    """The last head before `position` that some other printing bears and the book still has; and its code."""
    rows = Printing.objects.exclude(pk=printing.pk).only("number", "heads").order_by("-number")[:WITNESSES]
    printed: Mapping[int, tuple[str, str]] = {
        place: (seal, other.code)
        for other in rows
        for place, seal in [other.at_heads.get(store, (0, ""))]
        if 0 < place < position
    }
    known = Entry.objects.filter(store=store, position__in=printed).values_list("position", "digest")
    good = [place for place, seal in known if printed[place][0] == seal]
    return (max(good), printed[max(good)][1]) if good else (0, "")
