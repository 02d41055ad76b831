"""The server is killed again and again while it takes in what a phone sends; nothing acknowledged is lost or doubled.

A phone sends batch after batch and sends each again until it is answered. For each, the server is killed (SIGKILL, as
the kernel or a power cut does it) at a moment drawn from the time that a batch takes: before it is read, within one of
its transactions, between two of them, or while it is answered. What was acknowledged must then be in the book, once.
"""

import json
import threading
import time
from collections.abc import Iterator
from datetime import timedelta
from http.client import HTTPConnection, HTTPException
from random import Random
from typing import Any
from uuid import UUID

import pytest
from django.utils import timezone
from rest_framework.authtoken.models import Token

from crews.models import Device
from equipment.actions.verify_book import verify_book
from equipment.models import Entry, ItemState
from tests.cast import Farm, found_farm
from tests.shed import Shed

pytestmark = pytest.mark.django_db(transaction=True)
BATCH = 60
# A batch that is answered before its server dies shows nothing: so many are sent at most for each that must be cut.
TRIES = 4
VERBS = ("missed", "found", "handed_out", "returned", "fault_found")
Entries = list[dict[str, Any]]


@pytest.fixture
def shed() -> Iterator[Shed]:
    shed = Shed()
    yield shed
    shed.close()


class Phone:
    """It keeps what was acknowledged, as (id, outcome)."""

    def __init__(self, farm: Farm, port: int) -> None:
        self.farm, self.port = farm, port
        self.device = Device.objects.create(kind=Device.Kind.PHONE, store=farm.stores["A"])
        self.token = Token.objects.create(user=farm.users["rosa"]).key
        self.acknowledged: dict[UUID, str] = {}

    def send(self, entries: Entries) -> bool:
        """Whether it was answered; the server may die meanwhile."""
        body = json.dumps(self.farm.batch(entries, "note", device=str(self.device.pk)))
        line = HTTPConnection("127.0.0.1", self.port, timeout=30)
        head = {"Authorization": f"Token {self.token}", "Content-Type": "application/json"}
        try:
            line.request("POST", "/api/entries/", body, head)
            answer = line.getresponse()
            said = json.loads(answer.read())
        except (
            OSError,
            HTTPException,
            ValueError,
        ):  # no line, or an answer that was cut: by HTTP, or as JSON
            return False
        finally:
            line.close()
        assert answer.status == 200, said
        self.acknowledged |= {UUID(each["id"]): each["outcome"] for each in said["answers"]}
        return True


def told(farm: Farm, tags: list[str], number: int) -> Entries:
    """A batch of a phone: acts of a few entries each, some with a note."""
    random, start = Random(number), number * BATCH
    entries = []
    for n in range(BATCH):
        verb = random.choice(VERBS)
        entry = farm.entry(
            verb, item=random.choice(tags), device_seq=start + n, act=str(UUID(int=start + n // 3))
        )
        entry["happened_at"] = (
            timezone.now() - timedelta(seconds=1) + timedelta(microseconds=start + n)
        ).isoformat()
        if verb == "handed_out":
            entry["picker"] = farm.badges[random.choice(("ana", "ben"))]
        if verb == "fault_found":
            entry |= {"detail": {"fault": "bag_hole"}, "note": "on the thorn fence"}
        entries.append(entry)
    return entries


def test_nothing_acknowledged_is_lost_or_doubled(shed: Shed, times, figure) -> None:
    kills, farm = times(50, 1000), found_farm()
    tags, random = farm.gear("bag", 20, days_ago=1), Random(50)
    phone, before = Phone(farm, shed.port), Entry.objects.count()
    shed.open()
    whole = [_seconds(phone, told(farm, tags, number)) for number in range(3)]
    cut, number = 0, len(whole)
    while cut < kills and number < TRIES * kills:
        entries = told(farm, tags, number)
        cut += not _killed_while(shed, phone, entries, random.uniform(0, min(whole)))
        while not phone.send(entries):
            pass
        number += 1
    sent = number * BATCH
    assert cut == kills, f"only {cut} of {number} were cut: this tests little"
    assert set(phone.acknowledged.values()) <= {"recorded", "known"}
    assert "known" in phone.acknowledged.values(), "nothing was recorded before a kill"
    assert len(phone.acknowledged) == sent
    assert Entry.objects.filter(pk__in=phone.acknowledged).count() == sent
    assert Entry.objects.count() == before + sent
    assert ItemState.objects.filter(tag__in=tags).count() == len(tags)
    assert verify_book().findings == ()
    figure(f"{cut} kills in the middle of {number} batches; {sent} lines acknowledged, each in the book once")


def _seconds(phone: Phone, entries: Entries) -> float:
    started = time.monotonic()
    assert phone.send(entries)
    return time.monotonic() - started


def _killed_while(shed: Shed, phone: Phone, entries: Entries, after: float) -> bool:
    """Whether the phone had its answer all the same."""
    answered: list[bool] = []
    sending = threading.Thread(target=lambda: answered.append(phone.send(entries)))
    sending.start()
    time.sleep(after)
    shed.kill()
    shed.open()  # a request that the dead one had not taken yet waits for this one
    sending.join()
    return answered == [True]
