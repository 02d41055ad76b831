"""What an evening's plan speaks of: gear, baths, jobs, and the plan itself."""

from collections.abc import Mapping
from dataclasses import dataclass
from typing import NamedTuple

from equipment.domain.given import zero_or_more
from equipment.domain.words import gettext_noop

MINUTES = gettext_noop("Minutes")


class Gear(NamedTuple):
    """What is asked for and what is there, alike enough that one piece serves for another. A size or a hand that is ""
    is not known, or does not matter: it serves for every one, and every one serves for it."""

    kind: str
    size: str = ""
    hand: str = ""


@dataclass(frozen=True, slots=True)
class Bath:
    """A dip bath that would have to be mixed for `minutes`; 0 for one that stands ready. Raises ValueError."""

    name: str
    minutes: float

    def __post_init__(self) -> None:
        zero_or_more(MINUTES, self.minutes)


@dataclass(frozen=True, slots=True)
class Job:
    """All the work that makes one item fit, `minutes` of it, and the bath that it must be dipped in, if any.

    An item may have several jobs, one for each way to make it fit: at most one of them is chosen. Raises ValueError.
    """

    item: str
    gear: Gear
    minutes: float
    bath: Bath | None = None

    def __post_init__(self) -> None:
        zero_or_more(MINUTES, self.minutes)


@dataclass(frozen=True, slots=True)
class Plan:
    """The jobs to do, in the order given; what stays short (only what does); minutes with the baths mixed."""

    chosen: tuple[Job, ...]
    short: Mapping[Gear, int]
    minutes: float

    @property
    def baths(self) -> tuple[Bath, ...]:
        """The baths to mix, each once, in the order of the jobs."""
        return tuple(dict.fromkeys(job.bath for job in self.chosen if job.bath))


def serves(piece: Gear, asked: Gear) -> bool:
    """Whether such a piece does for what is asked: the kind is one, and neither size nor hand speaks against it."""
    return piece.kind == asked.kind and all(
        not mine or not wanted or mine == wanted for mine, wanted in zip(piece[1:], asked[1:], strict=True)
    )
