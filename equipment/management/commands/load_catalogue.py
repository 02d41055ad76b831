"""`load_catalogue`: the kinds of gear that come with Shedbook, into the database."""

from typing import Any

from django.core.management.base import BaseCommand
from django.utils.translation import gettext as _

from equipment.actions.load_catalogue import load_catalogue


class Command(BaseCommand):
    help = "Load the kinds of gear and their rules. Safe to run again; what the farm changed stays as it is."
    requires_migrations_checks = True

    def handle(self, **options: Any) -> None:
        loaded = load_catalogue()
        said = _("%(added)s kinds added, %(updated)s brought up to date, %(kept)s left as the farm has them.")
        self.stdout.write(said % {"added": loaded.added, "updated": loaded.updated, "kept": loaded.kept})
