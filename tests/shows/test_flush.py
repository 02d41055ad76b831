"""What is acknowledged is on the disk: seen from outside, by the calls that a real `serve` makes of the kernel.

strace tells of every write to SQLite's write-ahead log, of every flush of it, and of the first bytes of every answer on
their way to the socket. PostgreSQL promises it by its settings: `tests/faults/test_durable.py`.
"""

import json
import os
import re
import signal
import subprocess
import sys
from collections.abc import Iterator
from concurrent.futures import ThreadPoolExecutor
from http.client import HTTPConnection
from pathlib import Path
from typing import Any

import pytest
from rest_framework.authtoken.models import Token

from tests import processes
from tests.cast import Farm, found_farm
from tests.traced_calls import CALLS, seen, unflushed

pytestmark = [pytest.mark.django_db(transaction=True), pytest.mark.only_on("sqlite")]
CLIENTS = 4
STRACE = ["strace", "-f", "-y", "-qq", "-s", "32", "-e", f"trace={CALLS}", "-e", "signal=none", "-o"]


@pytest.fixture
def address(tmp_path: Path) -> Iterator[tuple[str, Path]]:
    """Host and port of a `serve` that strace looks at, and the file that it writes."""
    trace = tmp_path / "calls"
    server = subprocess.Popen(
        [*STRACE, str(trace), sys.executable, "manage.py", "serve", "--port", "0"],
        cwd=processes.ROOT,
        env=processes.environment(),
        stdout=subprocess.PIPE,
        stderr=subprocess.STDOUT,
        text=True,
    )
    assert server.stdout
    first = server.stdout.readline()
    if not (found := re.search(r"http://(\S+)/", first)):
        pytest.fail(f"strace must be let look at a process (ptrace), and `serve` must start: {first}")
    yield found[1], trace
    # strace itself keeps signals off; it ends with what it looks at.
    (looked_at,) = Path(f"/proc/{server.pid}/task/{server.pid}/children").read_text().split()
    os.kill(int(looked_at), signal.SIGTERM)
    server.communicate(timeout=60)


def test_the_log_is_flushed_before_each_acknowledgement(
    address: tuple[str, Path], times: Any, figure: Any
) -> None:
    farm, (where, trace), each = found_farm(), address, times(5, 250)
    token = Token.objects.create(user=farm.users["rosa"]).key
    bags = farm.gear("bag", CLIENTS, days_ago=1)
    batches = [[_told(farm, bag, n) for n in range(each)] for bag in bags]
    with ThreadPoolExecutor(CLIENTS) as clients:
        acknowledged = sum(clients.map(lambda bodies: _sent(where, token, bodies), batches))
    assert acknowledged == CLIENTS * each
    calls = list(seen(trace.read_text(errors="replace").splitlines()))
    answers, bad = unflushed(calls)
    assert (answers, bad) == (acknowledged, [])
    flushes = sum(call.what == "flushed" for call in calls)
    figure(
        f"{answers} acknowledgements to {CLIENTS} clients at once, each after its own line was written to the log and"
        f" that was flushed; {flushes} flushes"
    )


def _told(farm: Farm, bag: str, n: int) -> str:
    entry = farm.entry(("missed", "found")[n % 2], item=bag)
    return json.dumps(farm.batch([entry], "note"))


def _sent(where: str, token: str, bodies: list[str]) -> int:
    """How many were recorded and acknowledged."""
    line = HTTPConnection(where, timeout=60)
    head = {"Authorization": f"Token {token}", "Content-Type": "application/json"}
    done = 0
    for body in bodies:
        line.request("POST", "/api/entries/", body, head)
        answer = line.getresponse()
        (said,) = json.loads(answer.read())["answers"]
        done += answer.status == 200 and said["outcome"] == "recorded"
    line.close()
    return done


LOG, SOCKET = "5</data/shedbook.sqlite3-wal>", "9<socket:[77]>"
WRITE, FLUSH = f'pwrite64({LOG}, "x"..., 4096, 0) = 4096', f"fdatasync({LOG}) = 0"
ANSWER = f'sendto({SOCKET}, "HTTP/1.1 200 OK\\r\\n"..., 300, 0, NULL, 0) = 300'


@pytest.mark.parametrize(
    ("lines", "bad"),
    [
        (["7 " + WRITE, "7 " + FLUSH, "7 " + ANSWER], []),
        (["7 " + WRITE, "7 " + ANSWER, "7 " + FLUSH], [1]),
        (["7 " + ANSWER], [1]),
        (["7 " + WRITE, "8 " + FLUSH, "7 " + ANSWER], [1]),
        (["7 " + WRITE, "7 " + FLUSH, "7 " + WRITE, "7 " + ANSWER], [1]),
        (["7 " + WRITE, f"7 fdatasync({LOG}) = -1 EIO (Input/output error)", "7 " + ANSWER], [1]),
        (["7 " + WRITE, f"7 fdatasync({LOG} <unfinished ...>", "7 " + ANSWER, "7 <... fdatasync resumed>) = 0"], [1]),
        (["7 " + WRITE, f"7 fdatasync({LOG} <unfinished ...>", "7 <... fdatasync resumed>) = 0", "7 " + ANSWER], []),
    ],
)  # fmt: skip
def test_the_reader_of_calls_tells_a_late_flush(lines: list[str], bad: list[int]) -> None:
    """By strace's own form of a line (strace(1)), written by hand."""
    assert unflushed(seen(lines)) == (1, bad)
