"""The run on PostgreSQL is on PostgreSQL, and SQLite is set as a farm's is."""

import os

import pytest
from django.db import connection


def test_the_suite_runs_on_the_database_it_was_started_for(db):
    assert connection.vendor == os.environ.get("SHEDBOOK_EXPECT_DB", "sqlite")


@pytest.mark.only_on("sqlite")
@pytest.mark.parametrize(
    ("pragma", "wanted"), [("journal_mode", "wal"), ("synchronous", 2), ("foreign_keys", 1)]
)
def test_sqlite_is_a_durable_file(db, pragma, wanted):
    assert not connection.is_in_memory_db()
    with connection.cursor() as cursor:
        cursor.execute(f"PRAGMA {pragma}")
        assert cursor.fetchone() == (wanted,)


@pytest.mark.only_on("postgresql")
def test_postgresql_is_a_recent_one(db):
    assert connection.pg_version >= 18_00_00
