"""`demo`: the invented farm, loaded, its logins printed, and served."""

from argparse import ArgumentParser
from typing import Any

from django.core.management import call_command
from django.core.management.base import BaseCommand, CommandError
from django.utils.translation import gettext as _

from equipment.actions import demo
from equipment.management import decoder


class Command(BaseCommand):
    help = "Load an invented farm with a season up to yesterday evening, print its logins, serve it; again, serve it."
    requires_system_checks = ()

    def add_arguments(self, parser: ArgumentParser) -> None:
        parser.add_argument("--port", type=int, default=8000, help="port to serve on; 0 takes any free one")
        parser.add_argument("--no-serve", action="store_true", help="only load it and print the logins")
        parser.add_argument("--days", type=int, help="length of the season so far (default: the farm's own)")

    def handle(self, *, port: int, no_serve: bool, days: int | None, **options: Any) -> None:
        try:
            loaded = demo.load(self.tell, days)
        except ValueError as error:
            raise CommandError(str(error)) from None
        except KeyboardInterrupt:
            raise CommandError(_("Stopped. Run it again: it begins anew."), returncode=130) from None
        if not loaded:
            self.tell(_("The demo farm is loaded already."))
        self.decoder()
        self.logins()
        if not no_serve:
            # This machine only: these passwords are known to everybody who can read.
            call_command("serve", host="127.0.0.1", port=port)

    def tell(self, words: str) -> None:
        self.stdout.write(words)
        self.stdout.flush()

    def decoder(self) -> None:
        """Fetched where it can be had; the demo works without."""
        if decoder.is_whole():
            return
        try:
            decoder.fetch()
        except decoder.NotFetched as why:
            self.tell(
                _("Reading tags by camera may not work, the rest does: the decoder could not be fetched (%s)")
                % why
            )

    def logins(self) -> None:
        rows = [(_("user"), _("role"), _("password"), _("name"))]
        rows += [(login.username, login.role, login.password, login.name) for login in demo.logins()]
        widths = [max(len(row[column]) for row in rows) for column in range(3)]
        self.tell("")
        for row in rows:
            cells = [cell.ljust(width) for cell, width in zip(row, widths, strict=False)]
            self.tell("  ".join((*cells, row[-1])))
        self.tell(_("\nThese passwords are for the demo on this machine; they are no secret.\n"))
