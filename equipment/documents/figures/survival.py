"""One kind, make by make: the curve of what still works, and behind it what a statistician would ask."""

from collections.abc import Iterator, Mapping
from math import exp

from django.utils.translation import gettext as _

from equipment.documents.charts import Figures
from equipment.documents.charts.steps import Steps
from equipment.documents.figures.base import Around, Figure, number, plain, share, span
from equipment.documents.figures.lifetimes import MakeLife, fault, makes, recall_sentences
from equipment.domain.comparing import compare
from equipment.domain.figures import SURE
from equipment.domain.lifetimes import Curve

CURVE_POINTS = 60
MOST_PIECES = 12
"""Failed pieces that are named with a link each; the register of faults has them all."""


def figures(beside: Around, kind: str) -> list[Figure]:
    """A figure for each make, in order. One query."""
    found = makes(beside, kind)
    recalls = recall_sentences(beside, found)
    return [_figure(beside, each, place, _of_make(each, recalls)) for place, each in enumerate(found, 1)]


def _of_make(each: MakeLife, recalls: Mapping[str, list[str]]) -> list[str]:
    """What is said of the deliveries that pieces of this make came in."""
    deliveries = sorted({life.delivery for life in each.pieces})
    return [said for delivery in deliveries for said in recalls.get(delivery, ())]


def _figure(beside: Around, each: MakeLife, place: int, recalls: list[str]) -> Figure:
    curve = each.make.curve()
    words = {"kind": beside.kind(each.kind, plural=True), "make": each.name or _("unknown")}
    head = (_("Hours in use"), _("Still working"), _("95 % limits"), _("Failed here"), _("In use so long"))
    rows = list(_rows(each, curve)) if curve else []
    return Figure(
        f"make-{place}",
        _("%(kind)s of make %(make)s: how many still work") % words,
        _about(each),
        _("No piece of this make has been in use yet."),
        Figures(head, [_said(row) for row in rows], _steps(each, curve) if curve else None),
        [_line(row) for row in rows],
        says=[*recalls, each.sentence(beside)],
        links=_links(each),
        details=list(_details(beside, each)),
    )


def _about(each: MakeLife) -> str:
    words = {
        "pieces": len(each.make.lived),
        "failures": each.make.failures,
        "hours": number(each.make.hours, 0),
        "new": each.make.faulty_new,
    }
    said = _(
        "Computed from %(pieces)s pieces, %(failures)s of which failed, in %(hours)s hours in use (Kaplan-Meier, "
        "limits by Greenwood on the log-log scale). The thick line is the share that still works, the broken lines "
        "its limits."
    )
    if each.advice.law and not each.advice.fault:
        said += " " + _("Dotted: the Weibull law.")
    if each.make.faulty_new:
        said += " " + _("Left out: %(new)s faulty before the first hour.")
    return said % words


Row = tuple[float, float, float, float, int, int]
"""Hours, share, its limits, how many failed there, how many were in use so long."""


def _rows(each: MakeLife, curve: Curve) -> Iterator[Row]:
    """At each failure, and at the longest life."""
    ends = [piece.hours for piece in each.make.lived if piece.fault]
    columns = zip(curve.times, curve.survival, curve.lower, curve.upper, strict=True)
    for hours, still, low, high in columns:
        failed = ends.count(hours)
        if failed or hours == curve.times[-1]:
            yield hours, still, low, high, failed, sum(1 for piece in each.make.lived if piece.hours >= hours)


def _said(row: Row) -> tuple[str | int, ...]:
    hours, still, low, high, failed, at_risk = row
    per_cent = span((100 * low, 100 * high), 0)
    return number(hours), _("%(share)s %%") % {"share": number(100 * still)}, per_cent, failed, at_risk


def _line(row: Row) -> dict[str, object]:
    names = ("hours", "working", "low", "high", "failed", "in_use")
    return {
        name: plain(value) if isinstance(value, float) else value
        for name, value in zip(names, row, strict=True)
    }


def _steps(each: MakeLife, curve: Curve) -> Steps:
    law = each.advice.law if not each.advice.fault else None
    points = []
    if law:
        for n in range(CURVE_POINTS + 1):
            hours = curve.times[-1] * n / CURVE_POINTS
            points.append((hours, exp(-((hours / law.scale) ** law.shape))))
    return Steps(curve.times, curve.survival, curve.lower, curve.upper, _("hours in use"), points)


def _details(beside: Around, each: MakeLife) -> Iterator[tuple[str, str]]:
    """Words and what they say: for whoever wants to look behind the sentence."""
    yield _("Weibull law"), _law(each)
    rate = each.make.rate
    words = {"faults": rate.seen, "hours": number(rate.hours, 0), "span": span(rate.between, 0)}
    yield (
        _("Mean time between faults"),
        _("%(faults)s faults in %(hours)s hours: %(span)s hours (exact 95 %% limits)") % words,
    )
    yield _("Against the other makes"), _compared(each)
    yield _("What ended lives"), _ends(each)
    costs = beside.chosen.costs(each.kind)
    words = {"planned": number(costs.planned, 0), "failure": number(costs.failure, 0)}
    yield (
        _("Reckoned with"),
        _("a planned change at %(planned)s, a failure in the orchard at %(failure)s (set in the rules)")
        % words,
    )


def _law(each: MakeLife) -> str:
    law, words = each.advice.law, {"fault": fault(each.advice.fault)}
    if law is None:
        return _("not fitted: too few failures, or all at one age")
    words |= {"shape": number(law.shape, 2), "scale": number(law.scale, 0)}
    of = _("of %(fault)s: ") % words if each.advice.fault else ""
    if not each.advice.fits:
        return of + _("does not fit: it leaves the limits of the curve at more than one failure in ten")
    return (
        of
        + _("fits: shape %(shape)s, scale %(scale)s h (a shape above 1 wears out, below 1 fails early)")
        % words
    )


def _compared(each: MakeLife) -> str:
    chance = compare(each.make.lived, each.rest)
    if chance is None:
        return _("nothing to compare with, or nothing has failed")
    words = {"chance": share(chance)}
    if chance < SURE:
        return _("they differ: luck alone would do this with a chance of %(chance)s (log-rank test)") % words
    return (
        _("no clear difference: luck alone would do this with a chance of %(chance)s (log-rank test)") % words
    )


def _ends(each: MakeLife) -> str:
    ends = [piece.fault for piece in each.make.lived if piece.fault]
    counted = sorted((-ends.count(code), fault(code)) for code in set(ends))
    return "; ".join(f"{words}: {-count}" for count, words in counted) or _("nothing so far")


def _links(each: MakeLife) -> list[tuple[str, str, str]]:
    failing = [life for life in each.pieces if life.failed]
    found = [(life.tag, "item", life.tag) for life in failing[:MOST_PIECES]]
    return [*found, (_("All pieces of this kind"), "gear", f"kind={each.kind}")]
