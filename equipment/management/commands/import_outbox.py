"""`import_outbox`: take in the file that a phone wrote its outbox to."""

from argparse import ArgumentParser
from pathlib import Path
from typing import Any

from django.core.management.base import BaseCommand, CommandError
from django.utils import timezone
from django.utils.translation import gettext as _

from equipment.actions.import_outbox import Imported, import_outbox
from equipment.actions.outbox_file import NoOutbox


class Command(BaseCommand):
    help = (
        "Take in what a phone could not send, from the file that its Orchard page saved. Again is harmless."
    )
    requires_migrations_checks = True

    def add_arguments(self, parser: ArgumentParser) -> None:
        parser.add_argument("file", type=Path)
        parser.add_argument("--dry-run", action="store_true", help="only say what would become of it")

    def handle(self, *, file: Path, dry_run: bool, **options: Any) -> None:
        try:
            done = import_outbox(file.read_bytes(), timezone.now(), dry_run=dry_run)
        except OSError as error:
            why = {"file": file, "why": error.strerror}
            raise CommandError(_("%(file)s cannot be read: %(why)s") % why) from None
        except NoOutbox:
            said = _("%(file)s is no outbox of a phone. Nothing was taken in.")
            raise CommandError(said % {"file": file}) from None
        for line in described(done):
            self.stdout.write(line)
        if not done.whole:
            raise CommandError(_torn(done), returncode=1)


def described(done: Imported) -> list[str]:
    """What became of it, a line a thing."""
    lines = [_("A dry run, nothing is written:") if done.dry_run else _("Taken in:")]
    said = _("%(recorded)d entries recorded, %(known)d in the book already, %(refused)d refused.")
    lines.append(said % {name: done.outcomes[name] for name in ("recorded", "known", "refused")})
    said = _("%(kept)d photos kept, %(known)d here already, %(refused)d refused.")
    lines.append(said % {name: done.photos[name] for name in ("kept", "known", "refused")})
    lines += [_("By %(name)s: %(count)d") % {"name": name, "count": n} for name, n in sorted(done.by.items())]
    lines += [f"  {what}: {why}" for what, why in done.refused]
    return lines


def _torn(done: Imported) -> str:
    count = {"missing": done.file.missing, "unread": len(done.file.unread)}
    said = _(
        "The file is not whole: %(missing)d of what the phone wrote is missing, %(unread)d lines say nothing."
    )
    return f"{said % count} {_('What is whole was taken in. Save the file on the phone again, and take it in again.')}"
