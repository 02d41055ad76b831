"""Spares to send with each crew, and the swaps that they are reckoned from."""

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from datetime import timedelta
from typing import TypeVar

from django.utils.translation import gettext as _

from crews.models import Crew
from equipment.documents.charts import Figures
from equipment.documents.charts.bars import Bar, Bars
from equipment.documents.figures.base import DRAWN, Around, Figure, number, plain, share, span
from equipment.domain.figures import Carry, Rate, carry, prior
from equipment.models.figures import Sort, Use, use_by_crew, use_by_make
from equipment.models.rules import whole

RECENT = timedelta(days=28)
ENOUGH_SWAPS = 5
"""A make, size or hand has a line of its own from so many swaps on."""
SOLID, HATCHED = 0, 1
K = TypeVar("K")


@dataclass(frozen=True, slots=True)
class Load:
    """The spares of one sort for one crew and one day of picking."""

    crew: str
    sort: Sort
    carry: Carry
    own: Rate


def loads(beside: Around) -> list[Load]:
    """For a day like those of the last weeks, by crew and kind. One query."""
    return _loads(beside, use_by_crew(beside.at, beside.at - RECENT, beside.stopping))


def _loads(beside: Around, used: Sequence[Use]) -> list[Load]:
    kinds, sorts = _rates(used)
    worked, wears = _days(used), _wears(beside)
    found = []
    for each in used:
        if each.kind not in wears and not kinds[each.kind].seen:
            continue
        sort = (each.kind, each.size, each.hand)
        nightly = each.kind in beside.kinds and beside.kinds[each.kind].comes_back == "tonight"
        days = each.recent_days if nightly else worked[each.crew]
        if days and each.recent_hours:
            own, of_kind = sorts[sort], kinds[each.kind]
            before = prior(Rate(of_kind.seen - own.seen, of_kind.hours - own.hours))
            ahead = carry(own, before, each.recent_hours / days, beside.chosen.level)
            found.append(Load(each.crew, sort, ahead, own))
    return sorted(found, key=lambda load: (load.crew, beside.order(load.sort[0]), load.sort))


def _wears(beside: Around) -> set[str]:
    """The kinds that have a fault of their own that stops the use: nobody sends a spare toilet."""
    return {kind for fault in whole().fault if fault.code in beside.stopping for kind in fault.kinds}


def _days(used: Sequence[Use]) -> Mapping[str, int]:
    """By crew, on how many of the last days it drew any gear: what stays out over night is in use on all of them."""
    days: dict[str, int] = {}
    for each in used:
        days[each.crew] = max(days.get(each.crew, 0), each.recent_days)
    return days


def _rates(used: Sequence[Use]) -> tuple[Mapping[str, Rate], Mapping[Sort, Rate]]:
    """By kind, and by kind, size and hand."""
    kinds: dict[str, Rate] = {}
    sorts: dict[Sort, Rate] = {}
    for each in used:
        _add(kinds, each.kind, each)
        _add(sorts, (each.kind, each.size, each.hand), each)
    return kinds, sorts


def _add(rates: dict[K, Rate], key: K, each: Use) -> None:
    known = rates.get(key, Rate(0, 0.0))
    rates[key] = Rate(known.seen + each.swaps, known.hours + each.hours)


def figures(beside: Around) -> list[Figure]:
    """Two aggregate queries over the book, one for the crews' names."""
    used = use_by_crew(beside.at, beside.at - RECENT, beside.stopping)
    by_make = use_by_make(beside.at, beside.at - RECENT, beside.stopping)
    names = {crew.pk: crew.name for crew in Crew.objects.all()}
    found = _loads(beside, used)
    found.sort(key=lambda load: (names.get(load.crew, load.crew), beside.order(load.sort[0]), load.sort))
    return [_spares(beside, found, names), _swaps(beside, used, by_make)]


def _spares(beside: Around, found: Sequence[Load], names: Mapping[str, str]) -> Figure:
    level = {"level": number(100 * beside.chosen.level, 0)}
    head = (
        _("Crew"),
        _("Gear"),
        _("Hours in use a day"),
        _("Swaps expected"),
        _("Spares to carry"),
        _("Chance of running short"),
        _("Known from"),
    )
    rows = [
        (
            names.get(each.crew, each.crew),
            beside.sort(each.sort),
            number(each.carry.planned),
            number(each.carry.expected, 2),
            each.carry.spares,
            share(each.carry.short),
            _known(each.own),
        )
        for each in found
    ]
    return Figure(
        "spares",
        _("Spares to carry, by crew"),
        _(
            "For a day like those of the last 28 on which the crew had such gear out, so that it does not run short on "
            "%(level)s of 100 days (set in the rules). A swap is a fault that stopped the use in a picker's hands. The "
            "rate is that of the gear of this size and hand; where little is known of it, the rest of its kind "
            "counts like one swap more. Swaps are taken to come by chance, at a steady rate per hour in use."
        )
        % level,
        _("No gear has been in use in the last 28 days: nothing can be said yet."),
        Figures(head, rows, _bars(beside, found[:DRAWN], names), len(found[DRAWN:]), 2),
        [_line(each) for each in found],
        links=_links(),
    )


def _links() -> list[tuple[str, str, str]]:
    return [(_("The faults behind it, line by line"), "register", "faults")]


def _known(own: Rate) -> str:
    words = {"seen": own.seen, "hours": number(own.hours, 0)}
    return _("%(seen)s in %(hours)s h") % words


def _bars(beside: Around, found: Sequence[Load], names: Mapping[str, str]) -> Bars | None:
    if not found:
        return None
    most = max(max(each.carry.spares, each.carry.expected) for each in found)
    rows = []
    for each in found:
        beyond = max(0.0, each.carry.spares - each.carry.expected)
        parts = ((each.carry.expected / most, SOLID), (beyond / most, HATCHED))
        words = {"crew": names.get(each.crew, each.crew), "gear": beside.sort(each.sort)}
        rows.append(Bar(_("%(crew)s: %(gear)s") % words, parts, str(each.carry.spares)))
    key = (SOLID, _("swaps expected")), (HATCHED, _("spares beyond that, to be sure"))
    return Bars(rows, before=0, behind=44, key=key)


def _line(each: Load) -> dict[str, object]:
    kind, size, hand = each.sort
    return {
        "crew": each.crew,
        "kind": kind,
        "size": size,
        "hand": hand,
        "hours": plain(each.carry.planned),
        "expected": plain(each.carry.expected),
        "carry": each.carry.spares,
        "chance_short": plain(each.carry.short, 6),
        "swaps_seen": each.own.seen,
        "hours_seen": plain(each.own.hours),
    }


@dataclass(frozen=True, slots=True)
class _Swaps:
    words: str
    rate: Rate
    names: Mapping[str, str]


def _swaps(beside: Around, used: Sequence[Use], by_make: Sequence[Use]) -> Figure:
    found = list(_lines(beside, used, by_make))
    head = (_("Gear"), _("Swaps"), _("Hours in use"), _("In 1,000 hours"), _("95 % limits"))
    rows = [
        (
            each.words,
            each.rate.seen,
            number(each.rate.hours, 0),
            number(each.rate.per_1000 or 0),
            span(each.rate.limits),
        )
        for each in found
    ]
    drawn = found[:DRAWN]
    rates = [each.rate.per_1000 or 0 for each in drawn]
    most = max(rates, default=0) or 1
    bars = [
        Bar(each.words, ((rate / most, SOLID),), number(rate))
        for each, rate in zip(drawn, rates, strict=True)
    ]
    return Figure(
        "swaps",
        _("Swaps in 1,000 hours in use"),
        _(
            "Counted from the whole book, the crews' visits as the clock. Each kind, and below it each make, size "
            "and hand that had at least 5 swaps. The limits are exact (chi-square, 95 %)."
        ),
        _("No gear has been in use yet."),
        Figures(head, rows, Bars(bars, 0, 52) if bars else None, len(found[DRAWN:])),
        [_rate_line(each) for each in found],
        links=_links(),
    )


def _lines(beside: Around, used: Sequence[Use], by_make: Sequence[Use]) -> Iterator[_Swaps]:
    kinds, sorts = _rates(used)
    for kind in sorted(kinds, key=beside.order):
        name = beside.kind(kind)
        yield _Swaps(name, kinds[kind], {"kind": kind, "make": "", "size": "", "hand": ""})
        for each in by_make:
            if each.kind == kind and each.make and each.swaps >= ENOUGH_SWAPS:
                words = _("%(kind)s, make %(make)s") % {"kind": name, "make": each.make}
                names = {"kind": kind, "make": each.make, "size": "", "hand": ""}
                yield _Swaps(words, Rate(each.swaps, each.hours), names)
        for sort, rate in sorted(sorts.items()):
            if sort[0] == kind and any(sort[1:]) and rate.seen >= ENOUGH_SWAPS:
                names = {"kind": kind, "make": "", "size": sort[1], "hand": sort[2]}
                yield _Swaps(beside.sort(sort), rate, names)


def _rate_line(each: _Swaps) -> dict[str, object]:
    low, high = each.rate.limits or (None, None)
    return {
        **each.names,
        "swaps": each.rate.seen,
        "hours": plain(each.rate.hours),
        "per_1000_hours": plain(each.rate.per_1000),
        "low": plain(low),
        "high": plain(high),
    }
