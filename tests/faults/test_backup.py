"""A backup taken while the counters scan is a whole book of one moment, and comes back as that, or not at all."""

import errno
import os
import sqlite3
import subprocess
import sys
import tarfile
import threading
from collections.abc import Iterator
from contextlib import closing
from pathlib import Path
from random import Random
from typing import Any
from urllib.parse import urlsplit

import psycopg
import pytest
from django.db import connection, connections
from django.utils import timezone
from filelock import FileLock

from equipment.actions.backup import (
    Facts,
    archive,
    read,
    restoring,
    tools,
)
from equipment.actions.backup.facts import Manifest
from equipment.actions.writing import Pen
from equipment.models import Entry, Label, Photo, triggers
from tests import processes
from tests.cast import Farm
from tests.commands import manage


@pytest.fixture(autouse=True)
def own_places(settings: Any, tmp_path_factory: pytest.TempPathFactory) -> None:
    """Not the data folder of the whole run, which other tests write in."""
    settings.DATA_DIR = tmp_path_factory.mktemp("data")
    settings.TRUST_DIR = settings.DATA_DIR / "https"
    settings.TRUST_DIR.mkdir()
    (settings.DATA_DIR / "secret_key").write_text("a key of the test")
    (settings.TRUST_DIR / "authority.pem").write_text("an authority of the test")
    settings.BACKUP_DIR, settings.BACKUP_COPY = settings.DATA_DIR / "backups", ""


def made(folder: Path) -> list[Path]:
    return sorted(folder.glob("*.tar.gz"))


class Scanning:
    """A counter at work on a thread of its own: the same bag missed and found, again and again."""

    def __init__(self, farm: Farm) -> None:
        self.farm, self.over, self.lines = farm, threading.Event(), 0
        self.item = Label.objects.get(pk=farm.gear("bag")[0]).item_id
        self.thread = threading.Thread(target=self._scan)

    def _scan(self) -> None:
        try:
            while not self.over.is_set():
                verb = ("missed", "found")[self.lines % 2]
                pen = Pen(self.farm.users["rosa"], "A", timezone.now())
                pen.record([pen.draft(verb, item=self.item)], "note")
                self.lines += 1
        finally:
            connections.close_all()

    def __enter__(self) -> "Scanning":
        self.thread.start()
        while self.lines < 3:
            assert self.thread.is_alive()
        return self

    def __exit__(self, *_: object) -> None:
        self.over.set()
        self.thread.join(30)


@pytest.fixture
def elsewhere(tmp_path: Path) -> Iterator[dict[str, str]]:
    """The environment of a new machine: an empty data folder and, on PostgreSQL, an empty database."""
    env = processes.environment() | {"SHEDBOOK_DATA": str(tmp_path / "new")}
    if connection.vendor == "sqlite":
        yield env | {"DATABASE_URL": f"sqlite:///{tmp_path / 'new' / 'shedbook.sqlite3'}"}
        return
    name, url = f"restored_{os.getpid()}", env["DATABASE_URL"]
    with psycopg.connect(url, autocommit=True) as own:
        own.execute(f"CREATE DATABASE {name}")
        yield env | {"DATABASE_URL": urlsplit(url)._replace(path=f"/{name}").geturl()}
        own.execute(f"DROP DATABASE {name} WITH (FORCE)")


def restored(path: Path, env: dict[str, str]) -> tuple[int, str]:
    command = [sys.executable, "manage.py", "restore", str(path)]
    done = subprocess.run(command, cwd=processes.ROOT, env=env, capture_output=True, text=True, timeout=60)
    return done.returncode, done.stdout + done.stderr


def asked(env: dict[str, str], sql: str) -> list[tuple[Any, ...]]:
    """Rows of the restored database."""
    url = env["DATABASE_URL"]
    if url.startswith("sqlite"):
        with closing(sqlite3.connect(url.removeprefix("sqlite:///"))) as own:
            return own.execute(sql).fetchall()
    with psycopg.connect(url) as own:
        return own.execute(sql).fetchall()


def photo(farm: Farm) -> bytes:
    data = Random(1).randbytes(5_000)
    kept = {"width": 40, "height": 30, "size": len(data), "uploaded_by": farm.users["sam"]}
    Photo.objects.create(sha256="5" * 64, data=data, at=timezone.now(), **kept)
    return data


@pytest.mark.django_db(transaction=True)
def test_a_backup_under_scanning_is_a_whole_book_and_comes_back(
    farm: Farm, tmp_path: Path, elsewhere: dict[str, str], monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setenv("FARM_HEADER", "Quillberg, 'by the river'")
    monkeypatch.setenv("EMAIL_HOST_PASSWORD", "a canary of a password")
    picture = photo(farm)
    with Scanning(farm) as scanning:
        before = Entry.objects.filter(store="A").count()
        out, err, code = manage("backup", "--to", str(tmp_path / "kept"))
        assert scanning.thread.is_alive()
    assert (err, code) == ("", 0) and "read back and whole" in out
    (path,) = made(tmp_path / "kept")
    manifest = read(path, tmp_path / "unpacked")
    (position, digest) = manifest.facts.heads["A"]
    # A prefix of the book: the last line it has is that very line of the book now, and there are as many as it says.
    assert Entry.objects.get(store="A", position=position).digest == digest
    assert sum(place for place, _ in manifest.facts.heads.values()) == manifest.facts.counts["entries"]
    assert before <= position <= Entry.objects.filter(store="A").count()
    said = (tmp_path / "unpacked" / "settings.env").read_text()
    assert "FARM_HEADER='Quillberg, '\"'\"'by the river'\"'\"''" in said and "canary" not in said

    code, said = restored(path, elsewhere)
    assert code == 0 and "is back and whole" in said, said
    assert asked(elsewhere, "SELECT position, digest FROM equipment_chainhead WHERE store_id = 'A'") == [
        (position, digest)
    ]
    assert bytes(asked(elsewhere, "SELECT data FROM equipment_photo")[0][0]) == picture
    new = tmp_path / "new"
    assert (new / "secret_key").read_text() == "a key of the test"
    assert (new / "https" / "authority.pem").read_text() == "an authority of the test"
    assert "FARM_HEADER" in (new / "restored-settings.env").read_text()
    code, said = restored(path, elsewhere)
    assert code == 1 and "stands in" in said and "never writes over" in said


@pytest.mark.django_db(transaction=True)
def test_a_book_that_is_not_whole_is_not_called_done(
    farm: Farm, tmp_path: Path, elsewhere: dict[str, str]
) -> None:
    """Somebody who owned the machine had changed a line before the backup."""
    triggers.drop(connection)
    with connection.cursor() as cursor:
        cursor.execute("UPDATE equipment_entry SET device_seq = device_seq + 1 WHERE position = 1")
    triggers.install(connection)
    assert manage("backup", "--to", str(tmp_path / "kept"))[2] == 0
    code, said = restored(made(tmp_path / "kept")[0], elsewhere)
    assert code == 1 and "does not fit its digest" in said and "it is not whole" in said
    assert "is back and whole" not in said


@pytest.mark.only_on("sqlite")
def test_a_backup_of_an_older_shedbook_is_brought_forward(tmp_path: Path) -> None:
    def manage_py(place: str, *words: str) -> str:
        env = os.environ | {
            "SHEDBOOK_DATA": str(tmp_path / place),
            "DJANGO_SETTINGS_MODULE": "config.settings",
        }
        env.pop("DATABASE_URL", None)
        command = [sys.executable, "manage.py", *words]
        return subprocess.run(command, cwd=processes.ROOT, env=env, capture_output=True, text=True).stdout

    manage_py("old", "migrate", "-v0", "equipment", "0014")
    assert "read back and whole" in manage_py("old", "backup")
    said = manage_py("newer", "restore", str(made(tmp_path / "old" / "backups")[0]))
    assert "is back and whole" in said and "brought forward" in said, said
    assert "[ ]" not in manage_py("newer", "showmigrations", "equipment")


@pytest.mark.django_db(transaction=True)
def test_nothing_is_restored_over_a_book(farm: Farm, tmp_path: Path) -> None:
    assert manage("backup", "--to", str(tmp_path / "kept"))[2] == 0
    lines = Entry.objects.count()
    _, err, code = manage("restore", str(made(tmp_path / "kept")[0]))
    assert code == 1 and "A book stands in" in err and Entry.objects.count() == lines
    _, err, code = manage("restore", str(tmp_path / "none.tar.gz"))
    assert code == 1 and "A book stands in" in err


@pytest.mark.django_db(transaction=True)
def test_what_this_shedbook_cannot_read_is_refused(tmp_path: Path) -> None:
    facts = Facts({}, {}, ("equipment.0001_initial", "equipment.9999_later", "axes.0000_renamed"))
    other = {"sqlite": "postgresql", "postgresql": "sqlite"}[connection.vendor]
    with pytest.raises(restoring.RestoreRefused, match="Set DATABASE_URL"):
        restoring._suits(Manifest("", other, facts, {}), tmp_path)
    with pytest.raises(restoring.RestoreRefused, match=r"has equipment\.9999_later\)\. Update Shedbook"):
        restoring._suits(Manifest("", connection.vendor, facts, {}), tmp_path)


# What can go wrong while it is made


@pytest.mark.django_db(transaction=True)
def test_a_full_disk_leaves_nothing_half(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    add, calls = tarfile.TarFile.addfile, []

    def full(self: tarfile.TarFile, info: tarfile.TarInfo, data: Any = None) -> None:
        calls.append(info.name)
        if len(calls) == 3:
            raise OSError(errno.ENOSPC, os.strerror(errno.ENOSPC))
        add(self, info, data)

    monkeypatch.setattr(tarfile.TarFile, "addfile", full)
    _, err, code = manage("backup", "--to", str(tmp_path / "kept"))
    assert code == 1 and "is full. Make room" in err and len(calls) == 3
    assert [path.name for path in (tmp_path / "kept").iterdir()] == [".backup.lock"]


@pytest.mark.django_db(transaction=True)
def test_what_does_not_read_back_gets_no_name(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    write = archive.write

    def faulty(path: Path, *what: Any) -> None:
        write(path, *what)
        with path.open("r+b") as file:
            file.seek(path.stat().st_size // 2)
            file.write(Random(3).randbytes(200))

    monkeypatch.setattr(archive, "write", faulty)
    _, err, code = manage("backup", "--to", str(tmp_path / "kept"))
    assert code == 1 and "is damaged" in err and made(tmp_path / "kept") == []


@pytest.mark.django_db(transaction=True)
def test_a_killed_backup_leaves_no_archive_and_stands_in_nobodys_way(tmp_path: Path) -> None:
    folder = tmp_path / "kept"
    running = processes.start("backup", "--to", str(folder))
    while running.poll() is None and not list(folder.glob(".shedbook-*.part")):
        pass
    running.kill()
    running.communicate(timeout=30)
    assert made(folder) == [] and list(folder.glob(".shedbook-*.part"))
    assert manage("backup", "--to", str(folder))[2] == 0
    assert len(made(folder)) == 1 and not list(folder.glob(".shedbook-*.part"))


@pytest.mark.django_db(transaction=True)
def test_it_is_copied_elsewhere_and_old_ones_go_in_both_places(settings: Any, tmp_path: Path) -> None:
    settings.BACKUPS_KEPT, settings.BACKUP_COPY = "1,0,1", str(tmp_path / "share")
    here, there = Path(settings.BACKUP_DIR), tmp_path / "share"
    there.mkdir()
    here.mkdir()
    for folder in (here, there):
        (folder / "shedbook-20200101T000000Z.tar.gz").touch()
    out, err, code = manage("backup")
    assert (err, code) == ("", 0) and "1 old one removed." in out
    assert [path.name for path in made(here)] == [path.name for path in made(there)]
    assert archive.member(made(here)[0]) == archive.member(made(there)[0])
    assert made(there)[0].stat().st_mode & 0o777 == 0o600


@pytest.mark.django_db(transaction=True)
def test_a_share_that_is_not_mounted_is_told_and_the_backup_stays(settings: Any, tmp_path: Path) -> None:
    settings.BACKUP_COPY = str(tmp_path / "share")
    out, err, code = manage("backup")
    assert code == 1 and "only here" in err and "Mount it" in err and "read back and whole" in out
    assert len(made(Path(settings.BACKUP_DIR))) == 1 and not (tmp_path / "share").exists()


@pytest.mark.django_db(transaction=True)
def test_a_wrong_rule_is_told_before_anything_is_done(settings: Any) -> None:
    settings.BACKUPS_KEPT = "many"
    _, err, code = manage("backup")
    assert code == 1 and "SHEDBOOK_BACKUPS_KEPT" in err and not Path(settings.BACKUP_DIR).exists()


@pytest.mark.only_on("postgresql")
@pytest.mark.django_db(transaction=True)
def test_without_its_programs_it_says_which_are_wanted(settings: Any, tmp_path: Path) -> None:
    settings.PG_TOOLS = str(tmp_path)
    (tmp_path / "pg_dump").write_text("#!/bin/sh\necho 'pg_dump (PostgreSQL) 9.6.1'\n")
    (tmp_path / "pg_dump").chmod(0o755)
    _, err, code = manage("backup")
    assert code == 1 and "SHEDBOOK_PG_TOOLS" in err and "pg_dump of PostgreSQL 18" in err
    assert tools.release(tmp_path / "pg_dump") == 9


@pytest.mark.django_db(transaction=True)
def test_two_at_once_are_one_too_many(tmp_path: Path) -> None:
    with FileLock(tmp_path / ".backup.lock"):
        _, err, code = manage("backup", "--to", str(tmp_path))
    assert code == 1 and "under way" in err and made(tmp_path) == []
