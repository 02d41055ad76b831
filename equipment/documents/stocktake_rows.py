"""The rows of a stocktake's report, all in words."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field


@dataclass(frozen=True)
class KindLine:
    """`accounted` are those that nobody saw and that are accounted for: handed out meanwhile, or settled."""

    kind: str
    place: str
    expected: int
    seen: int
    left: int
    accounted: int


@dataclass(frozen=True)
class PieceLine:
    """`open`: nobody has settled it."""

    tag: str
    kind: str
    what: str
    seen: str
    settled: str
    open: bool = False


@dataclass(frozen=True)
class ChainLine:
    """The head of one store's chain: position and digest."""

    store: str
    when: str
    position: int
    digest: str


@dataclass(frozen=True)
class Report:
    """All in words. `ended` "" while it runs; `why_open` what was said to that which stays open; `people` who scanned
    how many; `seen` the tags by kind; `late` scans that came in after the end; `digest` SHA-256 of what was kept."""

    title: str
    counted: str
    begun: str
    ended: str
    kinds: Sequence[KindLine]
    people: Sequence[tuple[str, int]]
    surprises: Sequence[PieceLine]
    unseen: Sequence[PieceLine]
    meanwhile: Sequence[PieceLine]
    seen: Mapping[str, Sequence[str]]
    chains: Sequence[ChainLine]
    why_open: str = ""
    late: Sequence[str] = field(default=())
    digest: str = ""
