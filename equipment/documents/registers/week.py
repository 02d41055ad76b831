"""A week's registers written to a folder, for cron: every file whole under its name, or not there at all."""

import os
from collections.abc import Iterator, Sequence
from contextlib import suppress
from dataclasses import dataclass
from datetime import date, datetime, timedelta
from pathlib import Path
from typing import BinaryIO
from uuid import uuid4

from django.utils.translation import gettext as _

from equipment.actions.print_register import print_register
from equipment.documents.registers import file_name, write
from equipment.models import Printing
from equipment.models.registers import REGISTERS, Asked

SEVEN = timedelta(days=7)


@dataclass(frozen=True)
class Written:
    """`path` of a file, with the printing that it is."""

    path: Path
    printing: Printing


def last_week(today: date) -> date:
    """The Monday of the last week that is over."""
    return today - timedelta(days=today.weekday()) - SEVEN


def monday(text: str) -> date:
    """Of the week that `text` names: any day of it ("2026-11-18"), or the week itself ("2026-W47"). ValueError."""
    try:
        day = date.fromisoformat(text)
    except ValueError:
        said = _("“%(text)s” is no week. Write a day of it, as in 2026-11-18, or the week, as in 2026-W47.")
        raise ValueError(said % {"text": text}) from None
    return day - timedelta(days=day.weekday())


def write_week(folder: Path, first: date, forms: Sequence[str], at: datetime) -> Iterator[Written]:
    """Print the registers of the seven days from `first` on, those that need nobody to choose a picker or a piece.

    OSError where the folder cannot be written to or the disk is full: what was written before stands, and nothing is
    kept, in the folder or of printings, of the file that failed.
    """
    check(folder)
    asked = Asked(first, first + SEVEN - timedelta(days=1))
    for register in REGISTERS.values():
        if not register.needs:
            for form in forms:
                yield _written(folder, print_register(register, asked, form, None, at))


def check(folder: Path) -> None:
    """Whether files can be made there: OSError before anything is printed."""
    probe = folder / f".{uuid4().hex}.part"
    with probe.open("xb"):
        pass
    probe.unlink()


def _written(folder: Path, printing: Printing) -> Written:
    path = folder / file_name(printing)
    beside = folder / f".{path.name}.part"
    try:
        with beside.open("xb") as file:
            _write(printing, file)
        beside.replace(path)
    except BaseException:
        with suppress(OSError):
            beside.unlink(missing_ok=True)
        printing.delete()
        raise
    return Written(path, printing)


def _write(printing: Printing, file: BinaryIO) -> None:
    """Down to the disk: a full one often says so only then."""
    write(printing, file)
    file.flush()
    os.fsync(file.fileno())
