"""`serve`: the production server, gunicorn in this process; with `--https` what phones need of it."""

import errno
import gc
import os
import socket
import struct
import sys
import tempfile
from argparse import ArgumentParser
from typing import Any

from django.conf import settings
from django.core.management.base import BaseCommand, CommandError
from django.core.wsgi import get_wsgi_application
from django.db import connection, connections
from django.urls import get_resolver
from django.utils import timezone
from django.utils.translation import gettext as _
from gunicorn.app.base import BaseApplication

from equipment.management import https, plain, ready

THREADS = 8
WORKERS = 2  # on PostgreSQL; SQLite takes one process
WAITING = 1024
GRACE = 10  # seconds for what is under way when it stops
PORT, SECURE_PORT = 8000, 8443
HERE, EVERYWHERE = "127.0.0.1", "0.0.0.0"  # noqa: S104 (phones are on the network)
COLLECTED_AFTER = (20_000, 20, 20)
MAKES_WAY = 0.0005  # seconds
# A phone that drove out of reach is given up after about a minute: it must not hold a thread for ever.
GONE_AFTER = {"TCP_KEEPIDLE": 30, "TCP_KEEPINTVL": 10, "TCP_KEEPCNT": 3}
# Whoever has begun to say something and then says nothing for so long is not waited for.
SILENT_FOR = struct.pack("ll", 20, 0)


class Server(BaseApplication):
    """Gunicorn on a socket that is already ours, so that no one can take the port in between.

    It owns the socket from then on and closes it when it stops.
    """

    def __init__(self, listening: socket.socket, workers: int, **options: Any) -> None:
        self.options = {
            "bind": f"fd://{listening.detach()}",
            "workers": workers,
            "worker_class": "gthread",
            "threads": THREADS,
            "graceful_timeout": GRACE,
            "loglevel": "warning",
            "logconfig_dict": settings.LOGGING,
            # From the farm's proxy, that whoever asked it did so over HTTPS.
            "forwarded_allow_ips": ",".join(settings.PROXIES),
            "control_socket_disable": True,
        } | options
        if workers > 1:
            self.options["child_exit"] = counted_no_more
        super().__init__()

    def load_config(self) -> None:
        for name, value in self.options.items():
            self.cfg.set(name, value)

    def load(self) -> Any:
        application = get_wsgi_application()
        settle_in()
        return application


def settle_in() -> None:
    """Make a process that is fully loaded fit to serve a counter while a phone's batch is taken in."""
    get_resolver().url_patterns  # noqa: B018 (loads every page and action)
    # What is loaded stays: the collector need not look through it after every batch.
    gc.collect()
    gc.freeze()
    gc.set_threshold(*COLLECTED_AFTER)
    # A scan asks the database a dozen times, and each time it waits for a thread that reckons to make way.
    sys.setswitchinterval(MAKES_WAY)


class Command(BaseCommand):
    help = "Serve Shedbook. On SQLite one process with 8 threads; on PostgreSQL as many such processes as asked for."

    def add_arguments(self, parser: ArgumentParser) -> None:
        parser.add_argument(
            "--host", help="address to listen on (default: this machine only; with --https every network)"
        )
        parser.add_argument(
            "--port",
            type=int,
            help=f"port to listen on (default {PORT}, with --https {SECURE_PORT}); 0 takes any free one",
        )
        parser.add_argument("--workers", type=int, help=f"processes, on PostgreSQL only (default {WORKERS})")
        parser.add_argument(
            "--https", action="store_true", help="over HTTPS, so that phones give camera and worker"
        )
        parser.add_argument(
            "--trust-port",
            type=int,
            default=PORT,
            help=f"with --https: HTTP port of the page on how to trust the certificate (default {PORT})",
        )

    def handle(
        self, *, host: str | None, port: int | None, workers: int | None, trust_port: int, **options: Any
    ) -> None:
        ready.look()
        processes = allowed_workers(workers)
        if options["https"]:
            self.serve_securely(
                host or EVERYWHERE, SECURE_PORT if port is None else port, trust_port, processes
            )
            return
        listening = listen(host or HERE, PORT if port is None else port)
        shown = f"[{host}]" if ":" in (host or "") else host or HERE
        self.tell_address(f"http://{shown}:{listening.getsockname()[1]}/")
        run(Server(listening, processes))

    def tell_address(self, address: str) -> None:
        self.stdout.write(_("Shedbook is open at %(address)s (Ctrl-C closes it)") % {"address": address})
        self.stdout.flush()

    def serve_securely(self, host: str, port: int, trust_port: int, processes: int) -> None:
        secure = https.prepare(timezone.now())
        listening, door = listen(host, port), listen(host, trust_port)
        settings.SECURE_PORT, settings.PLAIN_PORT = (each.getsockname()[1] for each in (listening, door))
        https.allow(secure.names)
        self.tell_address(f"https://{secure.names.to_tell()}:{settings.SECURE_PORT}/")
        for line in https.told(secure, settings.SECURE_PORT, settings.PLAIN_PORT):
            self.stdout.write(line)
        self.stdout.flush()

        def open_door(worker: Any) -> None:
            plain.open_door(door, worker.wsgi, settings.SECURE_PORT, https.renewed)

        files = {"certfile": str(secure.certificate), "keyfile": str(secure.key)}
        run(Server(listening, processes, post_worker_init=open_door, **files))


def run(server: Server) -> None:
    # A connection must not be shared with the workers, which are copies of this process.
    connections.close_all()
    if server.options["workers"] == 1:
        server.run()
        return
    # Whichever process is asked for the meters tells those of all.
    with tempfile.TemporaryDirectory(prefix="shedbook-meters-") as folder:
        os.environ["PROMETHEUS_MULTIPROC_DIR"] = folder
        server.run()


def counted_no_more(arbiter: Any, worker: Any) -> None:
    from prometheus_client.multiprocess import mark_process_dead

    mark_process_dead(worker.pid)  # type: ignore[no-untyped-call]


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
        return watched(socket.create_server((host, port), family=family, backlog=WAITING))
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


def watched(listening: socket.socket) -> socket.socket:
    """Connections taken from it inherit that they are given up when the other end is gone."""
    listening.setsockopt(socket.SOL_SOCKET, socket.SO_KEEPALIVE, 1)
    listening.setsockopt(socket.SOL_SOCKET, socket.SO_RCVTIMEO, SILENT_FOR)
    for name, value in GONE_AFTER.items():
        # Not every system names them all.
        if option := getattr(socket, name, None):
            listening.setsockopt(socket.IPPROTO_TCP, option, value)
    return listening
