"""A whole morning at once: sixteen counters scan, phones bring their days, a register prints again and again.

    python -m tests.benchmarks load                              a minute of it
    SHEDBOOK_LOAD_SECONDS=600 python -m tests.benchmarks load    ten

A scan's wait is counted from when it was due. A counter that meets an error, a phone's line that is not recorded and a
register that is not a whole PDF each end the run.
"""

import os
import threading
import time
from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import dataclass, field
from datetime import timedelta
from http.client import HTTPConnection
from typing import Any

from django.utils import timezone

from tests.benchmarks import wire
from tests.benchmarks.counter import SMALL, Morning, fill
from tests.benchmarks.farm import small_farm
from tests.benchmarks.orchard import found_orchard
from tests.benchmarks.report import Report
from tests.benchmarks.sync import answered, asked
from tests.benchmarks.timing import percentile

CLIENTS, SCANS_A_SECOND, LONGEST_WAIT = 16, 20, 150
SECONDS = int(os.environ.get("SHEDBOOK_LOAD_SECONDS", "60"))
# Forty batches of 500 in ten minutes: sixty crews' day and more.
A_BATCH_EACH = 15


def run(report: Report) -> None:
    from equipment.actions.load_catalogue import load_catalogue

    farm = small_farm()
    load_catalogue()
    phones, morning = found_orchard(farm), Morning(farm, CLIENTS)
    fill(morning, SMALL)
    batches = [asked(phone, number) for number in (0, 1) for phone in phones][: SECONDS // A_BATCH_EACH]
    register = printed(farm.users["olga"])
    with wire.server("config.settings") as port:
        scans = morning.shares(SCANS_A_SECOND * SECONDS // CLIENTS)
        with meanwhile(lambda: sync(port, batches)) as phones_of, meanwhile(register.over(port)) as papers:
            waits = wire.open_loop(port, scans, SCANS_A_SECOND)
    p50, p99 = (percentile(waits, percent) * 1000 for percent in (50, 99))
    beside = f"{phones_of.done} batches of phones and {papers.done} registers beside"
    figure = f"load: p99 of {len(waits):,} scans of {CLIENTS} counters in {SECONDS} s, {beside}"
    report.limit(figure, p99, unit="ms", at_most=LONGEST_WAIT)
    report.limit("load: median wait of a scan", p50, unit="ms", at_most=LONGEST_WAIT)
    report.limit(
        "load: batches of phones and registers meanwhile", min(phones_of.done, papers.done), at_least=1
    )


@dataclass
class Work:
    """Something that goes on beside the counters until they are done; `done` says how often it was."""

    steps: Iterator[None]
    done: int = 0
    failed: list[Exception] = field(default_factory=list)
    over: threading.Event = field(default_factory=threading.Event)

    def go_on(self) -> None:
        try:
            for _ in self.steps:
                self.done += 1
                if self.over.is_set():
                    return
        except Exception as error:
            self.failed.append(error)


@contextmanager
def meanwhile(steps: Any) -> Iterator[Work]:
    work = Work(steps())
    thread = threading.Thread(target=work.go_on)
    thread.start()
    yield work
    work.over.set()
    thread.join()
    if work.failed:
        raise work.failed[0]


def sync(port: int, batches: list[bytes]) -> Iterator[None]:
    """One batch each A_BATCH_EACH seconds, phone after phone."""
    for body in batches:
        begun = time.monotonic()
        answered(port, body, "recorded")
        yield
        time.sleep(max(0.0, A_BATCH_EACH - (time.monotonic() - begun)))


@dataclass(frozen=True)
class Paper:
    """A printing that was asked for, and the session of whoever prints it."""

    path: str
    session: str

    def over(self, port: int) -> Any:
        """It is made and fetched, again and again, without a pause."""

        def steps() -> Iterator[None]:
            while True:
                line = HTTPConnection("127.0.0.1", port, timeout=300)
                line.request("GET", self.path, headers={"Cookie": f"sessionid={self.session}"})
                answer = line.getresponse()
                body = answer.read()
                line.close()
                if answer.status != 200 or not body.rstrip().endswith(b"%%EOF"):
                    raise RuntimeError(f"No register: {answer.status} {body[:200]!r}")
                yield

        return steps


def printed(officer: Any) -> Paper:
    """The handouts of the season that `fill` made, some 5,000 lines."""
    from equipment.actions.print_register import print_register
    from equipment.models.registers import REGISTERS, Asked
    from tests.benchmarks.counter import OURS, signed_in

    today = timezone.localdate()
    what = Asked(today - timedelta(days=53), today - timedelta(days=48))
    printing = print_register(REGISTERS["handout"], what, "pdf", officer, timezone.now())
    if printing.lines < 1000:
        raise RuntimeError(f"A register of {printing.lines} lines is no load.")
    return Paper(f"/registers/printings/{printing.code}/", signed_in(officer, OURS))
