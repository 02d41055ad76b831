"""`serve`: the production server, gunicorn in this process."""

import errno
import socket
from argparse import ArgumentParser
from typing import Any

from django.core.management.base import BaseCommand, CommandError
from django.core.wsgi import get_wsgi_application
from django.db import connection, connections
from django.utils.translation import gettext as _
from gunicorn.app.base import BaseApplication

THREADS = 8
WORKERS = 2  # on PostgreSQL; SQLite takes one process
WAITING = 1024


class Server(BaseApplication):
    """Gunicorn on a socket that is already ours, so that no one can take the port in between.

    It owns the socket from then on and closes it when it stops.
    """

    def __init__(self, listening: socket.socket, workers: int) -> None:
        self.options = {
            "bind": f"fd://{listening.detach()}",
            "workers": workers,
            "worker_class": "gthread",
            "threads": THREADS,
            "graceful_timeout": 10,
            "loglevel": "warning",
            "control_socket_disable": True,
        }
        super().__init__()

    def load_config(self) -> None:
        for name, value in self.options.items():
            self.cfg.set(name, value)

    def load(self) -> Any:
        return get_wsgi_application()


class Command(BaseCommand):
    help = "Serve Shedbook. On SQLite one process with 8 threads; on PostgreSQL as many such processes as asked for."
    requires_migrations_checks = True

    def add_arguments(self, parser: ArgumentParser) -> None:
        parser.add_argument(
            "--host", default="127.0.0.1", help="address to listen on (default: this machine only)"
        )
        parser.add_argument("--port", type=int, default=8000, help="port to listen on; 0 takes any free one")
        parser.add_argument("--workers", type=int, help=f"processes, on PostgreSQL only (default {WORKERS})")

    def handle(self, *, host: str, port: int, workers: int | None, **options: Any) -> None:
        processes = allowed_workers(workers)
        listening = listen(host, port)
        shown = f"[{host}]" if ":" in host else host
        address = f"http://{shown}:{listening.getsockname()[1]}/"
        self.stdout.write(_("Shedbook is open at %(address)s (Ctrl-C closes it)") % {"address": address})
        self.stdout.flush()
        # A connection must not be shared with the workers, which are copies of this process.
        connections.close_all()
        Server(listening, processes).run()


def allowed_workers(asked: int | None) -> int:
    """How many processes may serve this database; CommandError where it is not as many as asked."""
    if asked is not None and asked < 1:
        raise CommandError(_("Shedbook needs at least one worker."))
    if connection.vendor != "sqlite":
        return asked or WORKERS
    if asked not in {None, 1}:
        raise CommandError(
            _("On SQLite Shedbook runs in one process: leave --workers out, or move to PostgreSQL.")
        )
    return 1


def listen(host: str, port: int) -> socket.socket:
    """A socket that listens there; CommandError in plain words where it cannot."""
    family = socket.AF_INET6 if ":" in host else socket.AF_INET
    where = {"host": host, "port": port}
    try:
        return socket.create_server((host, port), family=family, backlog=WAITING)
    except OSError as error:
        if error.errno == errno.EADDRINUSE:
            raise CommandError(
                _("Port %(port)s on %(host)s is taken: stop what runs there or choose another --port.")
                % where
            ) from None
        raise CommandError(
            _("Shedbook cannot listen on %(host)s port %(port)s: %(why)s") % {**where, "why": error.strerror}
        ) from None
    except OverflowError:
        raise CommandError(_("A port is a number from 0 to 65535, not %(port)s.") % where) from None
