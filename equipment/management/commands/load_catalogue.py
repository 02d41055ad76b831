"""`load_catalogue`: the kinds of gear, the counted goods and the rules that come with Shedbook, into the database."""

from dataclasses import asdict
from typing import Any

from django.core.management.base import BaseCommand
from django.utils.translation import gettext as _

from equipment.actions.load_catalogue import load_catalogue


class Command(BaseCommand):
    help = (
        "Load the kinds of gear, the counted goods and the rules. Safe to run again; what the farm changed stays "
        "as it is."
    )
    requires_migrations_checks = True

    def handle(self, **options: Any) -> None:
        loaded = load_catalogue()
        kinds = _(
            "%(added)s kinds added, %(updated)s brought up to date, %(kept)s left as the farm has them."
        )
        goods = _(
            "%(added)s counted goods added, %(updated)s brought up to date, %(kept)s left as the farm has them."
        )
        rules = _(
            "%(added)s rules added, %(updated)s brought up to date, %(kept)s left as the farm has them."
        )
        self.stdout.write(kinds % asdict(loaded.kinds))
        self.stdout.write(goods % asdict(loaded.goods))
        self.stdout.write(rules % asdict(loaded.rules))
