"""`verify_book`: recompute every seal and every state; name what differs and exit 1."""

import sys
from typing import Any

from django.core.management.base import BaseCommand, CommandParser
from django.utils import timezone
from django.utils.formats import date_format
from django.utils.translation import gettext as _
from django.utils.translation import ngettext

from equipment.actions.going_on import Mark
from equipment.actions.verify_book import Run, Verified, so_far, verify_book
from equipment.management.progress import Progress


class Command(BaseCommand):
    help = (
        "Check that the book says what was written in it and that the states follow from it. Changes nothing."
    )
    # The triggers are among what is verified; a check that stops at their lack would hide the rest.
    requires_system_checks = ()
    requires_migrations_checks = True

    def add_arguments(self, parser: CommandParser) -> None:
        parser.add_argument("--resume", action="store_true", help="go on where a run was stopped today")

    def handle(self, *, resume: bool, **options: Any) -> None:
        progress, mark = (
            Progress(self.stderr, _("Seals checked"), _("States checked")),
            Mark.of("verify_book"),
        )
        if said := resuming(so_far(mark), resume):
            self.stderr.write(said)
        try:
            verified = verify_book(progress, mark, resume=resume)
        except KeyboardInterrupt:
            self.stderr.write(_("Stopped. With --resume it goes on from here."))
            sys.exit(130)
        progress.end()
        for finding in verified.findings:
            self.stdout.write(str(finding))
        if verified.more:
            self.stdout.write(_("And %(more)s more.") % {"more": f"{verified.more:,}"})
        for store, (position, digest) in verified.heads.items():
            self.stdout.write(f"{store} {position} {digest}")
        self.stdout.write(summary(verified))
        if not verified.clean:
            sys.exit(1)


def resuming(run: Run | None, resume: bool) -> str:
    """What is said of a run that was stopped; "" where there is nothing to say."""
    if run is None or run.at is None:
        return _("There is nothing to go on from: all of it is looked at.") if resume else ""
    told = {
        "at": date_format(timezone.localtime(run.at), _("j F Y H:i")),
        "seals": f"{run.entries:,}",
        "states": f"{run.folded:,}",
        "found": f"{len(run.findings) + run.more:,}",
    }
    if resume:
        words = _(
            "Going on where it was stopped at %(at)s: the seals of %(seals)s entries and the states of %(states)s "
            "were looked at until then. Findings until then: %(found)s."
        )
        return words % told
    return _("A run was stopped at %(at)s; --resume would go on from there. This one looks at all.") % told


def summary(verified: Verified) -> str:
    """What it comes to, and what to do."""
    if verified.clean:
        said = _("The book is whole: %(entries)s entries fit their digests, and the states follow from them.")
        return said % {"entries": f"{verified.entries:,}"}
    count = len(verified.findings) + verified.more
    found = ngettext(
        "%(count)s thing is not as it should be.", "%(count)s things are not as they should be.", count
    )
    advice = _("Keep this database as it is, and compare it with a backup and with printed registers.")
    if not verified.more and all(finding.rebuildable for finding in verified.findings):
        advice = _("The book itself is whole: `manage.py rebuild_states` puts this right.")
    return f"{found % {'count': count}} {advice}"
