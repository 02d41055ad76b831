"""What was lost, worn out and mended, by crew and kind. Crews stand in the order of their names: this ranks nobody."""

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from datetime import date

from django.utils.translation import gettext as _

from crews.models import Crew
from equipment.documents.charts import Figures
from equipment.documents.charts.bars import Bar, Bars
from equipment.documents.figures.base import DRAWN, Around, Figure, number, plain, span
from equipment.domain.figures import Rate
from equipment.models.charts import Window
from equipment.models.figures import Cost, costs, use_by_crew
from equipment.models.registers import Asked

SOLID, HATCHED, EMPTY = 0, 1, 2
MINUTES = 60


@dataclass(frozen=True, slots=True)
class Line:
    """Of one crew (None: no crew ever had them) and kind. Money is that of the pieces' prices; of mends it is minutes
    at what an hour costs, 0 where nobody said."""

    crew: str | None
    kind: str
    lost: int
    lost_money: float
    worn: int
    worn_money: float
    mends: int
    minutes: int
    mend_money: float
    unpriced: int
    hours: float

    @property
    def money(self) -> float:
        return self.lost_money + self.worn_money + self.mend_money

    @property
    def rate(self) -> Rate:
        """What was lost or worn out, by hours in use."""
        return Rate(self.lost + self.worn, self.hours)


def figures(beside: Around, window: Window) -> list[Figure]:
    """Two aggregate queries over the book, one for the crews' names."""
    names = {crew.pk: crew.name for crew in Crew.objects.all()}
    found = list(_lines(beside, window.first, window.last))
    found.sort(key=lambda line: (line.crew is None, names.get(line.crew or "", ""), beside.order(line.kind)))
    return [_figure(beside, found, names)]


def _lines(beside: Around, first: date, last: date) -> Iterator[Line]:
    asked = Asked(first, last)
    hours: dict[tuple[str | None, str], float] = {}
    for use in use_by_crew(min(beside.at, asked.until), asked.since, beside.stopping):
        hours[use.crew, use.kind] = hours.get((use.crew, use.kind), 0.0) + use.recent_hours
    by_line: dict[tuple[str | None, str], list[Cost]] = {}
    for cost in costs(first, last):
        by_line.setdefault((cost.crew, cost.kind), []).append(cost)
    for (crew, kind), of_line in by_line.items():
        yield _line_of(beside, crew, kind, of_line, hours.get((crew, kind), 0.0))


def _line_of(beside: Around, crew: str | None, kind: str, found: Sequence[Cost], hours: float) -> Line:
    def total(column: str, *what: str) -> float:
        return sum(getattr(cost, column) for cost in found if cost.what in what)

    minutes = int(total("minutes", "mended"))
    return Line(
        crew,
        kind,
        int(total("times", "lost")),
        total("money", "lost"),
        int(total("times", "worn", "other")),
        total("money", "worn", "other"),
        int(total("times", "mended")),
        minutes,
        beside.chosen.hour_cost * minutes / MINUTES,
        sum(cost.unpriced for cost in found),
        hours,
    )


def _figure(beside: Around, found: Sequence[Line], names: Mapping[str, str]) -> Figure:
    head = (
        _("Crew"),
        _("Kind"),
        _("Lost"),
        _("their price"),
        _("Worn out"),
        _("their price"),
        _("Mends"),
        _("Minutes"),
        _("In 1,000 hours in use"),
        _("95 % limits"),
    )
    return Figure(
        "costs",
        _("What gear cost, by crew and kind"),
        _(
            "Lost, stolen and disputed pieces, and those written off as worn out, broken or for another reason, at "
            "their price; a piece counts for the crew that had it last. It proves no debt of anyone, and crews that "
            "pick longer lose more: so the last columns say how many were lost or worn out in 1,000 hours in use, "
            "with exact 95 % limits. Lines whose limits overlap do not differ as far as the book tells."
        ),
        _("Nothing was written off or mended in these days."),
        Figures(
            head,
            [_row(beside, each, names) for each in found],
            _bars(beside, found, names),
            len(found[DRAWN:]),
            2,
        ),
        [_line(each) for each in found],
        says=_sentences(beside, found),
        links=[
            (_("The losses, line by line"), "register", "losses"),
            (_("The faults and mends, line by line"), "register", "faults"),
        ],
    )


def _row(beside: Around, each: Line, names: Mapping[str, str]) -> tuple[str | int, ...]:
    rate = each.rate
    return (
        crew_words(each.crew, names),
        beside.kind(each.kind),
        each.lost,
        number(each.lost_money, 2),
        each.worn,
        number(each.worn_money, 2),
        each.mends,
        each.minutes,
        "–" if rate.per_1000 is None else number(rate.per_1000, 2),
        span(rate.limits, 2),
    )


def crew_words(crew: str | None, names: Mapping[str, str]) -> str:
    return _("no crew") if crew is None else names.get(crew, crew)


def _sentences(beside: Around, found: Sequence[Line]) -> list[str]:
    if not found:
        return []
    words = {
        "lost": number(sum(each.lost_money for each in found), 2),
        "worn": number(sum(each.worn_money for each in found), 2),
        "minutes": number(sum(each.minutes for each in found), 0),
        "unpriced": sum(each.unpriced for each in found),
        "mends": number(sum(each.mend_money for each in found), 2),
    }
    said = [
        _("Lost: %(lost)s. To replace what wore out: %(worn)s. Mending took %(minutes)s minutes.") % words
    ]
    if beside.chosen.hour_cost:
        said.append(_("At what an hour of mending costs (set in the rules) that is %(mends)s.") % words)
    if words["unpriced"]:
        said.append(
            _("No price stands in the book for %(unpriced)s of these pieces: they count as nothing.") % words
        )
    return said


def _bars(beside: Around, found: Sequence[Line], names: Mapping[str, str]) -> Bars | None:
    """By money; where no line has a price, by how many pieces and mends."""
    if not found:
        return None
    priced = any(each.money for each in found)
    drawn = [_parts(each, priced) for each in found[:DRAWN]]
    most = max(sum(parts) for parts in drawn) or 1
    rows = [
        Bar(
            f"{crew_words(each.crew, names)}, {beside.kind(each.kind)}",
            [(part / most, pattern) for pattern, part in enumerate(parts)],
            number(sum(parts), 0),
        )
        for each, parts in zip(found, drawn, strict=False)
    ]
    key = ((SOLID, _("lost")), (HATCHED, _("worn out")), (EMPTY, _("mending")))
    return Bars(rows, before=0, behind=72, key=key)


def _parts(each: Line, priced: bool) -> tuple[float, float, float]:
    if priced:
        return each.lost_money, each.worn_money, each.mend_money
    return each.lost, each.worn, each.mends


def _line(each: Line) -> dict[str, object]:
    low, high = each.rate.limits or (None, None)
    return {
        "crew": each.crew,
        "kind": each.kind,
        "lost": each.lost,
        "lost_cost": plain(each.lost_money, 2),
        "worn": each.worn,
        "worn_cost": plain(each.worn_money, 2),
        "mends": each.mends,
        "mend_minutes": each.minutes,
        "mend_cost": plain(each.mend_money, 2),
        "without_price": each.unpriced,
        "hours": plain(each.hours),
        "per_1000_hours": plain(each.rate.per_1000),
        "low": plain(low),
        "high": plain(high),
    }
