"""A book of many years: verified, its states made anew, backed up and brought back elsewhere, each by its command.

    python -m tests.benchmarks scale                              1,000,000 entries: some minutes
    SHEDBOOK_SCALE=10000000 python -m tests.benchmarks scale      the long form: an hour, and 40 GB of disk

A tenth of the book is measured first, and the processor time that an entry costs in the whole is held against what it
cost there: the time of the clock says as much about who else is at work. Memory is the peak of the command's process.
A verification that is killed (SIGKILL) half-way and goes on must come to the same verdict.
"""

import json
import os
import signal
import subprocess
import sys
import tempfile
import time
from collections.abc import Iterator, Mapping
from contextlib import contextmanager
from dataclasses import dataclass
from pathlib import Path

from tests.benchmarks.report import Report
from tests.benchmarks.years import Years

WHOLE = int(os.environ.get("SHEDBOOK_SCALE", "1000000"))
ROOT = Path(__file__).resolve().parents[2]
# Memory of a command in which Django, the rules and a part of the book are loaded.
MOST_MB = 400
# What a person waits for once in a year: for each million entries.
MOST_MINUTES = 3


def run(report: Report) -> None:
    years = Years()
    years.grow(WHOLE // 10)
    small, tenth = measured(), years.entries
    begun = time.monotonic()
    years.grow(WHOLE)
    print(f"   {years.entries:,} entries, made in {(time.monotonic() - begun) / 60:.1f} minutes", flush=True)
    big = measured()
    for name, cost in big.items():
        figure = f"scale: {name}, processor time an entry of {years.entries:,}, by that of {tenth:,}"
        each, before = cost.processor / years.entries * 1e6, small[name].processor / tenth * 1e6
        report.ratio(figure, each, before, unit="us", at_most=1.5)
        minutes = f"scale: {name}, minutes for {years.entries:,} entries"
        report.limit(minutes, cost.seconds / 60, unit="min", at_most=MOST_MINUTES * max(1, WHOLE / 1e6))
        report.limit(f"scale: {name}, peak memory", cost.megabytes, unit="MB", at_most=MOST_MB)
    report.ratio(
        "scale: a verification killed half-way and gone on with, by a whole one",
        killed_and_resumed(years.entries),
        big["verify_book"].processor,
        unit="s",
        at_most=1.25,
    )


@dataclass(frozen=True)
class Cost:
    """`processor`: seconds of it, in this process and those that it started (not in a database server)."""

    seconds: float
    processor: float
    megabytes: float


def measured() -> Mapping[str, Cost]:
    costs = {name: cost_of(name) for name in ("rebuild_states", "verify_book")}
    with tempfile.TemporaryDirectory(prefix="shedbook-scale-") as folder, elsewhere() as there:
        costs["backup"] = cost_of("backup", "--to", folder)
        (archive,) = Path(folder).glob("*.tar.gz")
        costs["restore"] = cost_of("restore", str(archive), **there)
    return costs


def cost_of(*command: str, **environment: str) -> Cost:
    """Of a command of `manage.py`, which must end well."""
    begun = time.monotonic()
    process = started(command, environment)
    _pid, status, used = os.wait4(process.pid, 0)
    process.returncode = os.waitstatus_to_exitcode(status)
    if process.returncode:
        raise RuntimeError(f"{' '.join(command)} ended with {process.returncode}.")
    cost = Cost(time.monotonic() - begun, used.ru_utime + used.ru_stime, used.ru_maxrss / 1024)
    print(f"   {command[0]}: {cost.seconds:.1f} s, {cost.megabytes:.0f} MB", flush=True)
    return cost


def started(command: tuple[str, ...], environment: Mapping[str, str]) -> "subprocess.Popen[bytes]":
    return subprocess.Popen(
        [sys.executable, "manage.py", *command],
        cwd=ROOT,
        env=os.environ | environment,
        stdout=subprocess.DEVNULL,
        stderr=subprocess.DEVNULL,
    )


@contextmanager
def elsewhere() -> Iterator[dict[str, str]]:
    """An empty place to restore to, as the environment of a command names it."""
    from django.db import connection

    with tempfile.TemporaryDirectory(prefix="shedbook-there-") as data:
        if connection.vendor == "sqlite":
            yield {"SHEDBOOK_DATA": data}
            return
        with connection.cursor() as cursor:
            cursor.execute("CREATE DATABASE restored")
        name = connection.settings_dict["NAME"]
        try:
            yield {
                "SHEDBOOK_DATA": data,
                "DATABASE_URL": os.environ["DATABASE_URL"].replace(f"/{name}?", "/restored?"),
            }
        finally:
            with connection.cursor() as cursor:
                cursor.execute("DROP DATABASE restored")


def killed_and_resumed(entries: int) -> float:
    """Processor seconds of both runs. The second one must go on where the first was, and find the book whole."""
    path = Path(os.environ["SHEDBOOK_DATA"]) / ".verify_book.json"
    process = started(("verify_book",), {})
    # Every entry is looked at twice, by its seal and by its state.
    while (done := kept(path)) < entries:
        if process.poll() is not None:
            raise RuntimeError("It was through before it could be killed.")
        time.sleep(0.05)
    process.kill()
    _pid, _status, used = os.wait4(process.pid, 0)
    process.returncode = -signal.SIGKILL
    print(f"   killed after {done:,} looks at {entries:,} entries", flush=True)
    return used.ru_utime + used.ru_stime + cost_of("verify_book", "--resume").processor


def kept(path: Path) -> int:
    """How many looks a run says that it is done with."""
    if not path.exists():
        return 0
    mark = json.loads(path.read_text("utf-8"))
    return int(mark["entries"] + mark["folded"])
