"""`backup`: one archive of the whole book, made while the counters go on."""

import os
from pathlib import Path
from typing import Any

from django.conf import settings
from django.core.management.base import BaseCommand, CommandError, CommandParser
from django.template.defaultfilters import filesizeformat
from django.utils import timezone
from django.utils.translation import gettext as _
from django.utils.translation import ngettext

from equipment.actions.backup import BackedUp, BackupFailed, back_up

YIELDS = 15  # of 19


class Command(BaseCommand):
    help = (
        "Write one archive of the database with its photos, the keys beside it and the settings, while the counters go "
        "on; read it back; remove the old ones by the rule; copy it to the other place. Keep it as you keep the keys "
        "of the office: whoever has it has every name and every key."
    )
    # It reads; a damaged book is better backed up than not.
    requires_system_checks = ()

    def add_arguments(self, parser: CommandParser) -> None:
        parser.add_argument(
            "--to", type=Path, metavar="FOLDER", help="where it goes (default: SHEDBOOK_BACKUPS)"
        )

    def run_from_argv(self, argv: list[str]) -> None:
        """From the shell: whatever counters ask for goes before it."""
        os.nice(YIELDS)
        super().run_from_argv(argv)

    def handle(self, **options: Any) -> None:
        try:
            done = back_up(options["to"] or Path(settings.BACKUP_DIR), timezone.now())
        except BackupFailed as error:
            raise CommandError(str(error)) from error
        self.stdout.write(said(done))
        for store, (position, digest) in done.facts.heads.items():
            self.stdout.write(f"{store} {position} {digest}")
        if done.problem:
            here = _("It is not at the other place as well, only here.")
            raise CommandError(f"{done.problem} {here}")


def said(done: BackedUp) -> str:
    """What was made, and what went."""
    words = _("%(path)s: %(entries)s entries, %(size)s, read back and whole.")
    made = words % {
        "path": done.path,
        "entries": f"{done.facts.counts['entries']:,}",
        "size": filesizeformat(done.size),
    }
    gone = ngettext("%(n)d old one removed.", "%(n)d old ones removed.", done.removed) % {"n": done.removed}
    return f"{made} {gone}" if done.removed else made
