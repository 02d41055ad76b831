"""How far a long piece of work has come, kept in a file, so that one that was killed can go on from there."""

import json
import os
import time
from collections.abc import Callable, Mapping
from dataclasses import dataclass
from datetime import datetime, timedelta
from pathlib import Path
from typing import Any

from django.conf import settings
from django.db import connection

EVERY = 1.0  # seconds
# What was looked at longer ago than this is looked at again.
GOOD_FOR = timedelta(days=1)


@dataclass
class Mark:
    """`work` names what is done; the file is of one database. The last second before a kill is done again."""

    path: Path
    work: str
    every: float = EVERY
    _kept: float = 0.0

    @classmethod
    def of(cls, work: str) -> "Mark":
        # With a dot before it no backup takes it along.
        return cls(Path(settings.DATA_DIR) / f".{work}.json", work)

    def found(self, now: datetime) -> Mapping[str, Any] | None:
        """What was kept, with `at` (ISO 8601) when; None where there is none, or it is too old or of something else."""
        try:
            kept: dict[str, Any] = json.loads(self.path.read_text("utf-8"))
            fresh = now - datetime.fromisoformat(kept["at"]) < GOOD_FOR
            return kept if fresh and kept["of"] == self._of() else None
        except (OSError, ValueError, LookupError, TypeError):
            return None

    def keep(self, now: datetime, so_far: Callable[[], Mapping[str, Any]]) -> None:
        """Whole or not at all; at most each `every` seconds."""
        if time.monotonic() - self._kept < self.every:
            return
        said = json.dumps({**so_far(), "at": now.isoformat(), "of": self._of()})
        part = self.path.with_name(f"{self.path.name}.{os.getpid()}")
        part.write_text(said, "utf-8")
        part.replace(self.path)
        self._kept = time.monotonic()

    def clear(self) -> None:
        self.path.unlink(missing_ok=True)

    def _of(self) -> list[str]:
        told = connection.settings_dict
        return [self.work, connection.vendor, *(str(told[name]) for name in ("NAME", "HOST", "PORT"))]
