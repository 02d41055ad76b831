"""`rebuild_states`: make every state again from the entries."""

import sys
from typing import Any

from django.core.management.base import BaseCommand
from django.utils.translation import gettext as _

from equipment.actions.rebuild_states import rebuild_states
from equipment.management.progress import Progress


class Command(BaseCommand):
    help = "Make every state again from the entries, while the counters go on. Safe to stop and to run again."
    requires_migrations_checks = True

    def handle(self, **options: Any) -> None:
        progress = Progress(self.stderr, _("Entries folded"))
        try:
            done = rebuild_states(progress)
        except KeyboardInterrupt:
            self.stderr.write(_("Stopped. What is done is done; run it again for the rest."))
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
