"""`rebuild_states`: make every state again from the entries."""

import sys
from typing import Any

from django.core.management.base import BaseCommand, CommandParser
from django.utils.translation import gettext as _

from equipment.actions.going_on import Mark
from equipment.actions.rebuild_states import Run, rebuild_states, so_far
from equipment.management.progress import Progress


class Command(BaseCommand):
    help = "Make every state again from the entries, while the counters go on. Safe to stop and to run again."
    requires_migrations_checks = True

    def add_arguments(self, parser: CommandParser) -> None:
        parser.add_argument("--resume", action="store_true", help="go on where a run was stopped today")

    def handle(self, *, resume: bool, **options: Any) -> None:
        progress, mark = Progress(self.stderr, _("Entries folded")), Mark.of("rebuild_states")
        if resume:
            self.stderr.write(resuming(so_far(mark)))
        try:
            done = rebuild_states(progress, mark=mark, resume=resume)
        except KeyboardInterrupt:
            self.stderr.write(_("Stopped. What is done is done; with --resume it goes on from here."))
            sys.exit(130)
        progress.end()
        said = _("%(entries)s entries folded into the states of %(items)s items and %(crews)s crews.")
        self.stdout.write(said % {"entries": f"{done.entries:,}", "items": done.items, "crews": done.crews})
        if done.removed:
            self.stdout.write(_("%(removed)s rows without entries taken away.") % {"removed": done.removed})
        if done.broken:
            said = _(
                "The entries of %(subjects)s make no sense; their states were left alone. Run verify_book."
            )
            self.stdout.write(said % {"subjects": ", ".join(map(str, done.broken))})
            sys.exit(1)


def resuming(run: Run | None) -> str:
    if run is None:
        return _("There is nothing to go on from: every state is made anew.")
    said = _("Going on where it was stopped: the states of %(entries)s entries were made until then.")
    return said % {"entries": f"{run.done.entries:,}"}
