"""What a manager can do about a make: change before it fails, look sooner, ask the supplier, or wait for more data.

A life runs to the first fault that stopped the use. Where one fault ends most lives of a make, the advice is about that
fault alone: a life that another fault ended is then censored by it. Each answer is a code with numbers to fill its
sentence; the sentences stand in `SAYS`.
"""

import math
from collections import Counter
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field
from typing import Any

from equipment.domain import lifetimes
from equipment.domain.figures import SURE, Rate, about
from equipment.domain.lifetimes import Curve, Weibull
from equipment.domain.words import gettext_noop

ENOUGH = 5
"""Fewer failures than these say nothing of how a make wears (common practice)."""
MOST_OUTSIDE = 0.1
"""The law fits where no more of the failure times than this share lie outside the limits of the curve."""

SAYS: Mapping[str, str] = {
    "too_little": gettext_noop(
        "%(kind)s of make %(make)s: too little to go by yet. %(failures)s of %(pieces)s pieces failed in "
        "%(hours)s hours in use; 5 failures are the least."
    ),
    "unused": gettext_noop("%(kind)s of make %(make)s: none has been in use yet."),
    "none_failed": gettext_noop(
        "%(kind)s of make %(make)s: none of %(pieces)s failed in %(hours)s hours in use. Go on as you do."
    ),
    "one_age": gettext_noop(
        "%(kind)s of make %(make)s: all %(failures)s failures came at %(age)s hours in use. Change them "
        "before that, and ask the supplier what happens then."
    ),
    "early": gettext_noop(
        "%(kind)s of make %(make)s fail early rather than wear out: a planned change does not pay. Look each "
        "over before its first day, and ask the supplier. Most often: “%(fault)s”."
    ),
    "by_chance": gettext_noop(
        "%(kind)s of make %(make)s fail by chance, new or old: a planned change does not pay. Carry spares. "
        "Most often: “%(fault)s”."
    ),
    "no_fit": gettext_noop(
        "%(kind)s of make %(make)s fail in more ways than one: no age to change at can be told. Look at the "
        "curve. Most often: “%(fault)s”."
    ),
    "no_costs": gettext_noop(
        "%(kind)s of make %(make)s wear out (“%(fault)s”). Say in the rules what a planned change and a failure"
        " cost, and the age to change at stands here."
    ),
    "does_not_pay": gettext_noop(
        "%(kind)s of make %(make)s wear out (“%(fault)s”), but a planned change does not pay: it costs "
        "%(planned)s, a failure in the orchard %(failure)s. Mend them as they fail."
    ),
    "change": gettext_noop(
        "%(kind)s of make %(make)s: put right what fails (“%(fault)s”) after about %(age)s hours in use, before"
        " it does. A planned change costs %(planned)s, a failure in the orchard %(failure)s."
    ),
    "change_later": gettext_noop(
        "%(kind)s of make %(make)s: put right what fails (“%(fault)s”) after about %(age)s hours in use; no "
        "piece has been in use so long yet, so look again then. A planned change costs %(planned)s, a failure"
        " in the orchard %(failure)s."
    ),
}


@dataclass(frozen=True, slots=True)
class Lived:
    """One piece: `hours` in use until `fault`, or until now where `fault` is "". `all_hours` and `faults` go on after
    mends."""

    hours: float
    fault: str
    all_hours: float
    faults: int
    delivery: str = ""


@dataclass(frozen=True, slots=True)
class Costs:
    """Of a planned change and of a failure, in the same money; 0: not known."""

    planned: float
    failure: float


@dataclass(frozen=True, slots=True)
class Advice:
    """`code` of SAYS, with the numbers of its sentence. `fault` is what the advice is about, "" for all faults;
    `law` None where none could be fitted."""

    code: str
    params: Mapping[str, Any]
    fault: str = ""
    law: Weibull | None = None
    fits: bool = False


@dataclass(frozen=True)
class Make:
    """What the pieces of one make tell. Pieces never used, and those found faulty before their first hour, are in no
    curve: `unused` and `faulty_new` count them."""

    pieces: Sequence[Lived]
    lived: Sequence[Lived] = field(init=False)

    def __post_init__(self) -> None:
        object.__setattr__(self, "lived", [piece for piece in self.pieces if piece.hours > 0])

    @property
    def faulty_new(self) -> int:
        return sum(1 for piece in self.pieces if not piece.hours and piece.fault)

    @property
    def failures(self) -> int:
        return sum(1 for piece in self.lived if piece.fault)

    @property
    def hours(self) -> float:
        return sum(piece.hours for piece in self.lived)

    @property
    def rate(self) -> Rate:
        """All faults, those after mends too."""
        return Rate(sum(piece.faults for piece in self.lived), sum(piece.all_hours for piece in self.lived))

    def curve(self) -> Curve | None:
        """None where nothing was used."""
        return lifetimes.survival(*columns(self.lived)) if self.lived else None

    def leading(self) -> str:
        """The fault that ended at least half of the lives that ended, of at least ENOUGH; "" where none did."""
        ends = Counter(piece.fault for piece in self.lived if piece.fault)
        fault, times = max(ends.items(), key=lambda each: (each[1], each[0]), default=("", 0))
        return fault if times >= ENOUGH and 2 * times >= ends.total() else ""

    def commonest(self) -> str:
        ends = Counter(piece.fault for piece in self.lived if piece.fault)
        return max(ends, key=lambda fault: (ends[fault], fault), default="")


def columns(lived: Sequence[Lived], fault: str = "") -> tuple[list[float], list[bool]]:
    """Durations and whether they ended in failure (in `fault`, "" for any), as `lifetimes` takes them."""
    return [piece.hours for piece in lived], [
        bool(piece.fault) and fault in ("", piece.fault) for piece in lived
    ]


def advise(make: Make, costs: Costs) -> Advice:
    """What to do about this make."""
    numbers = {
        "failures": make.failures,
        "pieces": len(make.lived),
        "hours": about(make.hours),
        "planned": costs.planned,
        "failure": costs.failure,
    }
    if not make.lived:
        return Advice("unused", {})
    if not make.failures:
        return Advice("none_failed", numbers)
    if make.failures < ENOUGH:
        return Advice("too_little", numbers)
    fault = make.leading()
    hours, failed = columns(make.lived, fault)
    try:
        law = lifetimes.weibull(hours, failed)
    except ValueError:
        age = next(each for each, broke in zip(hours, failed, strict=True) if broke)
        return Advice("one_age", {**numbers, "age": about(age)}, fault)
    return _by_law(make, costs, numbers, fault, law)


def _by_law(make: Make, costs: Costs, numbers: Mapping[str, Any], fault: str, law: Weibull) -> Advice:
    hours, failed = columns(make.lived, fault)
    fits = law_fits(law, lifetimes.survival(hours, failed), hours, failed)
    wears = differs_from_chance(law, hours, failed)

    def found(code: str, **more: Any) -> Advice:
        return Advice(code, {**numbers, **more}, fault, law, fits)

    if not fits:
        return found("no_fit")
    if not wears or law.shape <= 1:
        return found("early" if wears else "by_chance")
    if not costs.planned or not costs.failure:
        return found("no_costs")
    best = lifetimes.replacement_age(law.shape, law.scale, costs.planned, costs.failure)
    if best is None:
        return found("does_not_pay")
    return found("change" if best[0] <= max(hours) else "change_later", age=about(best[0]))


def law_fits(law: Weibull, curve: Curve, hours: Sequence[float], failed: Sequence[bool]) -> bool:
    """Whether the law runs within the 95 % limits of the curve at all failure times, but for one in ten."""
    ends = {hour for hour, broke in zip(hours, failed, strict=True) if broke}
    outside = 0
    for time, low, high in zip(curve.times, curve.lower, curve.upper, strict=True):
        share = math.exp(-((time / law.scale) ** law.shape))
        outside += time in ends and not low - 1e-9 <= share <= high + 1e-9
    return outside <= MOST_OUTSIDE * len(ends)


def differs_from_chance(law: Weibull, hours: Sequence[float], failed: Sequence[bool]) -> bool:
    """Whether the shape differs from 1, failing by chance alone: the likelihood-ratio test against the law of one rate,
    whose likelihood is highest at failures / hours. Source: NIST/SEMATECH e-Handbook, section 8.2.3.3 (from memory)."""
    from scipy.stats import chi2

    failures, total = sum(failed), sum(hours)
    by_chance = failures * (math.log(failures / total) - 1)
    return bool(chi2.sf(max(0.0, 2 * (law.log_likelihood - by_chance)), 1) < SURE)
