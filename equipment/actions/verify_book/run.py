"""A verification as far as it is, and what is kept of it."""

from collections.abc import Mapping
from dataclasses import dataclass, field
from datetime import datetime
from typing import Any

from django.utils import timezone

from equipment.actions.going_on import Mark
from equipment.actions.verify_book.findings import Finding, Looked
from equipment.actions.verify_book.pieces import Piece
from equipment.models import Entry

# A book that was written anew has as many as it has entries.
MOST_FINDINGS = 10_000


@dataclass
class Run:
    """A verification as far as it is: up to and with the piece that ends at `stage` and `place`. `folded` are the
    entries whose states were looked at, `at` when it was last kept."""

    stage: str = ""
    place: Any = None
    entries: int = 0
    folded: int = 0
    heads: dict[str, tuple[int, str]] = field(default_factory=dict)
    findings: list[Finding] = field(default_factory=list)
    more: int = 0
    at: datetime | None = None

    @property
    def done(self) -> int:
        return self.entries if self.stage == "seals" else self.folded

    def add(self, piece: Piece, looked: Looked) -> None:
        self.stage, self.place = piece.stage, piece.place
        if piece.stage == "seals":
            self.entries += looked.entries
        else:
            self.folded += looked.entries
        self.heads |= looked.heads
        room = MOST_FINDINGS - len(self.findings)
        self.findings += looked.findings[:room]
        self.more += len(looked.findings[room:])

    def plain(self) -> dict[str, Any]:
        """As JSON; `read` is its other way."""
        names = ("stage", "place", "entries", "folded", "heads", "more")
        found = [
            [each.code, {key: _said(value) for key, value in each.params.items()}] for each in self.findings
        ]
        return {**{name: getattr(self, name) for name in names}, "findings": found}

    @classmethod
    def read(cls, kept: Mapping[str, Any]) -> "Run":
        """Raises LookupError, TypeError or ValueError for what is none."""
        names = ("stage", "place", "entries", "folded", "more")
        heads = {store: (int(position), str(digest)) for store, (position, digest) in kept["heads"].items()}
        findings = [Finding(code, params) for code, params in kept["findings"]]
        at = datetime.fromisoformat(kept["at"])
        return cls(**{name: kept[name] for name in names}, heads=heads, findings=findings, at=at)


def _said(value: Any) -> Any:
    return value if isinstance(value, str | int) else str(value)


def so_far(mark: Mark) -> Run | None:
    """The run that was stopped, where it can go on: the last line that it looked at of each chain is as it was."""
    kept = mark.found(timezone.now())
    run = Run.read(kept) if kept else None
    return run if run and all(_stands(store, *head) for store, head in run.heads.items()) else None


def _stands(store: str, position: int, digest: str) -> bool:
    there = Entry.objects.filter(store=store, position__lte=position).order_by("-position")
    return there.values_list("position", "digest").first() == (position, digest)
