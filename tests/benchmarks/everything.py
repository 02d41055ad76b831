"""Every benchmark on every database: each in a process and a book of its own, so that none meets what another left."""

import os
import subprocess
import sys
import tempfile
from collections.abc import Iterable, Iterator
from contextlib import contextmanager
from pathlib import Path

from tests import postgres
from tests.benchmarks.report import KEPT, Report

# A database has no part in these.
ONCE = {"labels", "orchard_load", "counter_page"}
# These are about the one alone.
ONLY_ON = {"stores": "postgresql"}


def measured(names: Iterable[str]) -> Report:
    """One table of all; a benchmark that breaks off is a line that is not as wanted."""
    report = Report()
    for database in ("sqlite", "postgresql"):
        for name in names:
            if (name in ONCE and database != "sqlite") or ONLY_ON.get(name, database) != database:
                continue
            with book(database) as environment:
                run(report, name, database, environment)
    return report


@contextmanager
def book(database: str) -> Iterator[dict[str, str]]:
    """The environment of a process that finds an empty database there."""
    environment = {name: value for name, value in os.environ.items() if name != "DATABASE_URL"}
    if database == "sqlite":
        yield environment
        return
    with postgres.server(durable=True) as url:
        yield environment | {"DATABASE_URL": url}


def run(report: Report, name: str, database: str, environment: dict[str, str]) -> None:
    with tempfile.TemporaryDirectory() as folder:
        kept = Path(folder) / "figures.json"
        command = [sys.executable, "-m", "tests.benchmarks", name]
        print(f"\n#### {name}, {database}", flush=True)
        subprocess.run(command, env=environment | {KEPT: str(kept)})
        if kept.exists():
            report.add(kept, f"[{database}]")
        else:
            report.failed(f"[{database}] {name}: broke off")
