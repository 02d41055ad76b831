"""`simulate_season`: an invented season in a farm's empty book, for demos and benchmarks."""

from argparse import ArgumentParser
from datetime import date, timedelta
from typing import Any

from django.core.management.base import BaseCommand, CommandError
from django.utils import timezone
from django.utils.translation import gettext as _

from equipment.actions.simulate import NotNow, Season, simulate_season
from equipment.management.progress import Progress


class Command(BaseCommand):
    help = "Write an invented season into a book in which nothing was handed out yet. It cannot be taken out again."
    requires_migrations_checks = True

    def add_arguments(self, parser: ArgumentParser) -> None:
        parser.add_argument(
            "--days", type=int, default=30, help="calendar days, Sundays included (default 30)"
        )
        parser.add_argument("--until", type=date.fromisoformat, help="the last day (default: yesterday)")
        parser.add_argument("--seed", type=int, default=714, help="the same seed gives the same season")

    def handle(self, *, days: int, until: date | None, seed: int, **options: Any) -> None:
        season = Season(until or timezone.localdate() - timedelta(days=1), days, seed)
        progress = Progress(self.stderr, _("Days simulated"))
        try:
            done = simulate_season(season, progress)
        except NotNow as error:
            raise CommandError(str(error)) from None
        progress.end()
        said = _("%(entries)s entries over %(days)d days of picking, up to %(last)s.")
        self.stdout.write(said % {"entries": f"{done.entries:,}", "days": done.days, "last": season.last})
