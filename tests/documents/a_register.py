"""A small register to print in tests, its lines made up: no book and no database behind it."""

from collections.abc import Sequence
from dataclasses import replace
from datetime import UTC, date, datetime, timedelta
from hashlib import sha256
from io import BytesIO
from typing import Any
from uuid import UUID

from equipment.documents.registers import csv, pdf, xlsx
from equipment.documents.registers.facts import Facts
from equipment.domain import codes
from equipment.models.registers import Asked, Cell, Column, Line, Register

MONDAY = date(2026, 11, 16)
SUNDAY = date(2026, 11, 22)
START = datetime(2026, 11, 16, 3, 30, tzinfo=UTC)  # 05:30 on the farm's clock
HEADS = {"A": (1234, sha256(b"A").hexdigest()), "B": (77, sha256(b"B").hexdigest())}
DIGEST = sha256(b"the lines").hexdigest()
CODE = codes.make(codes.PRINTING, 12)


def register(*names: str, **changes: Any) -> Register:
    columns = tuple(Column(name.lower(), name) for name in names or ("At", "Picker", "Piece"))
    return replace(Register("lent", "Lent", "", columns, lambda asked, heads: iter(())), **changes)


def facts(of: Register | None = None, **changes: Any) -> Facts:
    whole = Facts(
        of or register(), Asked(MONDAY, SUNDAY), HEADS, CODE, DIGEST, 0,
        datetime(2026, 11, 23, 8, tzinfo=UTC), "Olga Marais",
    )  # fmt: skip
    return replace(whole, **changes)


def line(number: int, *cells: Cell, at: datetime | None = None) -> Line:
    return Line(UUID(int=number), at or START + timedelta(minutes=number), f"A {number}", cells)


def lines(rows: Sequence[Sequence[Cell]]) -> list[Line]:
    return [line(number, *cells) for number, cells in enumerate(rows, start=1)]


def as_pdf(of: Facts, what: Sequence[Line], size: str = "") -> bytes:
    to = BytesIO()
    pdf.write(of, what, to, size)
    return to.getvalue()


def as_csv(of: Facts, what: Sequence[Line]) -> bytes:
    to = BytesIO()
    csv.write(of, what, to)
    return to.getvalue()


def as_xlsx(of: Facts, what: Sequence[Line]) -> BytesIO:
    to = BytesIO()
    xlsx.write(of, what, to)
    return BytesIO(to.getvalue())
