"""One working day of the season, and the things that every hour of it needs."""

from collections import Counter
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field
from datetime import date, datetime, time, timedelta
from random import Random
from typing import Any, TypeVar
from uuid import UUID

from django.utils import timezone

from crews.models import DayPlan
from equipment.actions.simulate.farm import Farm, Person, Piece, Team
from equipment.actions.simulate.scribe import Scribe

T = TypeVar("T")


@dataclass(slots=True)
class Day:
    """`number` counts the working days from 0, `seed` is the season's. `plans` by crew are those not cancelled;
    `tomorrow` the same of the next working day. `happens` says how often what happens, and is used up; `undone` are
    pieces scanned by mistake."""

    number: int
    date: date
    farm: Farm
    scribe: Scribe
    random: Random
    plans: Mapping[str, Sequence[DayPlan]]
    tomorrow: Mapping[str, Sequence[DayPlan]]
    happens: Counter[str]
    work_ends: str = "15:30"
    seed: int = 714
    undone: set[UUID] = field(default_factory=set)

    def at(self, clock: str, seconds: float = 0) -> datetime:
        """A time of this day on the farm's clock, "05:30", and so many seconds later. UTC-aware."""
        hour, minute = (int(part) for part in clock.split(":"))
        local = timezone.make_aware(datetime.combine(self.date, time(hour, minute)))
        return local + timedelta(seconds=seconds)

    def a_while(self, least: float, most: float) -> timedelta:
        return timedelta(microseconds=self.random.randint(int(least * 1e6), int(most * 1e6)))

    def comes(self, what: str, among: int = 1) -> bool:
        """Whether `what` happens now, once for each time it is on the day's list. Of many occasions (`among`) it
        takes one of the earlier ones."""
        if self.happens[what] and not self.random.randrange(max(1, among // 8)):
            self.happens[what] -= 1
            return True
        return False

    def some(self, things: Sequence[T]) -> T | None:
        return self.random.choice(things) if things else None

    def teams(self, store: str) -> list[Team]:
        """The crews that draw their gear from `store` and have something to pick today."""
        return [team for team in self.farm.teams if team.crew.store_id == store and self.plans.get(team.code)]

    def hand_out(self, at: datetime, piece: Piece, to: Person | Team, **fields: Any) -> Any:
        """Give and write it down; the id of the entry."""
        team = to.team if isinstance(to, Person) else to
        if isinstance(to, Person):
            fields |= {"picker": to.picker.pk, "wants": to.wants(self.farm.kinds[piece.kind])}
        self.farm.give(piece, to, self.number)
        return self.scribe.line(at, team.crew.store_id, "handed_out", item=piece.id, crew=team.code, **fields)

    def take_back(self, at: datetime, piece: Piece, store: str, **fields: Any) -> Any:
        crew = crew_of(piece)
        self.farm.put(piece, store)
        return self.scribe.line(at, store, "returned", item=piece.id, crew=crew, **fields)

    def write(self, at: datetime, piece: Piece, verb: str, **fields: Any) -> Any:
        """Anything else that happens to a piece, in the book of its store."""
        return self.scribe.line(at, piece.store, verb, item=piece.id, **fields)


def crew_of(piece: Piece) -> str | None:
    """The crew of whoever holds the piece."""
    if isinstance(piece.holder, Person):
        return piece.holder.team.code
    return piece.holder.code if piece.holder else None
