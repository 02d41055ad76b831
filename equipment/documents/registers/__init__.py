"""Registers on paper and in spreadsheets: what was printed, written in the form that was asked for."""

from collections.abc import Callable, Iterable, Mapping
from typing import BinaryIO

from equipment.actions.print_register import lines_of
from equipment.documents.registers import csv, pdf, xlsx
from equipment.documents.registers.facts import Facts
from equipment.models import Printing
from equipment.models.registers import Line

Writer = Callable[[Facts, Iterable[Line], BinaryIO], None]

WRITERS: Mapping[str, Writer] = {
    Printing.Form.PDF: pdf.write,
    Printing.Form.XLSX: xlsx.write,
    Printing.Form.CSV: csv.write,
}


def write(printing: Printing, to: BinaryIO, size: str = "") -> None:
    """The lines of `printing` as of its heads into the file `to`; `size` of paper, A4 or Letter, for a PDF."""
    facts = Facts.of(printing)
    if printing.form == Printing.Form.PDF:
        pdf.write(facts, lines_of(printing), to, size)
    else:
        WRITERS[printing.form](facts, lines_of(printing), to)


def file_name(printing: Printing) -> str:
    """Sorts by period, then by register: "2026-11-16_2026-11-22_sanitation_PR0012K.pdf"."""
    asked = printing.what
    return f"{asked.first}_{asked.last}_{printing.register}_{printing.code}.{printing.form}"
