"""Whatever says that the disk is full is answered 503, on pages and in the API; any other fault is not.

PostgreSQL's is simulated: its driver raises what it raises for SQLSTATE 53100. For SQLite and a real full disk see
`tests/shows/test_disk_full.py`.
"""

import errno
import sqlite3
from typing import Any

import psycopg
import pytest
from django.db import OperationalError
from django.test import Client

from equipment.models import ItemState
from tests.cast import Farm

pytestmark = pytest.mark.django_db


def caused(by: Exception) -> OperationalError:
    error = OperationalError(str(by))
    error.__cause__ = by
    return error


def lite(code: int) -> sqlite3.OperationalError:
    error = sqlite3.OperationalError("database or disk is full")
    error.sqlite_errorcode = code
    return error


FULL = [
    caused(psycopg.errors.DiskFull("could not extend file")),
    caused(lite(sqlite3.SQLITE_FULL)),
    caused(lite(sqlite3.SQLITE_IOERR_SHMSIZE)),
    OSError(errno.ENOSPC, "No space left on device"),
]
OTHER = [
    caused(psycopg.errors.DeadlockDetected("deadlock detected")),
    caused(lite(sqlite3.SQLITE_CORRUPT)),
    OSError(errno.EACCES, "Permission denied"),
]


@pytest.fixture
def ask(farm: Farm, monkeypatch: pytest.MonkeyPatch) -> Any:
    """`ask(path, error)`: the answer where the database raises `error`."""
    client = Client(raise_request_exception=False)
    client.force_login(farm.users["rosa"], backend="crews.signing_in.RoleBackend")

    def asked(path: str, error: Exception) -> Any:
        def fail(*_: Any, **__: Any) -> Any:
            raise error

        monkeypatch.setattr(type(ItemState.objects.all()), "_fetch_all", fail)
        return client.get(path)

    return asked


@pytest.mark.parametrize("error", FULL, ids=str)
def test_a_full_disk_is_said_in_words_that_one_can_act_on(ask: Any, error: Exception) -> None:
    answer = ask("/api/items/", error)
    assert (answer.status_code, answer["Retry-After"], answer.json()["code"]) == (503, "30", "no_room")
    assert "Tell whoever looks after the server" in answer.json()["say"]
    page = ask("/gear/", error)
    assert (page.status_code, page["Retry-After"]) == (503, "30")
    assert "make room on it" in page.content.decode()


@pytest.mark.parametrize("error", OTHER, ids=str)
def test_another_fault_is_not_called_a_full_disk(ask: Any, error: Exception) -> None:
    assert ask("/api/items/", error).status_code == 500
    assert ask("/gear/", error).status_code == 500
