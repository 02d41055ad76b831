"""The disk is full, at one point after another of what a server writes: 503, nothing acknowledged that is not there,
and it goes on by itself once there is room.

At each point some bytes more are free than at the one before, so that it is another write that fails: of the log, its
index, the database at a checkpoint. The same server process serves through all of them.
"""

import hashlib
import json
import subprocess
from collections import Counter
from collections.abc import Iterator
from http.client import HTTPConnection
from io import BytesIO
from pathlib import Path
from typing import Any

import pytest
from django.db import connection
from PIL import Image
from rest_framework.authtoken.models import Token

from equipment.actions.verify_book import verify_book
from equipment.models import Entry
from tests import full_disk
from tests.cast import Farm, found_farm
from tests.elsewhere import instead
from tests.full_disk import Limit, Tmpfs
from tests.shed import Shed

pytestmark = [pytest.mark.django_db(transaction=True), pytest.mark.only_on("sqlite")]
POINTS, FEW, STEP = 20, 5, 9_000  # bytes
MOST_SENT = 60
Answer = tuple[int, dict[str, str], bytes]


class Client:
    """A client of the server, with a storeman's token."""

    def __init__(self, farm: Farm, port: int, token: str) -> None:
        self.farm, self.port, self.token = farm, port, token

    def ask(self, method: str, path: str, body: Any = None, kind: str = "application/json") -> Answer:
        line = HTTPConnection("127.0.0.1", self.port, timeout=60)
        head = {"Authorization": f"Token {self.token}", "Content-Type": kind}
        line.request(method, path, body, head)
        answer = line.getresponse()
        said = answer.read()
        line.close()
        return answer.status, dict(answer.headers), said

    def tell(self, entry: dict[str, Any]) -> Answer:
        return self.ask("POST", "/api/entries/", json.dumps(self.farm.batch([entry], "note")))


@pytest.fixture(params=[full_disk.made, Limit])
def disk(request: pytest.FixtureRequest, tmp_path: Path) -> Iterator[Tmpfs | Limit]:
    """The second is what a machine has where nothing may be mounted: it must not be found broken there first."""
    (tmp_path / "disk").mkdir()
    disk = request.param(tmp_path / "disk")
    yield disk
    disk.close()


def test_a_full_disk_is_said_and_got_over(disk: Tmpfs | Limit, times: Any, figure: Any) -> None:
    farm = found_farm()
    (bag,) = farm.gear("bag", days_ago=1)
    token = Token.objects.create(user=farm.users["rosa"]).key
    _empty_the_log()
    database = disk.folder / "shedbook.sqlite3"
    # By another process: to read it in this one would drop the locks that SQLite holds on it here.
    subprocess.run(["cp", connection.settings_dict["NAME"], str(database)], check=True)
    acknowledged: list[str] = []
    seen: Counter[int] = Counter()
    with instead(database):
        shed = Shed()
        try:
            shed.open()
            client = Client(farm, shed.port, token)
            points = POINTS if isinstance(disk, Tmpfs) else FEW
            for point in range(times(points, 5 * points)):
                _at(point, disk, shed, client, bag, acknowledged, seen)
        finally:
            shed.close()
        there = set(map(str, Entry.objects.values_list("pk", flat=True)))
        assert set(acknowledged) <= there and len(acknowledged) == len(set(acknowledged))
        assert not verify_book().findings
    figure(
        f"{point + 1} points on {disk.name}: {seen[503]} answers of 503, {seen[500]} of 500, {len(acknowledged)} lines"
        " acknowledged and all there; each line that was refused was taken by the same server once there was room"
    )


def _at(
    point: int,
    disk: Tmpfs | Limit,
    shed: Shed,
    client: Client,
    bag: str,
    acknowledged: list[str],
    seen: Counter[int],
) -> None:
    # A log that has once grown is written over from its start, and would need no room for long.
    _empty_the_log()
    disk.leave(shed.server, point % POINTS * STEP)
    refused = _until_full(client, bag, acknowledged, seen)
    for status, head, said in (_photo(client, point), _page(client)):
        seen[status] += 1
        assert status in (200, 201, 302, 503), said
        if status == 503:
            assert head["Retry-After"]
    disk.make_room(shed.server)
    before = Entry.objects.count()
    status, _, said = client.tell(refused)
    assert status == 200, said
    (answer,) = json.loads(said)["answers"]
    assert answer["outcome"] == "recorded" and Entry.objects.count() == before + 1
    acknowledged.append(refused["id"])
    assert _photo(client, point)[0] in (200, 201)


def _empty_the_log() -> None:
    with connection.cursor() as cursor:
        cursor.execute("PRAGMA wal_checkpoint(TRUNCATE)")


def _until_full(client: Client, bag: str, acknowledged: list[str], seen: Counter[int]) -> dict[str, Any]:
    """The entry that was refused for want of room; those before it were acknowledged."""
    for _ in range(MOST_SENT):
        entry = client.farm.entry("missed", item=bag, note="x" * 900)
        status, head, said = client.tell(entry)
        seen[status] += 1
        if status == 200:
            acknowledged.append(entry["id"])
            continue
        assert (status, json.loads(said)["code"]) == (503, "no_room"), said
        assert int(head["Retry-After"]) > 0 and "make room" in json.loads(said)["say"]
        return entry
    raise AssertionError("it never became full")


def _photo(client: Client, point: int) -> Answer:
    file = BytesIO()
    Image.effect_noise((200, 200), point + 1).save(file, "PNG")
    name = hashlib.sha256(file.getvalue()).hexdigest()
    return client.ask("PUT", f"/api/photos/{name}/", file.getvalue(), "image/png")


def _page(client: Client) -> Answer:
    return client.ask("GET", "/")
