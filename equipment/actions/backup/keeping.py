"""Which archives are kept: the newest, and the newest of each of the last days, weeks and months that have one."""

import re
from collections.abc import Callable, Iterable, Mapping
from contextlib import suppress
from dataclasses import dataclass
from datetime import UTC, datetime, tzinfo
from pathlib import Path
from typing import Any

from django.utils.translation import gettext as _

NAME = "shedbook-%Y%m%dT%H%M%SZ.tar.gz"
OURS = re.compile(r"shedbook-\d{8}T\d{6}Z\.tar\.gz")


@dataclass(frozen=True, slots=True)
class Keep:
    """How many days, weeks (from Monday) and months, each by its newest archive."""

    days: int
    weeks: int
    months: int

    @classmethod
    def read(cls, text: str) -> "Keep":
        """From "7,5,12". Raises ValueError."""
        with suppress(ValueError):
            days, weeks, months = (int(number) for number in text.split(","))
            if min(days, weeks, months) >= 0:
                return cls(days, weeks, months)
        said = _(
            "“%(text)s” does not say how many backups to keep. Write days, weeks and months, as in 7,5,12."
        )
        raise ValueError(said % {"text": text})


def kept(times: Iterable[datetime], rule: Keep, zone: tzinfo) -> set[datetime]:
    """Those of `times` that stay; days, weeks and months are the farm's, of `zone`."""
    ordered = sorted(times, reverse=True)
    spans: list[tuple[int, Callable[[datetime], Any]]] = [
        (rule.days, lambda at: at.date()),
        (rule.weeks, lambda at: at.isocalendar()[:2]),
        (rule.months, lambda at: (at.year, at.month)),
    ]
    stay = set(ordered[:1])
    for count, span in spans:
        newest_of: dict[Any, datetime] = {}
        for at in ordered:
            newest_of.setdefault(span(at.astimezone(zone)), at)
        stay.update([*newest_of.values()][:count])
    return stay


def name_at(at: datetime) -> str:
    return at.astimezone(UTC).strftime(NAME)


def archives(folder: Path) -> Mapping[datetime, Path]:
    """Our archives in a folder, by when they were made; other files are nobody's business here."""
    if not folder.is_dir():
        return {}
    found = [path for path in folder.iterdir() if OURS.fullmatch(path.name)]
    return {datetime.strptime(path.name, NAME).replace(tzinfo=UTC): path for path in found}


def newest(folder: Path) -> datetime | None:
    """When the newest archive of a folder was made, None where there is none."""
    return max(archives(folder), default=None)


def rotate(folder: Path, rule: Keep, zone: tzinfo) -> int:
    """Remove what the rule does not keep; how many went."""
    there = archives(folder)
    gone = there.keys() - kept(there, rule, zone)
    for at in gone:
        there[at].unlink()
    return len(gone)
