"""What to buy for the coming weeks, by kind, size and hand."""

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import timedelta

from django.utils.translation import gettext as _

from equipment.documents.charts import Figures
from equipment.documents.charts.bars import Bar, Bars
from equipment.documents.figures.base import DRAWN, Around, Figure, number, plain
from equipment.documents.figures.spares import RECENT
from equipment.domain.figures import Purchase, Rate, prior, purchase
from equipment.models.figures import Sort, Stock, busiest, left, stock, use_by_crew

WEEK = timedelta(days=7)
SOLID, HATCHED = 0, 1


@dataclass(frozen=True, slots=True)
class Line:
    sort: Sort
    left: Rate
    planned: float
    stock: Stock
    bought: Purchase


def figures(beside: Around) -> list[Figure]:
    """Two aggregate queries over the book, and two that are small."""
    return [_figure(beside, lines(beside))]


def lines(beside: Around) -> list[Line]:
    """Every sort that has been in use of late, in order."""
    hours, recent = _hours(beside)
    gone, there = left(beside.at), stock()
    needed = {
        (each.kind, each.size, each.hand): each.pieces for each in busiest(beside.at, beside.at - RECENT)
    }
    kinds: dict[str, Rate] = {}
    for sort, of_sort in hours.items():
        known = kinds.get(sort[0], Rate(0, 0.0))
        kinds[sort[0]] = Rate(known.seen + gone.get(sort, 0), known.hours + of_sort)
    found = []
    for sort in sorted(hours, key=lambda sort: (beside.order(sort[0]), sort)):
        own, whole = Rate(gone.get(sort, 0), hours[sort]), kinds[sort[0]]
        if not own.hours or not recent[sort]:
            continue
        lying = there.get(sort, Stock(0, 0))
        if not whole.seen:
            found.append(Line(sort, own, 0.0, lying, Purchase(0.0, 0, needed.get(sort, 0), lying.there)))
            continue
        before = prior(Rate(whole.seen - own.seen, whole.hours - own.hours))
        planned = recent[sort] * beside.chosen.weeks / (RECENT / WEEK)
        bought = purchase(own, before, planned, beside.chosen.level, needed.get(sort, 0), lying.there)
        found.append(Line(sort, own, planned, lying, bought))
    return found


def _hours(beside: Around) -> tuple[dict[Sort, float], dict[Sort, float]]:
    """Hours in use of all time, and of the last weeks."""
    hours: dict[Sort, float] = {}
    recent: dict[Sort, float] = {}
    for use in use_by_crew(beside.at, beside.at - RECENT, beside.stopping):
        sort = (use.kind, use.size, use.hand)
        hours[sort] = hours.get(sort, 0.0) + use.hours
        recent[sort] = recent.get(sort, 0.0) + use.recent_hours
    return hours, recent


def _figure(beside: Around, found: Sequence[Line]) -> Figure:
    words = {"level": number(100 * beside.chosen.level, 0), "weeks": beside.chosen.weeks}
    head = (
        _("Gear"),
        _("Out on the busiest day"),
        _("Usable"),
        _("To be mended"),
        _("Leave, expected"),
        _("Leave, at most"),
        _("Buy"),
    )
    return Figure(
        "purchases",
        _("What to buy"),
        _(
            "For the next %(weeks)s weeks, as much picked as in the last 28 days, so that it is enough in %(level)s "
            "of 100 cases (both set in the rules). What leaves is what was written off before, by hours in use; "
            "where little is known, the rest of the kind counts like one piece more, and of a kind that nothing has "
            "left yet, nothing is expected to leave. Buy what lacks for the busiest day. Pieces to be mended do not "
            "count: mend them first, and buy less."
        )
        % words,
        _("No gear has been in use in the last 28 days: nothing can be reckoned."),
        Figures(head, [_row(beside, each) for each in found], _bars(beside, found), len(found[DRAWN:])),
        [_line(each) for each in found],
        says=_sentences(beside, found),
        links=[
            (_("The losses, line by line"), "register", "losses"),
            (_("All gear"), "gear", ""),
        ],
    )


def _sentences(beside: Around, found: Sequence[Line]) -> list[str]:
    said = _("Buy %(n)s: %(gear)s.")
    wanted = [
        said % {"n": each.bought.buy, "gear": beside.sort(each.sort)} for each in found if each.bought.buy
    ]
    return wanted or ([_("There is enough of everything.")] if found else [])


def _row(beside: Around, each: Line) -> tuple[str | int, ...]:
    return (
        beside.sort(each.sort),
        each.bought.needed,
        each.stock.there,
        each.stock.broken,
        number(each.bought.expected),
        each.bought.leaving,
        each.bought.buy,
    )


def _bars(beside: Around, found: Sequence[Line]) -> Bars | None:
    """What is asked for: how much of it is there, and how much to buy."""
    if not found:
        return None
    drawn = found[:DRAWN]
    most = max(each.bought.needed + each.bought.leaving for each in drawn) or 1
    rows = []
    for each in drawn:
        there = each.bought.needed + each.bought.leaving - each.bought.buy
        parts = ((there / most, SOLID), (each.bought.buy / most, HATCHED))
        rows.append(Bar(beside.sort(each.sort), parts, str(each.bought.buy)))
    key = (SOLID, _("needed, and there")), (HATCHED, _("to buy"))
    return Bars(rows, before=0, behind=44, key=key)


def _line(each: Line) -> dict[str, object]:
    kind, size, hand = each.sort
    return {
        "kind": kind,
        "size": size,
        "hand": hand,
        "busiest_day": each.bought.needed,
        "usable": each.stock.there,
        "to_mend": each.stock.broken,
        "left_before": each.left.seen,
        "hours": plain(each.planned),
        "expected_to_leave": plain(each.bought.expected),
        "leave_at_most": each.bought.leaving,
        "buy": each.bought.buy,
    }
