"""`verify_book`: recompute every seal and every state; name what differs and exit 1."""

import sys
from typing import Any

from django.core.management.base import BaseCommand
from django.utils.translation import gettext as _
from django.utils.translation import ngettext

from equipment.actions.verify_book import Verified, verify_book
from equipment.management.progress import Progress


class Command(BaseCommand):
    help = (
        "Check that the book says what was written in it and that the states follow from it. Changes nothing."
    )
    # The triggers are among what is verified; a check that stops at their lack would hide the rest.
    requires_system_checks = ()
    requires_migrations_checks = True

    def handle(self, **options: Any) -> None:
        progress = Progress(self.stderr, _("Entries verified"))
        verified = verify_book(progress)
        progress.end()
        for finding in verified.findings:
            self.stdout.write(str(finding))
        for store, (position, digest) in verified.heads.items():
            self.stdout.write(f"{store} {position} {digest}")
        self.stdout.write(summary(verified))
        if not verified.clean:
            sys.exit(1)


def summary(verified: Verified) -> str:
    """What it comes to, and what to do."""
    if verified.clean:
        said = _("The book is whole: %(entries)s entries fit their digests, and the states follow from them.")
        return said % {"entries": f"{verified.entries:,}"}
    count = len(verified.findings)
    found = ngettext(
        "%(count)s thing is not as it should be.", "%(count)s things are not as they should be.", count
    )
    advice = _("Keep this database as it is, and compare it with a backup and with printed registers.")
    if all(finding.rebuildable for finding in verified.findings):
        advice = _("The book itself is whole: `manage.py rebuild_states` puts this right.")
    return f"{found % {'count': count}} {advice}"
