"""`import_csv KIND FILE`: a list from a spreadsheet into the farm, or word of every cell that stands in its way."""

from argparse import ArgumentParser
from pathlib import Path
from typing import Any

from django.core.management.base import BaseCommand, CommandError
from django.utils import timezone
from django.utils.translation import gettext as _

from crews import policy
from crews.models import User
from equipment.actions.importing import KINDS, BadCell, Result, import_list


class Command(BaseCommand):
    help = "Import a list of stores, crews, blocks, pickers, plans or gear: all of it, or nothing and why."

    def add_arguments(self, parser: ArgumentParser) -> None:
        parser.add_argument("kind", choices=list(KINDS))
        parser.add_argument("file", type=Path)
        parser.add_argument("--dry-run", action="store_true", help="only say what it would do")
        parser.add_argument("--user", metavar="USERNAME", help="who imports (default: the first manager)")

    def handle(self, *, kind: str, file: Path, dry_run: bool, user: str | None, **options: Any) -> None:
        try:
            data = file.read_bytes()
        except OSError as error:
            raise CommandError(
                _("%(file)s cannot be read: %(why)s") % {"file": file, "why": error.strerror}
            ) from None
        result = import_list(kind, data, importer(user), timezone.now(), dry_run=dry_run)
        for line in described(result):
            self.stdout.write(line)
        if not result.good:
            raise CommandError(_("Nothing was imported."), returncode=1)


def importer(username: str | None) -> User:
    """The user of that name, or without one the first manager or superuser. Raises CommandError."""
    users = User.objects.filter(is_active=True).order_by("pk")
    if username:
        found = users.filter(username=username).first()
    else:
        found = users.filter(groups__name=policy.MANAGER).first() or users.filter(is_superuser=True).first()
    if found is None:
        raise CommandError(_("Say who imports: --user with the name of somebody who signs in."))
    return found


def described(result: Result) -> list[str]:
    """The result, a line a thing."""
    if not result.good:
        left_out = (
            [_("... and %(count)d more.") % {"count": result.bad_left_out}] if result.bad_left_out else []
        )
        return [*(_bad(cell) for cell in result.bad), *left_out, *result.warnings]
    heading = _("A dry run, nothing is written:") if result.dry_run else _("Imported:")
    counts = {"added": len(result.added), "changed": len(result.changed), "unchanged": result.unchanged}
    lines = [heading, _("%(added)d added, %(changed)d changed, %(unchanged)d unchanged.") % counts]
    if result.new_pieces:
        lines.append(_("%(count)d new pieces of gear.") % {"count": result.new_pieces})
    if result.new_cards:
        lines.append(_("%(count)d new cards to print.") % {"count": result.new_cards})
    for changed in result.changed:
        changes = ", ".join(f"{d.column} {d.before} → {d.after}" for d in changed.differences)
        lines.append(f"  {changed.what}: {changes}")
    lines += result.warnings
    if result.missing:
        lines.append(_("Not on this list:"))
        lines += [
            f"  {m.number} {m.name}, {m.crew or '–'}: {' '.join(m.tags) or '–'}" for m in result.missing
        ]
    return lines


def _bad(cell: BadCell) -> str:
    where = _("Line %(line)d") % {"line": cell.line} if cell.line else _("The file")
    column = f", {cell.column}" if cell.column else ""
    value = f" “{cell.value}”" if cell.value else ""
    return f"{where}{column}{value}: {cell.reason}"
