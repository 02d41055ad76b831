"""Migrations on a farm's own database, there and back, in a process of their own: see `tests.upgrading`."""

import os
import subprocess
import sys
from collections.abc import Iterator
from pathlib import Path
from urllib.parse import urlsplit

import pytest
from django.db import connection
from django.db.migrations.loader import MigrationLoader

from tests.processes import ROOT

SCRATCH = "shedbook_upgraded"


@pytest.fixture
def empty_database(db: None, tmp_path: Path) -> Iterator[str]:
    if connection.vendor == "sqlite":
        yield f"sqlite:///{tmp_path / 'farm.sqlite3'}"
        return
    name = f"{SCRATCH}_{os.environ.get('PYTEST_XDIST_WORKER', 'alone')}"
    # Not within the test's transaction: a database is made by no transaction.
    own = connection.copy()
    try:
        own.cursor().execute(f"CREATE DATABASE {name}")
        yield urlsplit(os.environ["DATABASE_URL"])._replace(path=f"/{name}").geturl()
        own.cursor().execute(f"DROP DATABASE {name} WITH (FORCE)")
    finally:
        own.close()


def test_a_farms_book_is_the_same_after_every_step_back_and_forward(
    empty_database: str, tmp_path: Path
) -> None:
    # Step by step on one of the two: each step takes a second.
    how = [] if connection.vendor == "sqlite" else ["--in-one"]
    done = subprocess.run(
        [sys.executable, "-m", "tests.upgrading", *how],
        cwd=ROOT,
        env=os.environ | {"DATABASE_URL": empty_database, "SHEDBOOK_DATA": str(tmp_path)},
        capture_output=True,
        text=True,
        timeout=300,
    )
    assert done.returncode == 0, done.stdout[-2000:] + done.stderr[-2000:]
    ours = [key for key in MigrationLoader(None).disk_migrations if key[0] in {"crews", "equipment"}]
    steps = [line for line in done.stdout.splitlines() if line.startswith("back to ")]
    # Every migration but the newest of each app is a place to go back to.
    assert len(steps) == (2 if how else len(ours) - 2)
    assert "refused: " in done.stdout
    assert "forward after a refusal" in done.stdout
