"""What of tomorrow's need is served already: by what stays with its holder, and by what is fit for one picker only."""

from collections import Counter
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, field, replace

from equipment.domain.jobs import Gear, serves
from equipment.models.gear import Kind
from equipment.models.planning.need import CrewNeed, Person
from equipment.models.planning.supply import Piece


@dataclass
class Claims:
    """Of one store. `kept` are the pieces asked for that are served so; each picker is served once a kind."""

    needs: Sequence[CrewNeed]
    kinds: Mapping[str, Kind]
    kept: Counter[Gear] = field(default_factory=Counter)
    _served: set[tuple[int, str]] = field(default_factory=set)
    _left: dict[tuple[str, int], int] = field(default_factory=dict)
    _people: dict[int, tuple[CrewNeed, Person]] = field(default_factory=dict)

    def __post_init__(self) -> None:
        for need in self.needs:
            self._people |= {person.picker: (need, person) for person in need.people}
            self._left |= {(need.crew.pk, place): asked.count for place, asked in enumerate(need.asked)}

    def free(self, pieces: Iterable[Piece]) -> list[Piece]:
        """The pieces that serve anybody, once the others have served whom they can; one that is no use to its only
        picker wants what frees it."""
        found = []
        for piece in sorted(pieces, key=lambda piece: (not piece.stays, piece.tag)):
            if piece.stays:
                if not piece.steps:
                    self._hold(piece)
            elif piece.own is None:
                found.append(piece)
            elif not self._pick(piece, piece.own):
                found.append(replace(piece, own=None, steps=piece.frees))
        return found

    def _hold(self, piece: Piece) -> None:
        if piece.picker is not None:
            self._pick(piece, piece.picker)
            return
        need = next((need for need in self.needs if need.crew.pk == piece.crew), None)
        if need:
            self._take(need, piece.gear, ("crew", "spare"))

    def _pick(self, piece: Piece, picker: int) -> bool:
        kind = piece.gear.kind
        if picker not in self._people or (picker, kind) in self._served:
            return False
        need, person = self._people[picker]
        if not self._take(need, person.gear(self.kinds[kind]), ("picker",)):
            return False
        self._served.add((picker, kind))
        return True

    def _take(self, need: CrewNeed, gear: Gear, holders: Sequence[str]) -> bool:
        for place, asked in enumerate(need.asked):
            key = (need.crew.pk, place)
            if asked.holder in holders and self._left[key] and serves(gear, asked.gear):
                self._left[key] -= 1
                self.kept[asked.gear] += 1
                return True
        return False
