"""`languages`: the message files brought up to date with the words of the program, and made ready for use."""

from argparse import ArgumentParser
from pathlib import Path
from typing import Any

from babel.core import UnknownLocaleError
from django.conf import settings
from django.core.management.base import BaseCommand, CommandError
from django.utils.translation import gettext as _

from equipment.actions.languages import files
from equipment.actions.languages.gathering import gather


class Command(BaseCommand):
    help = "Brings every message file up to date, makes its .mo, and says what is not translated yet."

    def add_arguments(self, parser: ArgumentParser) -> None:
        parser.add_argument(
            "--add", metavar="LANGUAGE", help="begin an empty message file, in the data folder"
        )

    def handle(self, *args: Any, **options: Any) -> None:
        if code := options["add"]:
            self._add(code)
        words = gather()
        for code, po in files.there():
            known = files.refresh(files.read(po), words)
            wrong = list(files.wrongs(known))
            known.save(str(po))
            po.with_suffix(".mo").write_bytes(files.compiled(known))
            told = {"language": code, "words": len(words), "left": len(wrong), "file": po}
            self.stdout.write(_("%(language)s: %(words)d words, %(left)d to do: %(file)s") % told)

    def _add(self, code: str) -> None:
        po = files.path(Path(settings.LOCALE_PATHS[0]), code)
        if po.exists():
            raise CommandError(_("%(file)s is there already.") % {"file": po})
        try:
            files.begin(po, code).save(str(po))
        except UnknownLocaleError:
            raise CommandError(_("There is no language %(code)s.") % {"code": code}) from None
