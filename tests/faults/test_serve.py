"""`serve` as a farm runs it: a real process that answers, refuses a taken port, and stops cleanly."""

import json
import re
import signal
import socket
import time
import urllib.error
import urllib.request
from collections.abc import Callable, Iterator
from concurrent.futures import ThreadPoolExecutor
from pathlib import Path
from subprocess import Popen

import pytest
from rest_framework.authtoken.models import Token

from tests import processes

pytestmark = pytest.mark.django_db(transaction=True)
SECONDS_TO_STOP = 15


@pytest.fixture
def open_shed() -> Iterator[Callable[..., tuple[Popen[str], str]]]:
    """`open_shed(*arguments)`: the server under way on a free port, and its address."""
    started: list[Popen[str]] = []

    def opened(*arguments: str) -> tuple[Popen[str], str]:
        server = processes.start("serve", "--port", "0", *arguments)
        started.append(server)
        first = server.stdout.readline()
        address = re.search(r"http://\S+/", first)
        assert address, first + server.stdout.read()
        return server, address.group()

    yield opened
    for server in started:
        server.kill()
        server.communicate()


def get(address: str, token: str = "") -> tuple[int, bytes]:
    """Status and body of one request."""
    request = urllib.request.Request(address, headers={"Authorization": f"Token {token}"} if token else {})
    try:
        with urllib.request.urlopen(request, timeout=20) as answer:
            return answer.status, answer.read()
    except urllib.error.HTTPError as refused:
        with refused:
            return refused.code, refused.read()


def workers(server: Popen[str], expected: int) -> int:
    """How many processes serve: gunicorn starts them one after the other, so give it time to reach `expected`."""
    children = Path(f"/proc/{server.pid}/task/{server.pid}/children")
    for _ in range(100):
        if len(children.read_text().split()) >= expected:
            break
        time.sleep(0.1)
    time.sleep(1)  # and time to start one too many
    return len(children.read_text().split())


@pytest.mark.parametrize("stop", [signal.SIGINT, signal.SIGTERM])
def test_it_answers_many_at_once_and_stops_cleanly(farm, open_shed, stop):
    token = Token.objects.create(user=farm.users["rosa"]).key
    server, address = open_shed()
    with ThreadPoolExecutor(8) as clients:
        answers = list(clients.map(get, [f"{address}api/stores/"] * 40, [token] * 40))
    assert {code for code, _ in answers} == {200}
    assert all([store["code"] for store in json.loads(body)["results"]] == ["A", "B"] for _, body in answers)
    server.send_signal(stop)
    said, _ = server.communicate(timeout=SECONDS_TO_STOP)
    assert (server.returncode, said) == (0, "")
    with pytest.raises(urllib.error.URLError):
        get(address)


def test_strangers_and_unknown_addresses_are_answered_too(open_shed):
    _, address = open_shed()
    assert get(f"{address}api/stores/")[0] == 401
    assert get(f"{address}nowhere/")[0] == 404


def test_a_taken_port_is_refused_in_one_sentence():
    with socket.create_server(("127.0.0.1", 0)) as other:
        port = other.getsockname()[1]
        code, out, err = processes.run("serve", "--port", str(port))
    assert (code, out) == (1, "")
    assert err == (
        f"CommandError: Port {port} on 127.0.0.1 is taken: stop what runs there or choose another --port.\n"
    )


@pytest.mark.parametrize(
    ("arguments", "sentence"),
    [
        (["--port", "99999"], "A port is a number from 0 to 65535, not 99999."),
        (
            ["--host", "192.0.2.1"],
            "Shedbook cannot listen on 192.0.2.1 port 8000: ",
        ),  # RFC 5737: nobody's address
        (["--workers", "0"], "Shedbook needs at least one worker."),
    ],
)
def test_what_cannot_be_served_is_refused(arguments, sentence):
    code, out, err = processes.run("serve", *arguments)
    assert (code, out) == (1, "")
    assert err.startswith(f"CommandError: {sentence}")
    assert "Traceback" not in err


@pytest.mark.only_on("sqlite")
def test_on_sqlite_one_process_serves(open_shed):
    server, address = open_shed()
    get(address)
    assert workers(server, 1) == 1
    code, _, err = processes.run("serve", "--workers", "2")
    assert code == 1
    assert "On SQLite Shedbook runs in one process" in err


@pytest.mark.only_on("postgresql")
@pytest.mark.parametrize(("arguments", "expected"), [([], 2), (["--workers", "3"], 3)])
def test_on_postgresql_several_processes_serve(open_shed, arguments, expected):
    server, address = open_shed(*arguments)
    get(address)
    assert workers(server, expected) == expected
