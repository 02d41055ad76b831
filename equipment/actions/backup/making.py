"""Making an archive: copied, packed, read back, named; then the old ones go and a copy goes elsewhere."""

import os
import shlex
import shutil
import tempfile
from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import dataclass
from datetime import datetime
from errno import EDQUOT, ENOSPC
from pathlib import Path
from zoneinfo import ZoneInfo

from django.conf import settings
from django.db import connection
from django.utils.translation import gettext as _
from filelock import FileLock, Timeout

from equipment.actions.backup import archive, copying, keeping
from equipment.actions.backup.facts import Facts, Manifest
from equipment.actions.backup.tools import NoTool

# Of the environment: what makes the same farm again. What opens a door stays out, but for the keys in the data folder.
TOLD = ("FARM_", "SHEDBOOK_", "LABEL_", "PAPER_", "EMAIL_")
UNTOLD = ("SECRET", "PASSWORD", "TOKEN", "PEPPER", "SHEDBOOK_DATA", "SHEDBOOK_TESTING")
SETTINGS = "settings.env"
BESIDE = "data"  # the folder of the archive for what lies beside the database
RESTORED, ASIDE = "restored-", ".before-restore"  # what a restore leaves there
SMALL = 1_000_000
PART = ".part"


class BackupFailed(Exception):
    """There is no new archive, or not where it should be as well; the message says what to do."""


@dataclass(frozen=True, slots=True)
class BackedUp:
    """`path` of the archive, its size in bytes, what is in it, how many old ones went, and the `problem` that kept it
    from the other place ("": none)."""

    path: Path
    size: int
    facts: Facts
    removed: int
    problem: str = ""


def back_up(folder: Path, at: datetime) -> BackedUp:
    """A new archive in `folder`. Raises BackupFailed; then nothing half stands there under an archive's name."""
    rule, zone = _rule(), ZoneInfo(settings.FARM_TIME_ZONE)
    with _explained(folder):
        folder.mkdir(mode=0o700, parents=True, exist_ok=True)
        with FileLock(folder / ".backup.lock", timeout=0):
            _sweep(folder)
            path, facts = _made(folder, at)
            removed = keeping.rotate(folder, rule, zone)
            return BackedUp(path, path.stat().st_size, facts, removed, _elsewhere(path, rule, zone))


def _rule() -> keeping.Keep:
    try:
        return keeping.Keep.read(settings.BACKUPS_KEPT)
    except ValueError as error:
        raise BackupFailed(f"SHEDBOOK_BACKUPS_KEPT: {error}") from error


@contextmanager
def _explained(folder: Path) -> Iterator[None]:
    try:
        yield
    except Timeout:
        said = _("Another backup to %(folder)s is under way. Wait until it is done.")
        raise BackupFailed(said % {"folder": folder}) from None
    except (NoTool, copying.BadCopy, archive.BadArchive) as error:
        raise BackupFailed(str(error)) from error
    except OSError as error:
        raise BackupFailed(why(error, folder)) from error


def why(error: OSError, folder: Path) -> str:
    """What went wrong with a folder, and what to do."""
    full = error.errno in (ENOSPC, EDQUOT)
    said = _(
        "%(folder)s cannot be written to (%(why)s). Mount it, give this user the right to it, or name another."
    )
    if full:
        said = _("The disk of %(folder)s is full. Make room and run this again; nothing half is left.")
    return said % {"folder": folder, "why": error.strerror or error}


def _sweep(folder: Path) -> None:
    """What a killed backup left: we alone are at work here, so it is nobody's."""
    for left in folder.glob(f".shedbook-*{PART}"):
        shutil.rmtree(left) if left.is_dir() else left.unlink()


def _made(folder: Path, at: datetime) -> tuple[Path, Facts]:
    name = keeping.name_at(at)
    with tempfile.TemporaryDirectory(prefix=".shedbook-", suffix=PART, dir=folder) as scratch:
        stage = Path(scratch)
        database, facts = copying.copied(stage)
        files = {database.name: database, **_beside(stage)}
        members = {member: archive.member(file) for member, file in files.items()}
        own_key = bool(os.environ.get("SHEDBOOK_SECRET_KEY"))
        manifest = Manifest(at.isoformat(), connection.vendor, facts, members, own_key)
        packed = stage / name
        archive.write(packed, manifest, files)
        if archive.read(packed) != manifest:
            raise archive.BadArchive(_("The archive does not say what was written in it. Check the disk."))
        packed.replace(folder / name)
        archive.settle(folder)
    return folder / name, facts


def _beside(stage: Path) -> dict[str, Path]:
    """The keys and certificates of the data folder, copied so that they stay as they are; and the settings."""
    files = {}
    for source in small_files(Path(settings.DATA_DIR), Path(settings.TRUST_DIR)):
        name = f"{BESIDE}/{source.relative_to(settings.DATA_DIR)}"
        (stage / name).parent.mkdir(parents=True, exist_ok=True)
        shutil.copyfile(source, stage / name)
        files[name] = stage / name
    (stage / SETTINGS).write_text("".join(f"{line}\n" for line in _environment()))
    return {**files, SETTINGS: stage / SETTINGS}


def small_files(data: Path, trust: Path) -> Iterator[Path]:
    """What a farm's data folder holds beside the database: its keys, and its own authority."""
    for path in sorted([*data.glob("*"), *trust.rglob("*")]):
        other = (
            path.name.startswith((".", RESTORED))
            or path.suffix in (".lock", ASIDE)
            or ".sqlite3" in path.name
        )
        plain = path.is_file() and not path.is_symlink() and path.is_relative_to(data)
        if plain and not other and path.stat().st_size <= SMALL:
            yield path


def _environment() -> Iterator[str]:
    for name, value in sorted(os.environ.items()):
        if name.startswith(TOLD) and not any(word in name for word in UNTOLD):
            yield f"{name}={shlex.quote(value)}"


def _elsewhere(path: Path, rule: keeping.Keep, zone: ZoneInfo) -> str:
    """Copy it to the other place, "" where that went well or none is set. A share that is not mounted is not made."""
    if not settings.BACKUP_COPY:
        return ""
    folder = Path(settings.BACKUP_COPY)
    try:
        archive.copy(path, folder)
        keeping.rotate(folder, rule, zone)
    except archive.BadArchive as error:
        return str(error)
    except OSError as error:
        return why(error, folder)
    return ""
