"""One trace of one disease: the book asked, and the rows of what was reached."""

from collections import defaultdict
from collections.abc import Collection, Iterable, Mapping, Sequence
from dataclasses import dataclass
from datetime import datetime
from functools import cached_property
from uuid import UUID

from django.db.models import Q, QuerySet
from django.utils import timezone

from crews.models import Crew, DayPlan
from equipment.actions.set_rule import values_at
from equipment.catalogue.rules import carriers
from equipment.catalogue.shapes import Disease
from equipment.domain.disease_trace import Life, Question, Reach, Trace, follow
from equipment.domain.visits import LONGEST_UNTOLD
from equipment.models import ItemState, Kind, Visit
from equipment.models.rules import whole
from equipment.models.tracing import TracedBook


@dataclass(frozen=True)
class Found:
    """`rows` of every piece that was reached, `kinds` those of the farm that carry the disease, `carried`: whether any
    gear does by the rule in force at the end of what was followed, `visited`: whether any visit to the
    block since is in the book, `planned` the crews that a day plan sent there all the same."""

    disease: Disease
    question: Question
    trace: Trace
    rows: Mapping[UUID, ItemState]
    kinds: Sequence[Kind]
    carried: bool
    visited: bool = True
    planned: Sequence[Crew] = ()

    @property
    def blocks(self) -> list[tuple[str, Reach]]:
        """Those beside the first one, in order of time."""
        reached = [(node, reach) for node, reach in self.trace.reached.items() if isinstance(node, str)]
        return sorted(
            (each for each in reached if each[0] != self.question.block), key=lambda each: each[1].at
        )

    @property
    def pieces(self) -> list[UUID]:
        """All that were reached, in order of the first time."""
        return sorted(self.lives, key=lambda piece: (self.first_reached(piece), self.tag(piece)))

    @cached_property
    def lives(self) -> Mapping[UUID, Sequence[Life]]:
        """The lives of each piece that were reached, in order."""
        found: dict[UUID, list[Life]] = defaultdict(list)
        for node in self.trace.reached:
            if not isinstance(node, str):
                found[node[0]].append(node)
        return {piece: sorted(lives) for piece, lives in found.items()}

    def first_reached(self, piece: UUID) -> datetime:
        return self.trace.reached[self.lives[piece][0]].at

    @property
    def carrying(self) -> list[UUID]:
        """Those that nothing has cleaned of it since."""
        return [piece for piece in self.pieces if self.trace.carrying(piece)]

    def brought(self, block: str) -> UUID:
        """The piece that came to a reached block first; not for the one where it begins."""
        source = self.trace.reached[block].source
        if source is None or isinstance(source, str):
            raise ValueError(f"Nothing brought it to {block}.")
        return source[0]

    def tag(self, piece: UUID) -> str:
        return self.rows[piece].tag


def diseases() -> Sequence[Disease]:
    return whole().disease


def disease_of(code: str) -> Disease | None:
    return next((disease for disease in diseases() if disease.code == code), None)


def run(disease: Disease, question: Question) -> Found:
    """Where gear may have taken it. A disease that no gear carries reaches nothing, and asks the book nothing."""
    codes = carriers(disease, values_at(f"disease {disease.code}", question.until))
    kinds = list(Kind.objects.filter(pk__in=codes).order_by("name"))
    book = TracedBook(disease.code, [kind.pk for kind in kinds], question.since, question.until)
    trace = follow(book, question)
    pieces = {node[0] for node in trace.reached if not isinstance(node, str)}
    found = Found(disease, question, trace, _rows(pieces, kinds), kinds, bool(codes))
    if pieces or not kinds:
        return found
    visited = _visits(question).exists()
    planned = [] if visited else list(_planned(question))
    return Found(disease, question, trace, {}, kinds, bool(codes), visited, planned)


def _rows(pieces: Collection[UUID], kinds: Iterable[Kind]) -> dict[UUID, ItemState]:
    """Thousands, perhaps: without what nobody asks of them here."""
    rows = ItemState.objects.select_related("item", "store", "picker", "crew")
    found = rows.defer("fold", "reasons", "due", "void").in_bulk(sorted(pieces))
    by_code = {kind.pk: kind for kind in kinds}
    for row in found.values():
        row.item.kind = by_code[row.item.kind_id]
    return found


def _visits(question: Question) -> QuerySet[Visit]:
    begun = Visit.objects.filter(block=question.block, at__lte=question.until)
    never_over = Q(until=None, at__gte=question.since - LONGEST_UNTOLD)
    return begun.filter(Q(until__gte=question.since) | never_over)


def _planned(question: Question) -> QuerySet[Crew]:
    days = timezone.localdate(question.since), timezone.localdate(question.until)
    plans = DayPlan.objects.filter(block=question.block, date__range=days)
    crews = plans.exclude(state=DayPlan.State.CANCELLED).values("crew")
    return Crew.objects.filter(pk__in=crews).order_by("name")
