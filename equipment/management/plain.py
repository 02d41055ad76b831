"""Beside HTTPS, one thin door over HTTP: the page on how to trust the certificate, and the way to everything else.

It lives in a thread of the server's process, and asks the database for nothing.
"""

import socket
import threading
import time
from collections.abc import Callable, Iterable
from socketserver import ThreadingMixIn
from typing import Any
from urllib.parse import urlsplit
from wsgiref.simple_server import WSGIRequestHandler, WSGIServer

App = Callable[[dict[str, Any], Callable[..., Any]], Iterable[bytes]]
OPEN = ("/trust/", "/static/")
SECONDS = 10
HOUR = 3600.0


class Handler(WSGIRequestHandler):
    timeout = SECONDS

    def get_environ(self) -> dict[str, Any]:
        # As it came, so that nothing of it is quoted twice.
        return super().get_environ() | {"RAW_PATH": self.path if self.path.startswith("/") else "/"}

    def log_message(self, format: str, *args: Any) -> None:
        """Nothing: who looks at a public page is nobody's business."""


class Door(ThreadingMixIn, WSGIServer):
    daemon_threads = True

    def __init__(self, listening: socket.socket, app: App, hourly: Callable[[], None]) -> None:
        super().__init__(listening.getsockname()[:2], Handler, bind_and_activate=False)
        self.socket.close()
        self.socket = listening
        self.server_name, self.server_port = listening.getsockname()[:2]
        self.setup_environ()
        self.set_app(app)
        self.hourly, self.due = hourly, time.monotonic() + HOUR

    def service_actions(self) -> None:
        super().service_actions()
        if time.monotonic() >= self.due:
            self.due = time.monotonic() + HOUR
            self.hourly()

    def handle_error(self, request: Any, client_address: Any) -> None:
        """Nothing: a phone that walked out of reach is no error of ours."""


def open_door(listening: socket.socket, app: App, secure_port: int, hourly: Callable[[], None]) -> Door:
    """Serve from a thread that ends with the process."""
    door = Door(listening, only_trust(app, secure_port), hourly)
    threading.Thread(target=door.serve_forever, name="trust", daemon=True).start()
    return door


def only_trust(app: App, secure_port: int) -> App:
    """`app` for what is open here; for everything else the same address over HTTPS."""

    def answer(environ: dict[str, Any], start_response: Callable[..., Any]) -> Iterable[bytes]:
        path = environ.get("PATH_INFO", "/")
        if path.startswith(OPEN):
            return app(environ, start_response)
        if environ["REQUEST_METHOD"] not in ("GET", "HEAD"):
            start_response("405 Method Not Allowed", [("Allow", "GET, HEAD"), ("Content-Length", "0")])
        else:
            there = secured(environ, secure_port)
            start_response("307 Temporary Redirect", [("Location", there), ("Content-Length", "0")])
        return []

    return answer


def secured(environ: dict[str, Any], port: int) -> str:
    """The address that was asked for, over HTTPS."""
    try:
        host = urlsplit(f"//{environ.get('HTTP_HOST', '')}").hostname
    except ValueError:
        host = None
    host = host or environ["SERVER_NAME"]
    shown = f"[{host}]" if ":" in host else host
    return f"https://{shown}:{port}{environ['RAW_PATH']}"
