"""`restore`: a book from an archive, to a place where none stands."""

from argparse import ArgumentParser
from pathlib import Path
from typing import Any

from django.core.management.base import BaseCommand, CommandError
from django.utils.translation import gettext as _

from equipment.actions.backup import Restored, RestoreRefused, restore
from equipment.management.progress import Progress


class Command(BaseCommand):
    help = (
        "Bring a book back from an archive that `backup` wrote, to an empty place only, and verify every seal and "
        "every state before saying that it is done."
    )
    # There is no database yet.
    requires_system_checks = ()

    def add_arguments(self, parser: ArgumentParser) -> None:
        parser.add_argument("archive", type=Path)

    def handle(self, *, archive: Path, **options: Any) -> None:
        progress = Progress(self.stderr, _("Entries verified"))
        try:
            done = restore(archive, progress)
        except RestoreRefused as error:
            raise CommandError(str(error)) from error
        progress.end()
        for finding in done.verified.findings:
            self.stdout.write(str(finding))
        if not done.whole:
            raise CommandError(_not_whole())
        for line in described(done):
            self.stdout.write(line)


def described(done: Restored) -> list[str]:
    """What is there now, and what is left to do."""
    whole = _("The book as of %(at)s is back and whole: %(entries)s entries fit their digests.")
    lines = [whole % {"at": done.manifest.made_at, "entries": f"{done.verified.entries:,}"}]
    lines.append(
        _("The settings it was kept under are in %(file)s; set them again.") % {"file": done.settings}
    )
    if done.manifest.own_key:
        lines.append(
            _("Its secret key is not in the archive: set SHEDBOOK_SECRET_KEY to the one that it had.")
        )
    if done.upgraded:
        lines.append(
            _("It was of an older Shedbook: its tables were brought forward and its states made anew.")
        )
    return lines


def _not_whole() -> str:
    return _(
        "The book was brought back as the archive has it, but it is not whole. Do not work in it yet: try an older "
        "backup in another place, and compare with printed registers."
    )
