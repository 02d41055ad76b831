"""A meter in the line between a browser and the server: every byte that the server sends, whoever asked for it."""

import socket
import threading
from collections.abc import Callable, Iterator
from contextlib import contextmanager, suppress
from socketserver import BaseRequestHandler, ThreadingTCPServer
from urllib.parse import urlsplit


class Meter(ThreadingTCPServer):
    daemon_threads = True

    def __init__(self, server: str) -> None:
        super().__init__(("127.0.0.1", 0), Line)
        self.server = (urlsplit(server).hostname, urlsplit(server).port)
        self.address = f"http://127.0.0.1:{self.server_address[1]}/"
        self.bytes = 0
        self.lock = threading.Lock()

    def count(self, number: int) -> None:
        with self.lock:
            self.bytes += number


class Line(BaseRequestHandler):
    server: Meter

    def handle(self) -> None:
        with socket.create_connection(self.server.server) as far:
            asking = threading.Thread(
                target=pass_on, args=(self.request, far, lambda number: None), daemon=True
            )
            asking.start()
            pass_on(far, self.request, self.server.count)


def pass_on(source: socket.socket, target: socket.socket, count: Callable[[int], None]) -> None:
    """Until one end hangs up."""
    with suppress(OSError):
        while piece := source.recv(65536):
            count(len(piece))
            target.sendall(piece)
    with suppress(OSError):
        target.shutdown(socket.SHUT_WR)


@contextmanager
def metered(server: str) -> Iterator[Meter]:
    with Meter(server) as meter:
        threading.Thread(target=meter.serve_forever, daemon=True).start()
        yield meter
        meter.shutdown()
