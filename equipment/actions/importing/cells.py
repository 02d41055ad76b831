"""What may stand in a cell: the types of the columns, and what to say where a value does not fit."""

import re
import unicodedata
from collections.abc import Mapping, Sequence
from datetime import date
from decimal import Decimal
from typing import Annotated, Any

from django.utils.translation import gettext as _
from django.utils.translation import gettext_noop
from pydantic import (
    AfterValidator,
    BaseModel,
    BeforeValidator,
    ConfigDict,
    Field,
    StringConstraints,
    ValidationError,
)
from pydantic_core import ErrorDetails

from equipment.actions.importing.reader import Row
from equipment.actions.importing.results import BadCell, bad
from equipment.domain import codes

# A place's code stands in addresses and on paper, and the book knows it in capitals only.
_PLACE_CODE = re.compile(r"\w[\w .-]*")
_ISO = re.compile(r"\d{4}-\d{2}-\d{2}", re.ASCII)
_DAY_FIRST = re.compile(r"(\d{1,2})([./-])(\d{1,2})\2(\d{4})", re.ASCII)
_NUMBER = re.compile(r"(?:\d+|\d{1,3}(?:[ \u00a0\u202f]\d{3})+)(?:[.,]\d{1,2})?", re.ASCII)

REASONS = {
    "missing": gettext_noop("This must not be empty."),
    "string_too_long": gettext_noop("This is too long: at most %(max_length)d characters."),
    "bool_parsing": gettext_noop("Write yes or no."),
    "int_parsing": gettext_noop("Write a whole number."),
    "int_parsing_size": gettext_noop("Write a whole number."),
    "int_from_float": gettext_noop("Write a whole number."),
    "greater_than_equal": gettext_noop("This must be %(ge)s or more."),
    "less_than_equal": gettext_noop("This must be %(le)s or less."),
    "decimal_max_digits": gettext_noop("This number is too large."),
    "decimal_whole_digits": gettext_noop("This number is too large."),
    "literal_error": gettext_noop("Write one of: %(expected)s."),
}


def plain_text(value: Any) -> Any:
    """Blanks and line ends inside become one blank. Raises ValueError for what cannot be kept or printed."""
    if "\0" in value:
        raise ValueError(_("There is a NUL character in it. Type the value anew."))
    text = " ".join(value.split())
    if any(unicodedata.category(c) in ("Cc", "Cs") for c in text):
        raise ValueError(_("There is a character in it that cannot be printed. Type the value anew."))
    return unicodedata.normalize("NFC", text)


def place_code(text: str) -> str:
    """The code of a store or block in the one way it is written. Raises ValueError."""
    code = text.upper()
    if not _PLACE_CODE.fullmatch(code):
        raise ValueError(_("A code is letters and digits; blanks, dots and hyphens may stand between them."))
    return code


def made_code(text: str) -> str:
    """A code on a tag or badge. Raises ValueError."""
    try:
        return codes.parse(text).text
    except codes.BadCode as error:
        raise ValueError(_(error.message) % error.params) from None


def number(text: str) -> str:
    """12.5, 12,5 and 1 250,00; no other separator of thousands, and no third decimal, for 1.250 may be either."""
    if not _NUMBER.fullmatch(text.strip()):
        raise ValueError(
            _("Write digits only, at most two of them after the decimal sign, such as 12.50 or 12,50.")
        )
    return re.sub(r"\s", "", text).replace(",", ".")


def day(text: str) -> date:
    """ISO 8601, or the day first where it can be nothing else. Raises ValueError."""
    wrong = _("Write the date as year, month, day, such as 2026-03-25.")
    if found := _DAY_FIRST.fullmatch(text.strip()):
        first, second, year = int(found[1]), int(found[3]), int(found[4])
        if first != second and first <= 12 and second <= 12:
            two = {"one": f"{year}-{second:02}-{first:02}", "other": f"{year}-{first:02}-{second:02}"}
            wrong = _("This may be %(one)s or %(other)s. Write the year first, such as %(one)s.") % two
        else:
            text = f"{year}-{second:02}-{first:02}"
    if not _ISO.fullmatch(text.strip()):
        raise ValueError(wrong)
    try:
        return date.fromisoformat(text.strip())
    except ValueError:
        raise ValueError(wrong) from None


def _words(length: int) -> Any:
    return Annotated[str, BeforeValidator(plain_text), StringConstraints(max_length=length)]


Words10, Words20, Words40, Words60, Words80, Words120 = (
    _words(length) for length in (10, 20, 40, 60, 80, 120)
)
PlaceCode = Annotated[Words20, AfterValidator(place_code)]
MadeCode = Annotated[Words120, AfterValidator(made_code)]
Day = Annotated[date, BeforeValidator(day), Field(ge=date(2000, 1, 1), le=date(2099, 12, 31))]
Amount = Annotated[Decimal, BeforeValidator(number), Field(ge=0, max_digits=10, decimal_places=2)]
Hectares = Annotated[Decimal, BeforeValidator(number), Field(ge=0, max_digits=7, decimal_places=2)]
YesNo = Annotated[bool, BeforeValidator(str.strip)]
lowered = BeforeValidator(lambda text: text.strip().lower())


class Line(BaseModel):
    """Base of what stands on one line; a field is a column. A field without a default must not be empty."""

    model_config = ConfigDict(frozen=True, extra="forbid")


def check(rows: Sequence[Row], shape: type[Line]) -> tuple[list[tuple[int, Any]], list[BadCell]]:
    """The rows that fit `shape`, with their line numbers, and every cell that does not. Empty cells take defaults.

    A row that would fit without its bad cells is among the rows all the same, so that what is wrong with its other
    cells is found in the same turn; nothing is written where there are bad cells.
    """
    good: list[tuple[int, Any]] = []
    wrong: list[BadCell] = []
    for row in rows:
        cells = {name: cell for name, cell in row.cells.items() if cell.strip()}
        try:
            good.append((row.line, shape.model_validate(cells)))
        except ValidationError as error:
            found = error.errors(include_url=False)
            wrong += [_bad_cell(row, details) for details in found]
            if rest := _without(cells, {str(details["loc"][0]) for details in found}, shape):
                good.append((row.line, rest))
    return good, wrong


def _without(cells: Mapping[str, str], columns: set[str], shape: type[Line]) -> Line | None:
    try:
        return shape.model_validate({name: cell for name, cell in cells.items() if name not in columns})
    except ValidationError:
        return None


def _bad_cell(row: Row, details: ErrorDetails) -> BadCell:
    column = str(details["loc"][0])
    context = details.get("ctx", {})
    if details["type"] == "value_error":
        reason = str(context["error"])
    else:
        template = REASONS.get(details["type"])
        reason = _(template) % context if template else details["msg"]
    return bad(row.line, column, row.cells.get(column, ""), reason)
