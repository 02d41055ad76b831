"""SQLite's write-ahead log is cut at a random byte, or a byte of it is turned over: what reopens is a prefix.

A server is killed (SIGKILL) while its log holds what it acknowledged. Each try is a copy of database and log with the
log damaged as a disk may leave it after a power cut. The book that opens then must hold the first so many lines of
what was acknowledged, in order and without a hole, and be clean: entries and states were one transaction.
"""

import json
import shutil
import sqlite3
import subprocess
from contextlib import closing
from http.client import HTTPConnection
from pathlib import Path
from random import Random
from typing import Any

import pytest
from django.db import connection
from rest_framework.authtoken.models import Token

from crews.models import Device
from equipment.actions.verify_book import verify_book
from equipment.models import ChainHead, Entry
from tests.cast import Farm, found_farm
from tests.elsewhere import instead
from tests.shed import Shed

pytestmark = [pytest.mark.django_db(transaction=True), pytest.mark.only_on("sqlite")]
LINES = 40


@pytest.fixture
def killed(tmp_path: Path) -> tuple[Path, list[str], int]:
    """Database and log as the kill left them, the ids that were acknowledged, in order, and how many lines the
    database held before any of them."""
    farm = found_farm()
    tags, before = farm.gear("bag", 4, days_ago=1), Entry.objects.count()
    device = Device.objects.create(kind=Device.Kind.PHONE, store=farm.stores["A"])
    head = {"Authorization": f"Token {Token.objects.create(user=farm.users['rosa']).key}"}
    _emptied()
    shed = Shed()
    try:
        shed.open()
        acknowledged = [_told(farm, shed, device, head, tags[n % 4], n) for n in range(LINES)]
        shed.kill()
        kept = tmp_path / "killed.sqlite3"
        for end in ("", "-wal"):
            # By another process: to read it in this one would drop the locks that SQLite holds on it here.
            subprocess.run(["cp", f"{connection.settings_dict['NAME']}{end}", f"{kept}{end}"], check=True)
    finally:
        shed.close()
    return kept, acknowledged, before


def _emptied() -> None:
    """All that is written so far goes from the log into the database, so that only what follows can be lost."""
    with connection.cursor() as cursor:
        cursor.execute("PRAGMA wal_checkpoint(TRUNCATE)")


def _told(farm: Farm, shed: Shed, device: Device, head: dict[str, str], tag: str, n: int) -> str:
    entry = farm.entry(("missed", "found")[n // 4 % 2], item=tag, note=f"no. {n}")
    line = HTTPConnection("127.0.0.1", shed.port, timeout=30)
    body = json.dumps(farm.batch([entry], "note", device=str(device.pk)))
    line.request("POST", "/api/entries/", body, head | {"Content-Type": "application/json"})
    (answer,) = json.loads(line.getresponse().read())["answers"]
    line.close()
    assert answer["outcome"] == "recorded", answer
    return str(answer["id"])


def test_a_cut_log_reopens_as_a_prefix(
    killed: tuple[Path, list[str], int], tmp_path: Path, times: Any, figure: Any
) -> None:
    kept, acknowledged, before = killed
    log, tries, random = Path(f"{kept}-wal").read_bytes(), times(20, 500), Random(500)
    lengths = []
    for number in range(tries):
        damaged = _cut(log, random) if number % 2 else _turned(log, random)
        lengths.append(_reopened(kept, damaged, tmp_path, acknowledged, before))
    assert _reopened(kept, log, tmp_path, acknowledged, before) == LINES, "whole, it holds all"
    assert len(set(lengths)) > min(tries, LINES) // 4, "nearly always the same was left: this tests little"
    figure(
        f"{tries} damaged logs of {len(log)} bytes ({tries // 2} cut, the others with a byte turned over): each opened"
        f" as the first {min(lengths)} to {max(lengths)} of {LINES} acknowledged lines, clean"
    )


def _cut(log: bytes, random: Random) -> bytes:
    return log[: random.randrange(len(log))]


def _turned(log: bytes, random: Random) -> bytes:
    place = random.randrange(len(log))
    return log[:place] + bytes([log[place] ^ 1 << random.randrange(8)]) + log[place + 1 :]


def _reopened(kept: Path, log: bytes, folder: Path, acknowledged: list[str], before: int) -> int:
    """How many of the acknowledged lines are in the book that opens; fails where they are not the first ones."""
    copy = folder / "reopened.sqlite3"
    shutil.copy(kept, copy)
    Path(f"{copy}-wal").write_bytes(log)
    Path(f"{copy}-shm").unlink(missing_ok=True)
    with closing(sqlite3.connect(copy)) as plain:
        assert plain.execute("PRAGMA integrity_check").fetchone() == ("ok",)
    with instead(copy):
        lines = Entry.objects.filter(store="A").order_by("position")
        ids = [str(each) for each in lines.values_list("pk", flat=True)]
        assert list(lines.values_list("position", flat=True)) == list(range(1, len(ids) + 1))
        added = Entry.objects.count() - before
        assert ids[len(ids) - added :] == acknowledged[:added]
        assert ChainHead.objects.get(store="A").position == len(ids)
        assert not verify_book().findings
    return added
