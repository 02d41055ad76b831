"""A real server process, and clients that cost next to nothing: raw sockets, kept open, bodies made beforehand."""

import json
import os
import re
import socket
import subprocess
import sys
import threading
import time
from collections.abc import Iterator, Sequence
from contextlib import contextmanager
from pathlib import Path
from typing import Any

ROOT = Path(__file__).resolve().parents[2]
CSRF = "c" * 32


@contextmanager
def server(settings: str) -> Iterator[int]:
    """The `serve` command on the database of this run, under these settings; gives its port."""
    process = subprocess.Popen(
        [sys.executable, "-m", "django", "serve", "--port", "0"],
        cwd=ROOT,
        env=os.environ
        | {"DJANGO_SETTINGS_MODULE": settings, "PYTHONUNBUFFERED": "1", "PYTHONPATH": str(ROOT)},
        stdout=subprocess.PIPE,
        text=True,
    )
    try:
        assert process.stdout
        said = process.stdout.readline()
        found = re.search(r":(\d+)/", said)
        if not found:
            raise RuntimeError(f"The server said “{said.strip()}” and no port.")
        yield int(found[1])
    finally:
        process.terminate()
        process.wait(20)


def request(session: str, body: dict[str, Any]) -> bytes:
    """`POST /api/entries/` as bytes, signed in by a session."""
    text = json.dumps(body).encode()
    head = (
        "POST /api/entries/ HTTP/1.1\r\nHost: 127.0.0.1\r\nContent-Type: application/json\r\n"
        f"Cookie: sessionid={session}; csrftoken={CSRF}\r\nX-CSRFToken: {CSRF}\r\nContent-Length: {len(text)}\r\n\r\n"
    )
    return head.encode() + text


class Client:
    """One connection. `send` gives the body of the answer and raises RuntimeError where it does not say recorded."""

    def __init__(self, port: int) -> None:
        self.socket = socket.create_connection(("127.0.0.1", port), timeout=60)
        self.socket.setsockopt(socket.IPPROTO_TCP, socket.TCP_NODELAY, 1)

    def send(self, asked: bytes) -> None:
        body = self.exchange(asked)
        if b'"outcome":"recorded"' not in body:
            raise RuntimeError(body[:500].decode())

    def exchange(self, asked: bytes) -> bytes:
        """The body of the answer, which must be 200."""
        self.socket.sendall(asked)
        answer = self.socket.recv(65536)
        while b"\r\n\r\n" not in answer:
            answer += self._more()
        head, _, body = answer.partition(b"\r\n\r\n")
        length = int(re.search(rb"(?i)content-length: (\d+)", head)[1])  # type: ignore[index]
        while len(body) < length:
            body += self._more()
        if not head.startswith(b"HTTP/1.1 200"):
            raise RuntimeError(f"{head.decode()}\n{body[:500].decode()}")
        return body

    def _more(self) -> bytes:
        more = self.socket.recv(65536)
        if not more:
            raise RuntimeError("The server hung up.")
        return more


def saturated(port: int, shares: Sequence[Sequence[bytes]]) -> float:
    """Answers a second while each client, one a share, sends as fast as it is answered."""
    clients = [Client(port) for _ in shares]
    together = threading.Barrier(len(shares) + 1)
    failed: list[Exception] = []

    def run(client: Client, share: Sequence[bytes]) -> None:
        together.wait()
        try:
            for asked in share:
                client.send(asked)
        except Exception as error:
            failed.append(error)

    threads = [threading.Thread(target=run, args=pair) for pair in zip(clients, shares, strict=True)]
    for thread in threads:
        thread.start()
    together.wait()
    started = time.perf_counter()
    for thread in threads:
        thread.join()
    seconds = time.perf_counter() - started
    for client in clients:
        client.socket.close()
    if failed:
        raise failed[0]
    return sum(map(len, shares)) / seconds


def open_loop(port: int, shares: Sequence[Sequence[bytes]], a_second: float) -> list[float]:
    """Seconds until each answer, counted from when the scan was due, whatever became of those before it."""
    waits: list[float] = []
    failed: list[Exception] = []
    started = time.perf_counter() + 0.2

    def run(place: int, client: Client, share: Sequence[bytes]) -> None:
        for number, asked in enumerate(share):
            due = started + (number * len(shares) + place) / a_second
            time.sleep(max(0.0, due - time.perf_counter()))
            try:
                client.send(asked)
            except Exception as error:
                failed.append(error)
                return
            waits.append(time.perf_counter() - due)

    threads = [
        threading.Thread(target=run, args=(place, Client(port), share)) for place, share in enumerate(shares)
    ]
    for thread in threads:
        thread.start()
    for thread in threads:
        thread.join()
    if failed:
        raise failed[0]
    return waits
