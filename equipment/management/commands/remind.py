"""`remind`: mail what is overdue and what was overridden, for cron."""

import sys
from typing import Any

from django.core.management.base import BaseCommand, CommandParser
from django.utils import timezone
from django.utils.translation import gettext as _
from django.utils.translation import ngettext

from equipment.actions.remind import Mailed, remind


class Command(BaseCommand):
    help = (
        "Mail the safety officers, and the supervisors who want it, one digest of what is overdue and what was let out "
        "against the gate. Each thing is mailed once; what cannot be sent is tried again next time."
    )
    requires_migrations_checks = True

    def add_arguments(self, parser: CommandParser) -> None:
        parser.add_argument(
            "--dry-run", action="store_true", help="show the mails; send and remember nothing"
        )

    def handle(self, **options: Any) -> None:
        mailed = remind(timezone.now(), options["dry_run"])
        if not mailed:
            self.stdout.write(_("Nobody is to be mailed: there is no safety officer."))
        for each in mailed:
            self.stdout.write(said(each, options["dry_run"]))
            if each.problem:
                self.stderr.write(said_of_problem(each))
        if any(each.problem for each in mailed):
            sys.exit(1)


def said(each: Mailed, dry_run: bool) -> str:
    if not each.new:
        return _("%(user)s: nothing new.") % {"user": each.user.get_username()}
    words = {"user": each.user.get_username(), "n": each.new}
    if dry_run:
        told = ngettext("%(user)s: %(n)d thing to mail.", "%(user)s: %(n)d things to mail.", each.new)
        return f"{told % words}\n\n{each.text}"
    if each.problem:
        return ngettext("%(user)s: %(n)d thing waits.", "%(user)s: %(n)d things wait.", each.new) % words
    return ngettext("%(user)s: %(n)d thing mailed.", "%(user)s: %(n)d things mailed.", each.new) % words


def said_of_problem(each: Mailed) -> str:
    told = _("%(user)s could not be mailed (%(problem)s). It is tried again next time.")
    return told % {"user": each.user.get_username(), "problem": each.problem}
