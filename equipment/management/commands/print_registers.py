"""`print_registers`: last week's registers to a folder, for cron."""

from errno import EDQUOT, ENOSPC
from pathlib import Path
from typing import Any

from django.core.management.base import BaseCommand, CommandError, CommandParser
from django.utils import timezone
from django.utils.translation import gettext as _
from django.utils.translation import ngettext

from equipment.documents.registers.facts import lines_said
from equipment.documents.registers.logo import logo
from equipment.documents.registers.week import last_week, monday, write_week
from equipment.models import Printing


class Command(BaseCommand):
    help = (
        "Print a week's registers, last week's unless told otherwise, into files of a folder. Each printing is kept, "
        "so that Verify knows the paper. Registers of one picker or one piece are left out."
    )
    requires_migrations_checks = True

    def add_arguments(self, parser: CommandParser) -> None:
        parser.add_argument("--to", required=True, type=Path, metavar="FOLDER", help="where the files go")
        parser.add_argument("--week", metavar="WEEK", help="a day of it (2026-11-18), or 2026-W47")
        parser.add_argument(
            "--form",
            action="append",
            choices=Printing.Form.values,
            help="pdf (unless told otherwise), xlsx or csv; may be given several times",
        )

    def handle(self, **options: Any) -> None:
        first = last_week(timezone.localdate())
        if options["week"]:
            try:
                first = monday(options["week"])
            except ValueError as error:
                raise CommandError(str(error)) from error
        if first > timezone.localdate():
            raise CommandError(_("That week has not begun: there is nothing to print of it yet."))
        if problem := logo()[1]:
            self.stderr.write(problem)
        count = 0
        forms = dict.fromkeys(options["form"] or [Printing.Form.PDF])
        try:
            for each in write_week(options["to"], first, [*forms], timezone.now()):
                self.stdout.write(f"{each.path.name}: {lines_said(each.printing.lines)}")
                count += 1
        except (OSError, ValueError) as error:
            raise CommandError(f"{why(error, options['to'])} {written(count)}") from error
        self.stdout.write(written(count))


def written(count: int) -> str:
    return ngettext("%(n)d file written.", "%(n)d files written.", count) % {"n": count}


def why(error: OSError | ValueError, folder: Path) -> str:
    """What went wrong, and what to do."""
    where = {"folder": folder}
    if isinstance(error, ValueError):
        return str(error)
    if isinstance(error, FileNotFoundError):
        return _("There is no folder %(folder)s. Make it, or name another with --to.") % where
    if isinstance(error, NotADirectoryError):
        return _("%(folder)s is no folder. Name one with --to.") % where
    if error.errno in {ENOSPC, EDQUOT}:
        return (
            _("The disk of %(folder)s is full. Make room and run this again; nothing half is left.") % where
        )
    said = _("%(folder)s cannot be written to: %(why)s. Give this user the right to, or name another folder.")
    return said % {**where, "why": error.strerror or error}
