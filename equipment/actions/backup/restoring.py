"""Bringing a book back from an archive, to a place where none stands.

Everything is unpacked and checked beside its place first. The database takes its place in one step; what lies beside
it comes before, and what is replaced of that is kept under another name.
"""

import shutil
import sqlite3
import tempfile
from contextlib import closing
from dataclasses import dataclass
from pathlib import Path

from django.conf import settings
from django.core.management import call_command
from django.db import connection
from django.db.migrations.loader import MigrationLoader
from django.utils.translation import gettext as _

from equipment.actions.backup import archive, copying, tools
from equipment.actions.backup.facts import Manifest, facts
from equipment.actions.backup.making import ASIDE, BESIDE, RESTORED, SETTINGS, why
from equipment.actions.rebuild_states import rebuild_states
from equipment.actions.refolding import Say
from equipment.actions.verify_book import Verified, verify_book

OWN = ("crews", "equipment")


class RestoreRefused(Exception):
    """Nothing was brought back; the message says why, and what to do."""


@dataclass(frozen=True, slots=True)
class Restored:
    """What the archive said, what the verification of the book found, the `settings` it was written under (a file to
    read), and whether the tables were brought forward from an older Shedbook, and the states made anew by
    this one."""

    manifest: Manifest
    verified: Verified
    settings: Path
    upgraded: bool

    @property
    def whole(self) -> bool:
        """Every seal and state as it should be, and the book as long as it was."""
        return self.verified.clean and dict(self.verified.heads) == {
            store: head for store, head in self.manifest.facts.heads.items() if head[0]
        }


def restore(path: Path, say: Say) -> Restored:
    """Raises RestoreRefused, with nothing changed but what was kept aside; the verification changes nothing."""
    _empty()
    home = _home()
    try:
        home.mkdir(parents=True, exist_ok=True)
        with tempfile.TemporaryDirectory(prefix=".restore-", dir=home) as scratch:
            stage = Path(scratch)
            manifest = archive.read(path, stage)
            _suits(manifest, stage)
            kept = _beside(stage)
            _database(manifest, stage)
    except (archive.BadArchive, copying.BadCopy, tools.NoTool) as error:
        raise RestoreRefused(str(error)) from error
    except FileNotFoundError as error:
        said = _("There is no file %(file)s.") % {"file": error.filename}
        raise RestoreRefused(said) from error
    except OSError as error:
        raise RestoreRefused(why(error, home)) from error
    upgraded = bool(_known() - set(manifest.facts.migrations))
    if upgraded:
        call_command("migrate", verbosity=0, interactive=False)
        rebuild_states(say)
    return Restored(manifest, verify_book(say), kept, upgraded)


def _home() -> Path:
    """The folder that the database goes to: what is unpacked there takes its place in one step."""
    if connection.vendor == "sqlite":
        return Path(connection.settings_dict["NAME"]).resolve().parent
    return Path(settings.DATA_DIR)


def _empty() -> None:
    said = _(
        "A book stands in %(where)s already, and a restore never writes over one. Move it away, or name another place "
        "in %(setting)s."
    )
    if connection.vendor != "sqlite":
        if connection.introspection.table_names():
            where = connection.settings_dict["NAME"]
            raise RestoreRefused(said % {"where": where, "setting": "DATABASE_URL"})
        return
    database = Path(connection.settings_dict["NAME"])
    # An old write-ahead log would be read into the new file.
    logs = [Path(f"{database}{end}") for end in ("-wal", "-journal")]
    if _holds_tables(database) or any(log.exists() and log.stat().st_size for log in logs):
        raise RestoreRefused(said % {"where": database, "setting": "SHEDBOOK_DATA"})


def _holds_tables(database: Path) -> bool:
    if not database.exists() or not database.stat().st_size:
        return False
    try:
        with closing(sqlite3.connect(f"{database.resolve().as_uri()}?mode=ro", uri=True)) as there:
            return bool(there.execute("SELECT COUNT(*) FROM sqlite_master").fetchone()[0])
    except sqlite3.DatabaseError:
        return True


def _known() -> set[str]:
    """Shedbook's own migrations, as this version has them; no database is asked."""
    return {f"{app}.{name}" for app, name in MigrationLoader(None).disk_migrations if app in OWN}


def _suits(manifest: Manifest, stage: Path) -> None:
    """Whether this Shedbook, on this database, can read what the archive holds. Raises RestoreRefused."""
    if manifest.database != connection.vendor:
        said = _(
            "This is a backup of a book on %(then)s, and this Shedbook is set up for %(now)s. Set DATABASE_URL for "
            "%(then)s, restore, and go on from there."
        )
        raise RestoreRefused(said % {"then": manifest.database, "now": connection.vendor})
    if newer := {name for name in manifest.facts.migrations if name.partition(".")[0] in OWN} - _known():
        said = _(
            "The backup is of a newer Shedbook (it has %(what)s). Update Shedbook on this machine first."
        )
        raise RestoreRefused(said % {"what": ", ".join(sorted(newer)[:3])})
    if connection.vendor == "sqlite":
        with closing(sqlite3.connect(stage / copying.NAMES["sqlite"])) as copy:
            if copying.checked(copy) != manifest.facts:
                raise archive.BadArchive(
                    _("The database in the archive is not what its manifest says. Use another.")
                )


def _beside(stage: Path) -> Path:
    """Put the keys and certificates in their places, what lies there aside; the file of the settings."""
    data = Path(settings.DATA_DIR)
    for source in sorted((stage / BESIDE).rglob("*")):
        target = data / source.relative_to(stage / BESIDE)
        if source.is_dir():
            target.mkdir(mode=0o700, parents=True, exist_ok=True)
            continue
        target.parent.mkdir(mode=0o700, parents=True, exist_ok=True)
        if target.exists() and target.read_bytes() != source.read_bytes():
            target.replace(target.with_name(target.name + ASIDE))
        shutil.move(source, target)
    kept = data / f"{RESTORED}{SETTINGS}"
    shutil.move(stage / SETTINGS, kept)
    return kept


def _database(manifest: Manifest, stage: Path) -> None:
    staged = stage / copying.NAMES[manifest.database]
    if connection.vendor == "sqlite":
        connection.close()
        target = Path(connection.settings_dict["NAME"])
        staged.replace(target)
        archive.settle(target.resolve().parent)
        return
    how = ("--exit-on-error", "--single-transaction", "--no-owner", "--no-privileges")
    tools.run("pg_restore", *how, staged)
    with connection.cursor() as cursor:

        def ask(sql: str) -> list[tuple[object, ...]]:
            cursor.execute(sql)
            return cursor.fetchall()

        if facts(ask) != manifest.facts:
            raise archive.BadArchive(
                _("The database in the archive is not what its manifest says. Use another.")
            )
