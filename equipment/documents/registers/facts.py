"""What stands above and below a register's table, on every form of it: as frozen values and as words."""

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from datetime import date, datetime, timedelta
from typing import Self

from django.conf import settings
from django.utils import timezone
from django.utils.formats import date_format, number_format
from django.utils.translation import gettext as _
from django.utils.translation import ngettext

from equipment.documents.registers.words import Words
from equipment.domain import printed
from equipment.domain.words import gettext_noop
from equipment.models import Printing
from equipment.models.registers import REGISTERS, Asked, Heads, Named, Register, Tally

LINE_OF_THE_BOOK = gettext_noop("Line")
FILTERS = {
    "store": gettext_noop("Store"),
    "crew": gettext_noop("Crew"),
    "block": gettext_noop("Block"),
    "kind": gettext_noop("Kind"),
    "picker": gettext_noop("Picker"),
    "tag": gettext_noop("Piece"),
}
# As many days without an entry as are named one by one.
MOST_DAYS = 14


@dataclass(frozen=True)
class Facts:
    """Of one printing. `count` lines; `by` is who printed it, "" the server."""

    register: Register
    asked: Asked
    heads: Heads
    code: str
    digest: str
    count: int
    at: datetime
    by: str = ""

    @classmethod
    def of(cls, printing: Printing) -> Self:
        by = (printing.by.get_full_name() or printing.by.get_username()) if printing.by else ""
        register = REGISTERS[printing.register]
        return cls(
            register, printing.what, printing.at_heads, printing.code, printing.digest, printing.lines,
            printing.at, by,
        )  # fmt: skip

    @property
    def symbol(self) -> str:
        """What the QR symbol of the paper holds."""
        return printed.make(self.code, self.digest, settings.LABEL_URL_BASE)

    @property
    def title(self) -> str:
        return _(self.register.title)

    @property
    def heads_of_columns(self) -> list[str]:
        """Those of the cells, after that of the line's place in the book."""
        return [_(LINE_OF_THE_BOOK), *(_(column.head) for column in self.register.sealed)]

    @property
    def period(self) -> str:
        first, last = (date_format(day, _("j F Y")) for day in (self.asked.first, self.asked.last))
        if first == last:
            return first
        return _("%(first)s to %(last)s") % {"first": first, "last": last}

    @property
    def printed(self) -> str:
        when = date_format(timezone.localtime(self.at), _("j M Y H:i"))
        if not self.by:
            return _("Printed %(when)s by the server") % {"when": when}
        return _("Printed %(when)s by %(who)s") % {"when": when, "who": self.by}

    def filters(self) -> list[tuple[str, str]]:
        """What it is limited to, each by the name of the filter: nothing where it holds everything of the period."""
        words = Words()
        asked = [
            (what, value)
            for what in FILTERS
            if what in self.register.filters | self.register.needs and (value := getattr(self.asked, what))
        ]
        cells = [value if what == "tag" else Named(what, value) for what, value in asked]  # type: ignore[arg-type]
        words.meet(cells)
        return [
            (_(FILTERS[what]), words.say(cell)) for (what, _value), cell in zip(asked, cells, strict=True)
        ]

    @property
    def limited(self) -> str:
        """The filters in one sentence."""
        found = self.filters()
        if not found:
            return _("Everything that the book has of it in these days")
        return " · ".join(_("%(name)s: %(value)s") % {"name": name, "value": value} for name, value in found)

    def lasting(self) -> Iterator[tuple[str, str]]:
        """Each store with its position and digest in full: the book as it stood."""
        for store, (position, digest) in self.heads.items():
            yield f"{store} {position}", digest

    def ending(self, tally: Tally) -> list[str]:
        """What the lines add up to, and what is missing: said plainly, sentence by sentence."""
        return [lines_said(tally.lines), *self._sums(tally), *self._missing(tally.days)]

    def _sums(self, tally: Tally) -> Iterator[str]:
        words, said = Words(), tally.said()
        words.meet(cell for _template, params in said for cell in params.values())
        for template, params in said:
            # Whole numbers go as they are: templates may say %(n)d.
            filled = {
                name: cell if isinstance(cell, int) else words.say(cell) for name, cell in params.items()
            }
            yield _(template) % filled

    def _missing(self, days: set[date]) -> Iterator[str]:
        if not self.register.daily:
            return
        known = min(self.asked.last, timezone.localdate(self.at))
        wanted = (self.asked.first + timedelta(days=n) for n in range((known - self.asked.first).days + 1))
        missing = [day for day in wanted if day not in days]
        if not missing:
            yield _("No day without an entry.")
            return
        said = ngettext("%(n)s day without an entry", "%(n)s days without an entry", len(missing))
        yield f"{said % {'n': number_format(len(missing))}}: {days_said(missing)}."


def lines_said(count: int) -> str:
    if not count:
        return _("No line: the book has nothing of it in these days.")
    return ngettext("%(n)s line.", "%(n)s lines.", count) % {"n": number_format(count)}


def days_said(days: Sequence[date]) -> str:
    named = ", ".join(date_format(day, _("j M Y")) for day in days[:MOST_DAYS])
    if (more := len(days) - MOST_DAYS) <= 0:
        return named
    return _("%(days)s and %(n)d more") % {"days": named, "n": more}
