"""`fetch_decoder`: what the orchard page reads tags with, into the static files."""

from argparse import ArgumentParser
from typing import Any

from django.core.management.base import BaseCommand, CommandError
from django.utils.translation import gettext as _

from equipment.management import decoder


class Command(BaseCommand):
    help = "Fetch the decoder by which the orchard page reads tags with the camera. Safe to run again."
    requires_system_checks = ()

    def add_arguments(self, parser: ArgumentParser) -> None:
        parser.add_argument("--again", action="store_true", help="fetch it even if it is here, whole")

    def handle(self, *, again: bool, **options: Any) -> None:
        if decoder.is_whole() and not again:
            self.stdout.write(_("The decoder is here already."))
            return
        try:
            decoder.fetch()
        except decoder.NotFetched as why:
            raise CommandError(_("The decoder could not be fetched: %s") % why) from None
        self.stdout.write(_("The decoder is here: the orchard page can read tags with the camera."))
