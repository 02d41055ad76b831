"""`bill_of_materials`: what Shedbook is made of here, for whoever must know, as CycloneDX."""

from argparse import ArgumentParser
from pathlib import Path
from typing import Any

from django.core.management.base import BaseCommand, CommandError
from django.utils.translation import gettext as _

from equipment.management.materials.bill import bill, other_than_locked, written


class Command(BaseCommand):
    help = "Print the bill of materials (CycloneDX, JSON): each package here, its licence, the digests of the lock."
    requires_system_checks = ()

    def add_arguments(self, parser: ArgumentParser) -> None:
        parser.add_argument("--output", type=Path, help="the file to write it to")

    def handle(self, *, output: Path | None, **options: Any) -> None:
        try:
            text, others = written(bill()), other_than_locked()
            if output:
                output.write_text(text + "\n")
        except OSError as why:
            raise CommandError(str(why)) from None
        if not output:
            self.stdout.write(text)
        if others:
            self.stderr.write(_("Not as locked, hence without digests: %s.") % ", ".join(others))
