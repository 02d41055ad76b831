"""`erase_picker`: forget pickers who left, by name of number or card, or all who left before a day."""

from argparse import ArgumentParser
from datetime import date, timedelta
from typing import Any

from django.conf import settings
from django.core.management.base import BaseCommand, CommandError
from django.utils import timezone
from django.utils.translation import gettext as _
from django.utils.translation import ngettext

from crews.models import Picker
from equipment.actions.erase_picker import NotErased, Standing, erase, find, left_before, standing, wipe


class Command(BaseCommand):
    help = (
        "Forget pickers: their names, numbers, cards and sizes, and with --notes what was written of them. The book "
        "stays whole; pages and registers say “erased”. It cannot be undone, and backups made before still hold them."
    )
    requires_migrations_checks = True

    def add_arguments(self, parser: ArgumentParser) -> None:
        parser.add_argument("who", nargs="*", metavar="BADGE|NUMBER", help="the farm's number, or a card")
        parser.add_argument(
            "--left-before",
            nargs="?",
            const="",
            metavar="DAY",
            help="all who are in no crew and last in the book before that day (default: SHEDBOOK_KEEP_PEOPLE_DAYS ago)",
        )
        notes = parser.add_mutually_exclusive_group()
        notes.add_argument("--notes", action="store_true", help="what was written of them goes as well")
        notes.add_argument("--keep-notes", action="store_true", help="what was written of them stays")
        parser.add_argument("--dry-run", action="store_true", help="only show what there is of them")

    def handle(self, **options: Any) -> None:
        cron = options["left_before"] is not None
        if bool(options["who"]) == cron:
            raise CommandError(_("Name pickers by number or card, or say --left-before."))
        try:
            people = (
                left_before(the_day(options["left_before"])) if cron else [find(w) for w in options["who"]]
            )
        except NotErased as error:
            raise CommandError(str(error)) from error
        left = [each.number for each in people if not self._one(each, options, named=not cron)]
        if not options["dry_run"]:
            if len(left) < len(people):
                wipe()
            self._told(len(people) - len(left))
        if left:
            raise CommandError(_("Not erased: %(numbers)s.") % {"numbers": ", ".join(left)})

    def _one(self, picker: Picker, options: Any, *, named: bool) -> bool:
        """Whether this one was erased, or could be. What cron prints has no names in it."""
        found = standing(picker)
        for line in described(found, named=named):
            self.stdout.write(line)
        why_not = found.why_not
        if not why_not and found.written and not (options["notes"] or options["keep_notes"]):
            why_not = _("Say --notes to erase what was written of them as well, or --keep-notes to leave it.")
        if not why_not and not options["dry_run"]:
            try:
                erase(picker, timezone.now(), notes=options["notes"])
            except NotErased as error:
                why_not = str(error)
        if why_not:
            self.stderr.write(why_not)
        return not why_not

    def _told(self, count: int) -> None:
        said = ngettext("%(n)d picker erased.", "%(n)d pickers erased.", count)
        self.stdout.write(said % {"n": count})
        if count:
            self.stdout.write(
                _(
                    "Backups made before still hold them, and so do printed papers. Take them off your lists: one that "
                    "is imported again makes a new picker of that name, with nothing of the old one."
                )
            )


def the_day(text: str) -> date:
    """The day that was named, or as many days ago as the farm keeps people. Raises CommandError."""
    try:
        if text:
            return date.fromisoformat(text)
        return timezone.localdate() - timedelta(days=int(settings.KEEP_PEOPLE_DAYS))
    except ValueError:
        said = _("Write the day as in 2026-01-31, or set SHEDBOOK_KEEP_PEOPLE_DAYS to a number of days.")
        raise CommandError(said) from None


def described(found: Standing, *, named: bool) -> list[str]:
    """Who it is, and each note of theirs with its place in the book."""
    who = f"{found.picker.number} {found.picker.called}" if named else found.picker.number
    count = ngettext("%(n)d note", "%(n)d notes", len(found.written)) % {"n": len(found.written)}
    lines = [f"{who}: {count}"]
    for each in found.written:
        at = timezone.localtime(each.at).strftime("%Y-%m-%d %H:%M")
        lines.append(f"  {each.store} {each.position}, {at}{f': {each.text}' if named else ''}")
    if found.elsewhere:
        said = _("  The name also stands, and stays, in the why of: %(what)s.")
        lines.append(said % {"what": ", ".join(found.elsewhere)})
    return lines
