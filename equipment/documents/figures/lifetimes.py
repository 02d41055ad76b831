"""How long each make lasts, and what to do about it: a line a make, with its sentence."""

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass

from django.utils.translation import gettext as _
from django.utils.translation import gettext_noop

from equipment.actions import names
from equipment.documents.charts import Figures
from equipment.documents.charts.bars import Bar, Bars
from equipment.documents.figures.base import DRAWN, Around, Figure, number, plain, span
from equipment.domain.comparing import Recall, recalls
from equipment.domain.makes import SAYS, Advice, Lived, Make, advise
from equipment.domain.verbs.written_off import CIRCUMSTANCES
from equipment.models.figures import Life, lives
from equipment.models.rules import whole

# What a manager acts on comes first.
ACTED_ON = ("change", "change_later", "one_age", "early", "no_costs", "does_not_pay", "no_fit", "by_chance")
RECALL = gettext_noop(
    "%(kind)s, delivery %(delivery)s: %(failures)s of %(pieces)s pieces failed so far, sooner than the other "
    "deliveries. Call it back, look over what is left of it, and ask the supplier."
)


@dataclass(frozen=True)
class MakeLife:
    """One make of one kind: its pieces as the book has them, what they tell, and what to do. `rest` are the used pieces
    of the other makes of the kind."""

    kind: str
    name: str
    pieces: Sequence[Life]
    make: Make
    advice: Advice
    rest: Sequence[Lived]

    def sentence(self, beside: Around) -> str:
        words = {
            "kind": beside.kind(self.kind, plural=True),
            "make": self.name or _("unknown"),
            "fault": fault(self.advice.fault or self.make.commonest()),
        }
        numbers = {
            name: number(value, 0 if value == int(value) else 1) for name, value in self.advice.params.items()
        }
        said = _(SAYS[self.advice.code]) % {**words, **numbers}
        return f"{said} {_(looked_at)}" if (looked_at := _always_looked_at(self.kind)) else said


def _always_looked_at(kind: str) -> str:
    """The caution of a kind where one bad piece can maim; no reckoning stands without it."""
    return next((row.never_sampled for row in whole().kind if row.code == kind), "")


def fault(code: str) -> str:
    """What ended a life: a fault, or how it was written off."""
    return _(CIRCUMSTANCES[code]) if code in CIRCUMSTANCES else names.fault(code)


def makes(beside: Around, kind: str = "") -> list[MakeLife]:
    """Every kind and make that was ever used, in order. One query."""
    by_kind: dict[str, dict[str, list[Life]]] = {}
    for life in lives(beside.at, beside.stopping, kind):
        by_kind.setdefault(life.kind, {}).setdefault(life.make, []).append(life)
    return [
        each for kind in sorted(by_kind, key=beside.order) for each in _of_kind(beside, kind, by_kind[kind])
    ]


def _of_kind(beside: Around, kind: str, by_make: Mapping[str, Sequence[Life]]) -> Iterator[MakeLife]:
    known = {make: Make([_lived(life) for life in pieces]) for make, pieces in by_make.items()}
    for name in sorted(known):
        rest = [piece for other, make in known.items() if other != name for piece in make.lived]
        advice = advise(known[name], beside.chosen.costs(kind))
        yield MakeLife(kind, name, by_make[name], known[name], advice, rest)


def _lived(life: Life) -> Lived:
    return Lived(life.hours, life.fault, life.all_hours, life.faults, life.delivery)


def recalled(found: Sequence[MakeLife]) -> dict[str, list[Recall]]:
    """By kind, the deliveries that fail sooner than the others."""
    kinds = dict.fromkeys(each.kind for each in found)
    by_kind = {
        kind: recalls([piece for each in found if each.kind == kind for piece in each.make.lived])
        for kind in kinds
    }
    return {kind: of_kind for kind, of_kind in by_kind.items() if of_kind}


def recall_sentences(beside: Around, found: Sequence[MakeLife]) -> dict[str, list[str]]:
    """By delivery; of each kind those that fail soonest first."""
    said: dict[str, list[str]] = {}
    for kind, of_kind in recalled(found).items():
        for each in of_kind:
            words = {"delivery": each.delivery, "kind": beside.kind(kind, plural=True)}
            numbers = {"failures": each.failures, "pieces": each.pieces}
            said.setdefault(each.delivery, []).append(_(RECALL) % {**words, **numbers})
    return said


def sentences(beside: Around, found: Sequence[MakeLife]) -> tuple[list[str], list[str]]:
    """What somebody can act on, what weighs most first; and what asks for nothing yet, by kind."""
    order = {code: place for place, code in enumerate(ACTED_ON)}
    acted = sorted(
        (each for each in found if each.advice.code in order), key=lambda each: order[each.advice.code]
    )
    recalls = [said for of_delivery in recall_sentences(beside, found).values() for said in of_delivery]
    waits = [each.sentence(beside) for each in found if each.advice.code not in order]
    return [*recalls, *(each.sentence(beside) for each in acted)], waits


def figures(beside: Around) -> list[Figure]:
    """One query."""
    return [_figure(beside, makes(beside))]


def _figure(beside: Around, found: Sequence[MakeLife]) -> Figure:
    head = (
        _("Gear"),
        _("Make"),
        _("Pieces used"),
        _("Failed"),
        _("Hours in use"),
        _("Half have failed by"),
        _("Hours from fault to fault"),
        _("95 % limits"),
    )
    says, waits = sentences(beside, found)
    return Figure(
        "lifetimes",
        _("How long gear lasts, by make"),
        _(
            "From the first handout of every piece to the first fault that stopped its use, or its write-off as worn "
            "out or broken, in hours in use; all others (sound, lost, stolen or sold) lasted at least so long. A "
            "piece that was faulty before its first hour is left out. From fault to fault counts all faults, after "
            "mends too; the limits are exact (chi-square, 95 %)."
        ),
        _(
            "No piece has been in use yet. Hand gear out, and tell the crews' visits: the hours begin to count."
        ),
        Figures(
            head,
            [_row(beside, each) for each in found],
            _bars(beside, found),
            len(found) - len(_drawn(found)),
            2,
        ),
        [_line(beside, each) for each in found],
        says=says,
        waits=waits,
        links=[(_("The faults behind it, line by line"), "register", "faults")],
    )


def median(each: MakeLife) -> float | None:
    curve = each.make.curve()
    return curve.median if curve else None


def _row(beside: Around, each: MakeLife) -> tuple[str | int, ...]:
    middle, rate = median(each), each.make.rate
    between = number(rate.hours / rate.seen, 0) if rate.seen else "–"
    return (
        beside.kind(each.kind),
        each.name or _("unknown"),
        len(each.make.lived),
        each.make.failures,
        number(each.make.hours, 0),
        _("not yet") if middle is None else _("%(hours)s h") % {"hours": number(middle, 0)},
        between,
        span(rate.between, 0),
    )


def _drawn(found: Sequence[MakeLife]) -> list[MakeLife]:
    return [each for each in found if each.make.rate.hours][:DRAWN]


def _bars(beside: Around, found: Sequence[MakeLife]) -> Bars | None:
    """Faults in 1,000 hours: so that a longer bar is a worse make."""
    drawn = _drawn(found)
    if not drawn:
        return None
    rates = [each.make.rate.per_1000 or 0 for each in drawn]
    most = max(rates) or 1
    rows = [
        Bar(f"{beside.kind(each.kind)}, {each.name or _('unknown')}", ((rate / most, 0),), number(rate))
        for each, rate in zip(drawn, rates, strict=True)
    ]
    return Bars(rows, before=0, behind=52, key=((0, _("faults in 1,000 hours in use")),))


def _line(beside: Around, each: MakeLife) -> dict[str, object]:
    low, high = each.make.rate.between or (None, None)
    law = each.advice.law
    return {
        "kind": each.kind,
        "make": each.name,
        "pieces": len(each.make.lived),
        "failures": each.make.failures,
        "hours": plain(each.make.hours),
        "median_hours": plain(median(each)),
        "faults": each.make.rate.seen,
        "hours_between_low": plain(low),
        "hours_between_high": plain(high),
        "weibull_shape": plain(law.shape) if law else None,
        "weibull_scale": plain(law.scale) if law else None,
        "advice": each.advice.code,
        "fault": each.advice.fault,
        "change_at_hours": plain(each.advice.params.get("age")),
        "say": each.sentence(beside),
    }
