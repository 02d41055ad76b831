"""Measure: `python -m tests.benchmarks NAME [NAME ...]` runs `tests.benchmarks.NAME.run(report)` and prints one table.

    python -m tests.benchmarks counter fold labels
    python -m tests.postgres -- python -m tests.benchmarks counter
    python -m tests.benchmarks all      every one, on SQLite and on PostgreSQL, each in a book of its own; hours

The book they write is a scratch one: a new SQLite file, or the empty database that DATABASE_URL names. The exit
status is 1 where a figure is not as wanted.
"""

import importlib
import os
import sys
import tempfile
import time
from pathlib import Path

from tests.benchmarks import everything
from tests.benchmarks.report import Report

OURS = {"bare", "bare_urls", "everything", "farm", "meter", "orchard", "report", "timing", "wire", "years"}


def names() -> list[str]:
    """Benchmarks there are."""
    files = {file.stem for file in Path(__file__).parent.glob("[a-z]*.py")}
    return sorted(name for name in files - OURS if not name.startswith("test_"))


def main(wanted: list[str]) -> int:
    if wanted == ["all"]:
        report = everything.measured(names())
        print(f"\n{report.table()}")
        return 0 if report.ok else 1
    unknown = [name for name in wanted if name not in names()]
    if unknown or not wanted:
        print(
            f"Usage: python -m tests.benchmarks NAME ... | all\nBenchmarks: {', '.join(names())}",
            file=sys.stderr,
        )
        return 2
    with tempfile.TemporaryDirectory(prefix="shedbook-bench-") as data:
        os.environ["SHEDBOOK_DATA"] = data
        open_scratch_book()
        report = Report()
        for name in wanted:
            print(f"== {name}", flush=True)
            started = time.monotonic()
            importlib.import_module(f"tests.benchmarks.{name}").run(report)
            print(f"   {time.monotonic() - started:.1f} s", flush=True)
    report.keep_for_whoever_asked()
    print(f"\n{report.table()}")
    return 0 if report.ok else 1


def open_scratch_book() -> None:
    """Django, and an empty database with its tables; refuses one that holds tables, lest it be a farm's."""
    os.environ.setdefault("DJANGO_SETTINGS_MODULE", "config.settings")
    import django
    from django.core.management import call_command
    from django.db import connection

    django.setup()
    if connection.introspection.table_names():
        sys.exit(
            "The database that DATABASE_URL names holds tables already; benchmarks write, so give an empty one."
        )
    call_command("migrate", verbosity=0)
    print(f"On {connection.display_name}", flush=True)


if __name__ == "__main__":
    sys.exit(main(sys.argv[1:]))
