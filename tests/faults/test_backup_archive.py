"""Which archives are kept, and that an archive is taken as it was written, or not at all."""

import io
import json
import sqlite3
import tarfile
from contextlib import closing
from datetime import UTC, datetime, timedelta
from pathlib import Path
from random import Random
from typing import Any
from zoneinfo import ZoneInfo

import pytest

from equipment.actions.backup import BadArchive, Facts, Keep, archive, copying, keeping, read
from equipment.actions.backup.facts import Manifest

ZONE = ZoneInfo("Africa/Johannesburg")
NOON = datetime(2026, 11, 26, 10, tzinfo=UTC)


# Which are kept


def days_ago(*numbers: float) -> list[datetime]:
    return [NOON - timedelta(days=number) for number in numbers]


# The days are the farm's: 26 November 2026 is a Thursday, and its week began on the 23rd.
RULES = [
    ("the newest always stays", Keep(0, 0, 0), [0, 1, 2], [0]),
    ("the newest of each of two days", Keep(2, 0, 0), [0, 0.1, 1, 1.1, 2], [0, 1]),
    ("days that have one, however far apart", Keep(3, 0, 0), [0, 40, 80, 120], [0, 40, 80]),
    ("weeks from Monday", Keep(0, 2, 0), [0, 3, 4, 10, 11], [0, 4]),
    ("months", Keep(0, 0, 3), [0, 25, 26, 27, 57, 90], [0, 26, 57]),
    ("all three together", Keep(2, 2, 2), [0, 1, 2, 3, 4, 5, 30, 60], [0, 1, 4, 30]),
    (
        "midnight is the farm's: 21:59 and 22:01 UTC are two days",
        Keep(2, 0, 0),
        [0, 0.499, 0.501],
        [0, 0.501],
    ),
    ("fewer than the rule asks for", Keep(7, 5, 12), [0, 1], [0, 1]),
]


@pytest.mark.parametrize(("rule", "there", "stay"), [row[1:] for row in RULES], ids=[row[0] for row in RULES])
def test_what_is_kept(rule: Keep, there: list[float], stay: list[float]) -> None:
    assert keeping.kept(days_ago(*there), rule, ZONE) == set(days_ago(*stay))


@pytest.mark.parametrize("text", ["", "7", "7,5", "7,5,-1", "a,b,c", "1,2,3,4"])
def test_a_rule_that_says_nothing_is_refused(text: str) -> None:
    with pytest.raises(ValueError, match="7,5,12"):
        Keep.read(text)


def test_only_our_own_archives_are_removed(tmp_path: Path) -> None:
    for at in days_ago(0, 1, 2):
        (tmp_path / keeping.name_at(at)).touch()
    others = {
        tmp_path / name for name in ("shedbook.tar.gz", "shedbook-20260101T000000Z.tar.gz.bak", "x.txt")
    }
    for other in others:
        other.touch()
    assert keeping.rotate(tmp_path, Keep(1, 0, 0), ZONE) == 2
    assert set(tmp_path.iterdir()) == {*others, tmp_path / keeping.name_at(NOON)}
    assert keeping.newest(tmp_path) == NOON and keeping.newest(tmp_path / "nowhere") is None


# An archive as such


def packed(folder: Path, **said: Any) -> Path:
    """A small archive, as `backup` writes it."""
    folder.mkdir()
    for name in ("book.sqlite3", "settings.env"):
        (folder / name).write_bytes(name.encode() * 200)
    files = {name: folder / name for name in ("book.sqlite3", "settings.env")}
    members = {name: archive.member(file) for name, file in files.items()}
    facts = Facts({"A": (3, "ab" * 32)}, {"entries": 3}, ("equipment.0001_initial",))
    path = folder / keeping.name_at(NOON)
    archive.write(path, Manifest(NOON.isoformat(), "sqlite", facts, members, **said), files)
    return path


def test_what_was_packed_is_read_back(tmp_path: Path) -> None:
    path = packed(tmp_path / "a")
    manifest = read(path, tmp_path / "out")
    assert manifest.facts.heads == {"A": (3, "ab" * 32)}
    assert (tmp_path / "out" / "settings.env").read_bytes() == b"settings.env" * 200
    modes = [file.stat().st_mode & 0o777 for file in (path, *(tmp_path / "out").iterdir())]
    assert modes == [0o600] * 3


def test_no_byte_can_be_changed_and_none_be_missing(tmp_path: Path) -> None:
    """Of some bytes another value means the same to gzip (its header's time, a second way to say a run of zeros); then
    what is read is what was written."""
    path = packed(tmp_path / "a")
    whole, torn, manifest, refused = path.read_bytes(), tmp_path / "torn.tar.gz", read(path), 0
    for at in range(len(whole)):
        torn.write_bytes(whole[:at] + bytes([whole[at] ^ 0x55]) + whole[at + 1 :])
        try:
            assert read(torn) == manifest
        except BadArchive:
            refused += 1
    assert refused > 0.95 * len(whole)
    for length in Random(7).sample(range(len(whole)), 30):
        torn.write_bytes(whole[:length])
        with pytest.raises(BadArchive):
            read(torn)


def repacked(path: Path, *more: tarfile.TarInfo, without: str = "") -> Path:
    """The same archive with other files in it, by somebody who knows how it is made."""
    other = path.with_name("other.tar.gz")
    with tarfile.open(path) as old, tarfile.open(other, "w:gz") as new:
        for info in old:
            if info.name != without:
                new.addfile(info, old.extractfile(info))
        for info in more:
            new.addfile(info, io.BytesIO(b"x" * info.size))
    return other


def entry(name: str, kind: bytes = tarfile.REGTYPE, link: str = "", size: int = 1) -> tarfile.TarInfo:
    info = tarfile.TarInfo(name)
    info.type, info.linkname, info.size = kind, link, size if kind == tarfile.REGTYPE else 0
    return info


INTRUDERS = {
    "upwards": entry("../escaped"),
    "from the root": entry("/tmp/escaped"),
    "through a folder": entry("data/../../escaped"),
    "a link": entry("settings.env", tarfile.SYMTYPE, "/etc/passwd"),
    "a hard link": entry("settings.env", tarfile.LNKTYPE, "../escaped"),
    "a device": entry("settings.env", tarfile.CHRTYPE),
    "one more": entry("more"),
    "twice": entry("settings.env"),
}


@pytest.mark.parametrize("name", INTRUDERS)
def test_nothing_is_written_elsewhere(name: str, tmp_path: Path) -> None:
    info = INTRUDERS[name]
    bad = repacked(packed(tmp_path / "a"), info, without=info.name if info.type != tarfile.REGTYPE else "")
    with pytest.raises(BadArchive, match="which no backup has"):
        read(bad, tmp_path / "deep" / "out")
    assert not list(tmp_path.rglob("escaped"))


def test_a_name_that_leads_out_is_refused_though_the_manifest_has_it(tmp_path: Path) -> None:
    (tmp_path / "evil").write_bytes(b"x")
    members = {"../escaped": archive.member(tmp_path / "evil")}
    manifest = Manifest(NOON.isoformat(), "sqlite", Facts({}, {}, ()), members)
    archive.write(tmp_path / "a.tar.gz", manifest, {"../escaped": tmp_path / "evil"})
    with pytest.raises(BadArchive, match="which no backup has"):
        read(tmp_path / "a.tar.gz", tmp_path / "deep")
    assert not (tmp_path / "escaped").exists()


@pytest.mark.parametrize(("data", "says"), [(b"", "damaged"), (b"no archive", "damaged")])
def test_what_is_no_archive_is_refused(data: bytes, says: str, tmp_path: Path) -> None:
    (tmp_path / "x.tar.gz").write_bytes(data)
    with pytest.raises(BadArchive, match=says):
        read(tmp_path / "x.tar.gz")


def test_a_tar_of_something_else_is_refused(tmp_path: Path) -> None:
    with tarfile.open(tmp_path / "x.tar.gz", "w:gz") as tar:
        tar.addfile(entry("photos/one.jpg"), io.BytesIO(b"x"))
    with pytest.raises(BadArchive, match="no backup of Shedbook"):
        read(tmp_path / "x.tar.gz")
    with pytest.raises(BadArchive, match="is damaged"):
        read(repacked(packed(tmp_path / "a"), without="settings.env"))


def test_a_newer_format_says_what_to_do(tmp_path: Path) -> None:
    with pytest.raises(BadArchive, match="Update Shedbook"):
        read(packed(tmp_path / "a", format=2))


def test_the_manifest_is_read_by_people_too(tmp_path: Path) -> None:
    path = packed(tmp_path / "a")
    with tarfile.open(path) as tar:
        first = tar.next()
        plain = json.loads(tar.extractfile(first).read())
    assert first.name == "manifest.json" and plain["facts"]["heads"] == {"A": [3, "ab" * 32]}
    assert set(plain["members"]) == {"book.sqlite3", "settings.env"}


def test_a_damaged_database_is_told(tmp_path: Path) -> None:
    """Pages in the middle overwritten, as by a failing disk."""
    with closing(sqlite3.connect(tmp_path / "ill.sqlite3")) as ill:
        ill.execute("CREATE TABLE lines (number INTEGER PRIMARY KEY, said TEXT)")
        ill.executemany("INSERT INTO lines (said) VALUES (?)", [("x" * 200,)] * 2_000)
        ill.commit()
    with (tmp_path / "ill.sqlite3").open("r+b") as file:
        file.seek(4096 * 20)
        file.write(b"\xff" * 4096 * 3)
    with pytest.raises(copying.BadCopy, match="restore the last good one"):
        copying._sqlite(tmp_path / "ill.sqlite3", tmp_path / "copy.sqlite3")
