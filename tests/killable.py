"""A server that is made to be killed: `python -m tests.killable FD`, FD a listening socket.

Shedbook is loaded once; for each line on its input it becomes two, and the younger serves, as many requests at once as
come, until somebody kills it. So a new server costs milliseconds, and it begins with nothing but what the database has,
as after a power cut. It says the number of each server's process. Requests that come between two servers wait.
"""

import os
import socket
import sys
from socketserver import ThreadingMixIn
from typing import Any
from wsgiref.simple_server import WSGIRequestHandler, WSGIServer

# Smaller parts than a farm's, so that a small batch is recorded in several transactions.
AT_ONCE = 20


class Handler(WSGIRequestHandler):
    def log_message(self, *_: Any) -> None:
        pass


class Server(ThreadingMixIn, WSGIServer):
    daemon_threads = True

    def __init__(self, listening: socket.socket, application: Any) -> None:
        super().__init__(listening.getsockname(), Handler, bind_and_activate=False)
        self.socket.close()
        self.socket = listening
        self.server_name, self.server_port = listening.getsockname()
        self.setup_environ()
        self.set_app(application)


def main(number: int) -> None:
    from django.core.wsgi import get_wsgi_application

    application = get_wsgi_application()
    _warm()
    listening = socket.socket(fileno=number)
    for _ in sys.stdin:
        own = os.fork()
        if own == 0:
            Server(listening, application).serve_forever()
        print(own, flush=True)
        os.waitpid(own, 0)


def _warm() -> None:
    """Load what the first request would load; a connection must not be shared with those who are made of this one."""
    from django.db import connections
    from django.test import Client

    from equipment.actions import batch

    batch.AT_ONCE = AT_ONCE
    Client().get("/api/stores/", headers={"host": "localhost"})
    connections.close_all()


if __name__ == "__main__":
    main(int(sys.argv[1]))
