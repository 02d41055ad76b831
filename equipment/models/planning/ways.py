"""The ways to make a piece fit tonight: its steps with their minutes, and for a dip the baths that it may go into.

For an ordinary dip: a bath that stands ready and has room, the first recipe of its kind mixed anew, or what is used as
it comes, wiped on. A recipe that asks for a product of a certain pH is offered only where a disease asks for it.
"""

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass, field
from datetime import datetime
from uuid import UUID

from equipment.domain.bath import good_until
from equipment.domain.jobs import Bath, Job
from equipment.domain.rules import RecipeRule, Rules
from equipment.domain.sealing import killed
from equipment.models.planning.supply import Piece, Step
from equipment.models.planning.work import Minutes
from equipment.models.washing import StandingBath


@dataclass(frozen=True, slots=True)
class Dip:
    """What a bath of the plan is: a recipe, and the bath itself where it stands ready; `room` for so many pieces, None
    where nobody can say."""

    recipe: RecipeRule
    own: UUID | None = None
    until: datetime | None = None
    room: int | None = None


@dataclass
class Ways:
    """Of one store. `dips`: what each bath that the jobs name is."""

    rules: Rules
    minutes: Minutes
    standing: Sequence[StandingBath] = ()
    dips: dict[Bath, Dip] = field(default_factory=dict)
    _taken: dict[UUID, int] = field(default_factory=dict)

    def jobs(self, pieces: Sequence[Piece]) -> list[Job]:
        """Those of all pieces, the quickest first; no room of a standing bath is offered twice."""
        rest = {piece.tag: self._rest(piece) for piece in pieces}
        able = [piece for piece in pieces if rest[piece.tag] is not None]
        ordered = sorted(able, key=lambda piece: (rest[piece.tag], piece.tag))
        return [job for piece in ordered for job in self._of(piece, rest[piece.tag] or 0)]

    def _rest(self, piece: Piece) -> float | None:
        """The minutes of all but the dip; None where it cannot be made fit tonight."""
        told = [self.minutes.of(step, piece.gear.kind) for step in piece.steps if step.what != "sterilise"]
        return None if None in told else sum(each or 0 for each in told)

    def _of(self, piece: Piece, rest: float) -> Iterator[Job]:
        dip = next((step for step in piece.steps if step.what == "sterilise"), None)
        if dip is None:
            yield Job(piece.tag, piece.gear, rest)
            return
        if self._washed_of(dip, piece.gear.kind):
            yield Job(piece.tag, piece.gear, rest + (self.minutes.of(Step("wash"), piece.gear.kind) or 0))
        for bath in self._baths(dip, piece.gear.kind):
            hands = self.minutes.of(dip, piece.gear.kind, self.dips[bath].recipe.code) or 0
            yield Job(piece.tag, piece.gear, rest + hands, bath)

    def _washed_of(self, dip: Step, kind: str) -> bool:
        """Whether washing ends all that it is flagged for."""
        clears = self.rules.clears
        return bool(dip.name) and all(
            any(way.method == "wash" for way in clears.get(disease, ())) for disease in dip.name.split()
        )

    def _baths(self, dip: Step, kind: str) -> Iterator[Bath]:
        recipes = [each for each in self._recipes(kind) if _ends(each, dip, self.rules)]
        codes = {recipe.code: recipe for recipe in recipes}
        for standing in self.standing:
            recipe = codes.get(standing.state.recipe)
            if recipe and self._room(standing):
                self._taken[standing.own] = self._taken.get(standing.own, 0) + 1
                yield self._standing(standing, recipe)
        plain = [each for each in recipes if dip.name or each.ph_low is None]
        to_mix = [each for each in plain if not each.ready_to_use][:1]
        for recipe in [*to_mix, *(each for each in plain if each.ready_to_use)]:
            bath = Bath(recipe.code, self.minutes.mixing(recipe.code))
            self.dips.setdefault(bath, Dip(recipe))
            yield bath

    def _recipes(self, kind: str) -> Iterator[RecipeRule]:
        rows = self.rules.recipes.values()
        return (recipe for recipe in rows if recipe.method == "sterilise" and kind in recipe.kinds)

    def _room(self, standing: StandingBath) -> bool:
        capacity = standing.state.capacity
        return capacity is None or standing.dipped + self._taken.get(standing.own, 0) < capacity

    def _standing(self, standing: StandingBath, recipe: RecipeRule) -> Bath:
        bath = Bath(str(standing.own), 0)
        capacity = standing.state.capacity
        room = None if capacity is None else capacity - standing.dipped
        self.dips.setdefault(bath, Dip(recipe, standing.own, good_until(standing.state), room))
        return bath


def _ends(recipe: RecipeRule, dip: Step, rules: Rules) -> bool:
    """Whether such a dip, as long as the recipe asks, ends all that the piece is flagged for."""
    ended = killed(recipe, recipe.contact_seconds or 0, rules.clears) if dip.name else ()
    return set(dip.name.split()) <= set(ended)


def litres(dip: Dip, pieces: int) -> int | None:
    """The fewest whole litres that take so many pieces; None where the recipe does not say."""
    per_litre = dip.recipe.items_per_litre
    return -(-pieces // per_litre) if per_litre else None


def by_bath(jobs: Sequence[Job]) -> Mapping[Bath, int]:
    """How many pieces go into each bath, in the order of the jobs."""
    found: dict[Bath, int] = {}
    for job in jobs:
        if job.bath:
            found[job.bath] = found.get(job.bath, 0) + 1
    return found
