"""Hundreds of uploads that nobody means well with, over HTTP to a real server: no 5xx, and memory stays bounded.

Four lines at a time, as a farm's network could bring them. Each must be answered, or its line closed, within the time
that is given; afterwards the same process still takes in an honest photo and an honest batch.
"""

import json
import os
import re
import signal
import socket
from collections import Counter
from collections.abc import Iterator
from concurrent.futures import ThreadPoolExecutor
from dataclasses import replace
from http.client import HTTPConnection
from pathlib import Path
from random import Random
from typing import Any

import pytest
from django.conf import settings
from django.test import Client
from rest_framework.authtoken.models import Token

from tests import hostile, processes
from tests.cast import Farm
from tests.pictures import file, noise

pytestmark = pytest.mark.django_db(transaction=True)
AT_ONCE = 4
SECONDS = 60
# The largest honest photo, decoded, is 24 megapixels of three bytes, and is shrunk in a copy; four at once.
MOST_MEGABYTES = 700


@pytest.fixture
def server(farm: Farm, monkeypatch: pytest.MonkeyPatch) -> Iterator[Any]:
    monkeypatch.setenv("SHEDBOOK_LOG", "off")
    started = processes.start("serve", "--port", "0")
    said = re.search(r":(\d+)/", started.stdout.readline())
    assert said
    yield started.pid, int(said[1])
    for each in list(family(started.pid)):
        os.kill(each, signal.SIGKILL)
    started.communicate()


def credentials(farm: Farm) -> dict[str, dict[str, str]]:
    """By the way in: a program's token; a browser's session, with what shows that its form is ours."""
    token = Token.objects.create(user=farm.users["rosa"]).key
    browser = Client(enforce_csrf_checks=True)
    browser.force_login(farm.users["rosa"], backend="crews.signing_in.RoleBackend")
    browser.get("/me/")
    session, csrf = browser.cookies[settings.SESSION_COOKIE_NAME].value, browser.cookies["csrftoken"].value
    cookies = f"{settings.SESSION_COOKIE_NAME}={session}; csrftoken={csrf}"
    return {"token": {"Authorization": f"Token {token}"}, "session": {"Cookie": cookies, "X-CSRFToken": csrf}}


def answered(port: int, raw: bytes) -> int:
    """The status; 0 where the line was closed without one."""
    with socket.create_connection(("127.0.0.1", port), timeout=SECONDS) as line:
        try:
            line.sendall(raw)
            line.shutdown(socket.SHUT_WR)
        except OSError:
            pass  # it was refused before all of it was sent; the answer may be there
        said = b""
        try:
            while b"\r\n" not in said and (more := line.recv(4096)):
                said += more
        except ConnectionError:
            pass
    status = re.match(rb"HTTP/1\.[01] (\d{3})", said)
    return int(status[1]) if status else 0


def family(pid: int) -> Iterator[int]:
    yield pid
    for child in Path(f"/proc/{pid}/task/{pid}/children").read_text().split():
        yield from family(int(child))


def peak(pid: int) -> float:
    """The most memory that one process of the server ever held, in MB (`VmHWM`)."""
    sizes = [re.search(r"VmHWM:\s+(\d+)", Path(f"/proc/{each}/status").read_text()) for each in family(pid)]
    return max(int(size[1]) for size in sizes if size) / 1000


def honest(farm: Farm, port: int, own: dict[str, str], tag: str) -> None:
    body = file(noise(320, 240))
    batch = farm.batch([farm.entry("handed_out", item=tag, picker=farm.badges["ana"])])
    for sent in (hostile.photo(body), hostile.batch(json.dumps(batch).encode())):
        line = HTTPConnection("127.0.0.1", port, timeout=SECONDS)
        line.request(sent.method, sent.path, sent.body, sent.heads | own)
        answer = line.getresponse()
        said = answer.read()
        line.close()
        assert answer.status in (200, 201), said
        assert b"refused" not in said


def test_nothing_hostile_breaks_the_server(farm: Farm, server: Any, times: Any, figure: Any) -> None:
    pid, port = server
    ways, (first, second, torn) = credentials(farm), farm.gear("bag", 3)
    honest(farm, port, ways["token"], first)
    before, known = peak(pid), list(family(pid))
    asked = list(hostile.drawn(times(62, 500), Random(500)))
    sent = [replace(each, path=each.path.replace("{tag}", torn)) for _, each in asked]
    with ThreadPoolExecutor(AT_ONCE) as lines:
        statuses = list(lines.map(lambda each: answered(port, each.raw(ways[each.by])), sent))
    failed = [(name, status) for (name, _), status in zip(asked, statuses, strict=True) if status >= 500]
    assert failed == []
    after = peak(pid)
    assert list(family(pid)) == known, "a process of the server died"
    honest(farm, port, ways["token"], second)
    assert after <= MOST_MEGABYTES
    kinds = Counter(statuses)
    assert kinds[0] <= len(asked) // 4 and set(kinds) & {400, 413}, kinds
    said = ", ".join(f"{count} × {status or 'closed'}" for status, count in sorted(kinds.items()))
    figure(
        f"{len(asked)} hostile uploads: {said}; no 5xx; memory at most {after:.0f} MB ({before:.0f} before)"
    )


def test_each_kind_is_drawn_and_no_two_are_alike() -> None:
    """The short form has each kind twice."""
    drawn = list(hostile.drawn(62, Random(1)))
    assert {name for name, _ in drawn} == set(hostile.kinds()) and len(hostile.kinds()) <= 31
    assert len({sent.raw({}) for _, sent in drawn}) > 50
