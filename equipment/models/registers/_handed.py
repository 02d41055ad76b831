"""A line of the handout register: pieces that went out together, or a kit line that was waived."""

from collections.abc import Hashable, Iterable, Iterator, Mapping
from dataclasses import dataclass
from datetime import datetime
from operator import itemgetter
from typing import Any

from equipment.domain import gate
from equipment.domain.words import gettext_noop
from equipment.models.book import Entry
from equipment.models.gear import Item
from equipment.models.registers._phrases import phrase, word
from equipment.models.registers._stays import Stay
from equipment.models.registers.base import Beside, Cell, Line, Named
from equipment.models.registers.reading import where

FOR_THE_CREW = gettext_noop("for the crew")
WITHOUT = gettext_noop("waived: does without")
OVERRIDE = gettext_noop("went out by override:")
REASONS: Mapping[str, str] = {**gate.WORDS, "picker_left": gettext_noop("the picker was in no crew")}
ENDS: Mapping[str, str] = {
    "handed_out": gettext_noop("passed on"),
    "missed": gettext_noop("missed"),
    "written_off": gettext_noop("written off"),
}
HANDS: Mapping[str, str] = {"left": gettext_noop("left"), "right": gettext_noop("right")}


@dataclass(frozen=True, slots=True)
class Given:
    """A hand-out with what became of it, or (`stay` None) a kit line that was waived."""

    row: Entry
    stay: Stay | None
    remarks: tuple[Cell, ...]

    @property
    def together(self) -> Hashable:
        """What must be alike of pieces in one line: whom for, whom from, from which set, how it ended, and what else is
        to be said of them; a note is its own entry's."""
        row, stay = self.row, self.stay
        if stay is None:
            return row.pk
        ended = stay.ended and stay.ended[0]
        return row.crew_id, row.picker_id, row.by_id, row.store_id, stay.set, ended, self.remarks

    @property
    def back(self) -> datetime:
        return self.stay.ended[1] if self.stay and self.stay.ended else self.row.happened_at


def line_of(some: list[Given]) -> Line:
    row = some[0].row
    cells = _handed_out(some) if row.verb == "handed_out" else _waived(some[0])
    return Line(row.pk, row.happened_at, where(row), cells, tuple(each.row.pk for each in some[1:]))


def _handed_out(some: list[Given]) -> tuple[Cell, ...]:
    row, stay = some[0].row, some[0].stay
    assert stay is not None  # noqa: S101 only what was waived has none
    in_set = (phrase(gettext_noop("set %(set)s"), set=stay.set),) if stay.set else ()
    return (
        row.happened_at,
        Named("crew", row.crew_id or ""),
        Named("picker", row.picker_id) if row.picker_id else word(FOR_THE_CREW),
        (Beside((*_pieces(some), *in_set), "; "), *some[0].remarks),
        len(some),
        Named("user", row.by_id),
        _back(some),
    )


def _pieces(some: list[Given]) -> Iterator[Cell]:
    """Of each kind and size the labels, kind by kind, whatever was scanned first."""
    alike: dict[tuple[str, Cell], list[str]] = {}
    for each in sorted(some, key=lambda each: each.row.item.kind_id if each.row.item else ""):
        item: Any = each.row.item
        alike.setdefault((item.kind_id, _size(item)), []).append(str(item.pk))
    for (kind, size), items in alike.items():
        yield Beside((Named("kind", kind), size, Named("tags", " ".join(items))))


def _waived(given: Given) -> tuple[Cell, ...]:
    row = given.row
    return (
        row.happened_at,
        Named("crew", row.crew_id or ""),
        Named("picker", row.picker_id or 0),
        (Beside((Named("kind", row.detail["kind"]), word(WITHOUT)), ", "), *given.remarks),
        None,
        Named("user", row.by_id),
        None,
    )


def _size(item: Item) -> Cell:
    return Beside((item.size, word(HANDS[item.hand])), ", ") if item.hand in HANDS else item.size or None


def _back(some: list[Given]) -> Cell:
    """When the last of them came back; when and how the stay ended in another way."""
    ended = max(
        (each.stay.ended for each in some if each.stay and each.stay.ended), key=itemgetter(1), default=None
    )
    if ended is None:
        return None
    verb, at = ended
    return (at, word(ENDS[verb])) if verb in ENDS else at


def remarks_of(row: Entry) -> tuple[Cell, ...]:
    detail = row.detail
    cells: list[Cell] = [*_giver(detail.get("from"))]
    if detail.get("waived"):
        cells.append(Beside((word(gettext_noop("stands in for")), Named("kind", detail["waived"]))))
    overridden = detail.get("overridden", ())
    said = [code for code in detail.get("verdict", ()) if code not in overridden]
    cells += _reasons(OVERRIDE, overridden)
    cells += _reasons(gettext_noop("said at the gate:"), said)
    return (*cells, *note_of(row))


def _giver(holder: str | None) -> Iterable[Cell]:
    """The opaque holder that a piece was passed on from, see `domain.custody.holder`."""
    if not holder:
        return ()
    sort, _, key = holder.partition(":")
    giver = Named("picker", int(key)) if sort == "picker" else Named("crew", key)
    return (Beside((word(gettext_noop("passed on by")), giver)),)


def _reasons(head: str, codes: Iterable[str]) -> list[Cell]:
    words = tuple(word(REASONS.get(code, code)) for code in codes)
    return [Beside((word(head), Beside(words, ", ")))] if words else []


def note_of(row: Entry) -> tuple[Cell, ...]:
    return (Named("note", str(row.pk), row.note_digest),) if row.note_digest else ()
