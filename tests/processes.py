"""Real processes of Shedbook, working on the database of the test that starts them.

The test must commit what they are to see: ask for `transactional_db`.
"""

import os
import subprocess
import sys
from pathlib import Path
from urllib.parse import urlsplit

from django.db import connection

ROOT = Path(__file__).resolve().parent.parent


def environment() -> dict[str, str]:
    """What a process needs to find the test's database."""
    name = str(connection.settings_dict["NAME"])
    if connection.vendor == "sqlite":
        url = f"sqlite:///{name}"
    else:
        url = urlsplit(os.environ["DATABASE_URL"])._replace(path=f"/{name}").geturl()
    return os.environ | {
        "DATABASE_URL": url,
        "DJANGO_SETTINGS_MODULE": "config.settings",
        "PYTHONUNBUFFERED": "1",
    }


def start(*command: str) -> subprocess.Popen[str]:
    """`manage.py command ...` under way, its output and errors in one pipe."""
    return subprocess.Popen(
        [sys.executable, "manage.py", *command],
        cwd=ROOT,
        env=environment(),
        stdout=subprocess.PIPE,
        stderr=subprocess.STDOUT,
        text=True,
    )


def run(*command: str) -> tuple[int, str, str]:
    """`manage.py command ...` to its end, within a minute: exit status, output, errors."""
    done = subprocess.run(
        [sys.executable, "manage.py", *command],
        cwd=ROOT,
        env=environment(),
        capture_output=True,
        text=True,
        timeout=60,
    )
    return done.returncode, done.stdout, done.stderr
