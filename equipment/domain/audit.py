"""A sampling audit: how many pieces of a lot are looked at, which ones, and what the answers say about all of them.

The arithmetic is that of `equipment.domain.sampling`; here are the question, the draw and the words.
"""

import hashlib
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, field
from decimal import Decimal
from fractions import Fraction
from math import ceil
from random import Random
from typing import Literal

from equipment.domain.sampling import faulty_at_most, sample_size
from equipment.domain.words import gettext_noop

# One faulty piece of a kind that is never sampled is one too many.
ANY = 1
LARGEST_SEED = 999_999_999

ASSUMPTIONS = (
    gettext_noop("The pieces were drawn at random, and none was exchanged for another."),
    gettext_noop("A fault is seen when the piece is looked at."),
    gettext_noop("The lot does not change between the draw and the last answer."),
    gettext_noop("A piece that is not there counts as faulty: nobody could look at it."),
)
HOW_DRAWN = gettext_noop(
    "Anybody can draw the same pieces again. Sort the tags of the lot by their characters (capitals and digits, as "
    "ASCII has them), then, in Python 3: random.Random(%(seed)d).sample(tags, %(sample)d)."
)
NOT_WHOLE = gettext_noop(
    "%(share)s %% of %(lot)d are %(exact)s pieces. %(faulty)d is meant, the first whole number that is so much or more."
)
BY_CHANCE = gettext_noop(
    "Were %(faulty)d of the %(lot)d faulty, the chance of meeting none of them among %(sample)d drawn at random would "
    "be at most %(risk)s %%."
)

Verdict = Literal["within", "open", "beyond"]


@dataclass(frozen=True, slots=True)
class Sentence:
    """A gettext template and what fills it."""

    words: str
    params: Mapping[str, object] = field(default_factory=dict)


@dataclass(frozen=True, slots=True)
class Question:
    """Of a lot of `lot` pieces: can it be that `faulty` or more are faulty? `sure` is how sure to be, in per cent,
    between 0 and 100. `every`: all pieces are looked at, whatever a sample would do."""

    lot: int
    faulty: int
    sure: Decimal
    every: bool = False

    @property
    def sample(self) -> int:
        """How many to look at. Raises ValueError for numbers that cannot be."""
        needed = sample_size(self.lot, self.faulty, self.confidence)
        return self.lot if self.every else needed

    @property
    def confidence(self) -> float:
        return float(self.sure / 100)


@dataclass(frozen=True, slots=True)
class Answers:
    """What was found: `looked_at` pieces of the sample, those that were not there among them; `faulty` of them faulty,
    `absent` of them not there."""

    looked_at: int
    faulty: int
    absent: int = 0

    @property
    def against(self) -> int:
        return self.faulty + self.absent


@dataclass(frozen=True, slots=True)
class Finding:
    """`most`: the most faulty pieces that the lot can still have held, as sure as was asked. `verdict`: fewer than were
    asked about ("within"), as many cannot be ruled out ("open"), or as many were found ("beyond")."""

    most: int
    verdict: Verdict
    said: tuple[Sentence, ...]
    means: Sentence


def reaching(lot: int, share: Decimal) -> int:
    """The fewest pieces that are `share` per cent of `lot` or more, at least one."""
    return max(1, ceil(_exact(lot, share)))


def not_whole(lot: int, share: Decimal) -> Sentence | None:
    """Says which whole number is meant where the share of the lot is none; None where it is."""
    exact, faulty = _exact(lot, share), reaching(lot, share)
    if exact == faulty:
        return None
    shown = plain(Decimal(exact.numerator) / exact.denominator)
    return Sentence(NOT_WHOLE, {"share": plain(share), "lot": lot, "exact": shown, "faulty": faulty})


def by_chance(question: Question) -> Sentence:
    """Why so many are enough, where a sample is drawn."""
    params = {"faulty": question.faulty, "lot": question.lot, "sample": question.sample}
    return Sentence(BY_CHANCE, {**params, "risk": plain(100 - question.sure)})


def draw(tags: Iterable[str], count: int, seed: int) -> list[str]:
    """`count` of `tags` at random, in the order of drawing; the same for the same lot and seed, see HOW_DRAWN."""
    return Random(seed).sample(in_order(tags), count)  # noqa: S311 to be drawn again by anybody, not to be secret


def in_order(tags: Iterable[str]) -> list[str]:
    """The lot as it is drawn from: each tag once, by its characters."""
    return sorted(set(tags))


def lot_digest(tags: Sequence[str]) -> str:
    """SHA-256 over the sorted tags, each ended by a newline: what paper shows in place of a long list."""
    return hashlib.sha256("".join(f"{tag}\n" for tag in in_order(tags)).encode()).hexdigest()


def finding(question: Question, answers: Answers) -> Finding:
    """What the answers say of the whole lot, once all of the sample is answered. Raises ValueError for numbers that
    cannot be."""
    found = answers.against
    most = faulty_at_most(question.lot, answers.looked_at, found, question.confidence)
    absent = Sentence(
        gettext_noop("Not there, and counted as faulty: %(absent)d."), {"absent": answers.absent}
    )
    said = (_found(question, answers, most), *((absent,) if answers.absent else ()))
    verdict: Verdict = (
        "within" if most < question.faulty else "beyond" if found >= question.faulty else "open"
    )
    return Finding(most, verdict, said, Sentence(_MEANS[verdict], {"limit": question.faulty}))


def _found(question: Question, answers: Answers, most: int) -> Sentence:
    found = answers.against
    if answers.looked_at == question.lot:
        words = _ALL_FAULTY if found else _ALL_GOOD
    elif found:
        words = _SOME
    else:
        words = _NONE if most else _NONE_LEFT
    params = {"found": found, "sample": answers.looked_at, "lot": question.lot, "sure": plain(question.sure)}
    return Sentence(words, {**params, "most": most, "next": most + 1})


_NONE = gettext_noop(
    "None faulty in %(sample)d of %(lot)d: %(sure)s %% sure that fewer than %(next)d of the %(lot)d are."
)
_NONE_LEFT = gettext_noop(
    "None faulty in %(sample)d of %(lot)d: %(sure)s %% sure that none of the %(lot)d is."
)
_SOME = gettext_noop(
    "%(found)d faulty in %(sample)d of %(lot)d: %(sure)s %% sure that at most %(most)d of the %(lot)d are."
)
_ALL_GOOD = gettext_noop("None faulty: all %(lot)d were looked at.")
_ALL_FAULTY = gettext_noop("%(found)d faulty of %(lot)d: all were looked at.")
_MEANS: Mapping[Verdict, str] = {
    "within": gettext_noop("Acceptable: %(limit)d or more faulty would not be."),
    "open": gettext_noop(
        "Not shown to be acceptable: %(limit)d or more faulty cannot be ruled out. Look at every piece of the lot, or "
        "treat it as faulty."
    ),
    "beyond": gettext_noop("Not acceptable: %(limit)d or more are faulty. Look at every piece of the lot."),
}


def plain(number: Decimal) -> str:
    """A figure without needless noughts, at most two behind the point: 95, 99.5, 2.35."""
    shown = f"{number:.2f}"
    return shown.rstrip("0").rstrip(".")


def _exact(lot: int, share: Decimal) -> Fraction:
    return Fraction(share) * lot / 100
