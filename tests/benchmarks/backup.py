"""A backup while the counters go on: what it costs them.

    python -m tests.benchmarks backup
    python -m tests.postgres -- python -m tests.benchmarks backup

Rounds in turns: counters that scan as fast as they are answered, alone, and while `manage.py backup` runs over and over
in a process of its own, as cron would start it.
"""

import os
import statistics
import subprocess
import sys
import tempfile
from collections.abc import Iterator
from contextlib import contextmanager

from tests.benchmarks import wire
from tests.benchmarks.counter import A_ROUND, BIG, Morning, fill
from tests.benchmarks.farm import small_farm
from tests.benchmarks.report import Report

ROUNDS, CLIENTS = 5, 8
AT_LEAST = 0.8
AGAIN = """
import subprocess, sys
while True:
    command = [sys.executable, "manage.py", "backup", "--to", sys.argv[1]]
    subprocess.run(command, check=True, stdout=subprocess.DEVNULL)
"""


def run(report: Report) -> None:
    morning = Morning(small_farm(), CLIENTS)
    fill(morning, BIG)
    alone, beside = [], []
    with wire.server("config.settings") as port:
        wire.saturated(port, morning.shares(A_ROUND))
        for number in range(ROUNDS):
            for backing_up in (False, True) if number % 2 else (True, False):
                if backing_up:
                    with backups():
                        beside.append(wire.saturated(port, morning.shares(A_ROUND)))
                else:
                    alone.append(wire.saturated(port, morning.shares(A_ROUND)))
    figure = f"backup: counters during a backup of {BIG:,} entries, by those alone"
    report.ratio(figure, statistics.median(beside), statistics.median(alone), unit="/s", at_least=AT_LEAST)


@contextmanager
def backups() -> Iterator[None]:
    """One after the other, until the round is over."""
    with tempfile.TemporaryDirectory() as folder:
        process = subprocess.Popen([sys.executable, "-c", AGAIN, folder], env=os.environ, process_group=0)
        try:
            yield
        finally:
            os.killpg(process.pid, 9)
            process.wait()
