"""Is what a database acknowledges on its disk? SQLite as we set it, PostgreSQL as its server says."""

import pytest
from django.core.checks import run_checks
from django.db import connection

from equipment import checks

pytestmark = pytest.mark.django_db
WARNING = "shedbook.W002"


def warned() -> list[str]:
    return [found.msg for found in run_checks(databases=["default"]) if found.id == WARNING]


@pytest.mark.only_on("sqlite")
def test_sqlite_waits_for_the_disk_at_each_commit(settings):
    """2 is FULL, by SQLite's manual of `PRAGMA synchronous`."""
    settings.TESTING = False
    with connection.cursor() as cursor:
        assert cursor.execute("PRAGMA synchronous").fetchone() == (2,)
    assert warned() == []


@pytest.mark.only_on("postgresql")
def test_a_hasty_postgresql_is_warned_of(settings):
    """By the server's own word of each setting; one of them any session may switch."""
    settings.TESTING = False
    with connection.cursor() as cursor:
        for value in ("on", "off"):
            cursor.execute(f"SET LOCAL synchronous_commit = {value}")
            assert ("synchronous_commit" in checks.hasty(connection)) is (value == "off")
            cursor.execute("SHOW fsync")
            assert ("fsync" in checks.hasty(connection)) is (cursor.fetchone() == ("off",))
    (said,) = warned()
    assert "synchronous_commit" in said and "power cut" in said


def test_where_tests_run_nothing_is_said():
    assert warned() == []
