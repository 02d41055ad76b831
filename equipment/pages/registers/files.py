"""A printing as a file: made anew from the book at its heads, so that it can be made again and again."""

from collections import deque
from collections.abc import Iterator, Mapping
from hashlib import sha256
from tempfile import SpooledTemporaryFile
from typing import IO

from django.http import FileResponse, HttpResponseBase, StreamingHttpResponse

from equipment.actions.print_register import canonical, lines_of
from equipment.documents.registers import csv, pdf, xlsx
from equipment.documents.registers.facts import Facts
from equipment.documents.registers.leaves import SIZES
from equipment.models import Printing
from equipment.models.registers import REGISTERS, Line

__all__ = ["SIZES", "Differs", "file_of", "name_of"]

IN_MEMORY = 2**20
KINDS: Mapping[str, str] = {
    "pdf": "application/pdf",
    "xlsx": "application/vnd.openxmlformats-officedocument.spreadsheetml.sheet",
    "csv": "text/csv; charset=utf-8",
}


class Differs(Exception):
    """The book no longer says what was printed."""


def file_of(printing: Printing, size: str = "") -> HttpResponseBase:
    """`size` is that of the sheet, of SIZES; "" what the farm has set. Raises Differs."""
    lines = _Sealing(printing)
    if printing.form == Printing.Form.CSV:
        deque(lines.through(), maxlen=0)
        lines.check()
        pieces = csv.streamed(Facts.of(printing), lines_of(printing))
        answer: HttpResponseBase = StreamingHttpResponse(pieces)
    else:
        answer = FileResponse(_made(printing, lines, size))
    shown = "inline" if printing.form == Printing.Form.PDF else "attachment"
    answer["Content-Type"] = KINDS[printing.form]
    answer["Content-Disposition"] = f'{shown}; filename="{name_of(printing)}"'
    answer["Cache-Control"] = "no-store"
    return answer


def _made(printing: Printing, lines: "_Sealing", size: str) -> IO[bytes]:
    """The whole file, at its beginning; whoever gets it closes it."""
    facts = Facts.of(printing)
    made = SpooledTemporaryFile(max_size=IN_MEMORY)  # noqa: SIM115 the answer closes it
    try:
        if printing.form == Printing.Form.PDF:
            pdf.write(facts, lines.through(), made, size)  # type: ignore[arg-type]
        else:
            xlsx.write(facts, lines.through(), made)  # type: ignore[arg-type]
        lines.check()
    except BaseException:
        made.close()
        raise
    made.seek(0)
    return made


class _Sealing:
    """Works out the digest of a printing's lines while they go by: what goes out has been checked."""

    def __init__(self, printing: Printing) -> None:
        self.printing, self.sha = printing, sha256()
        for each in canonical(REGISTERS[printing.register], printing.what, printing.at_heads, ()):
            self.sha.update(each + b"\n")

    def through(self) -> Iterator[Line]:
        for line in lines_of(self.printing):
            self.sha.update(line.canonical() + b"\n")
            yield line

    def check(self) -> None:
        if self.sha.hexdigest() != self.printing.digest:
            raise Differs


def name_of(printing: Printing) -> str:
    """Such as "sanitation-2026-06-01-to-2026-06-07-PR0012X.pdf"."""
    asked = printing.what
    days = f"{asked.first}" if asked.first == asked.last else f"{asked.first}-to-{asked.last}"
    return f"{printing.register}-{days}-{printing.code}.{printing.form}"
