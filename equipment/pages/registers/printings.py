"""What was printed last, for those who may print it."""

from collections.abc import Sequence
from dataclasses import dataclass
from urllib.parse import urlencode

from crews import policy
from crews.models import Picker, User
from equipment.documents.registers.facts import Facts
from equipment.documents.registers.words import Words
from equipment.models import Printing
from equipment.models.reading import own_crews
from equipment.models.registers import REGISTERS, Asked, Cell, Named
from equipment.pages.registers import days

SHOWN = 15


@dataclass(frozen=True, slots=True)
class Line:
    """`limited` is what it was limited to, in words."""

    printing: Printing
    facts: Facts
    limited: str

    @property
    def days(self) -> str:
        return days.said(self.facts.asked.first, self.facts.asked.last)


def latest(user: User) -> Sequence[Line]:
    """The newest first; a supervisor sees those of their own crews. The queries do not grow with the lines."""
    names = [name for name in REGISTERS if policy.may_print(user, name)]
    rows = Printing.objects.filter(register__in=names).select_related("by")
    if policy.only_own_crews(user):
        rows = rows.filter(asked__crew__in=list(own_crews(user).values_list("pk", flat=True)))
    printings = list(rows[:SHOWN])
    words = Words()
    words.meet(cell for each in printings for cell in _filters(each.what))
    return [Line(each, Facts.of(each), ", ".join(map(words.say, _filters(each.what)))) for each in printings]


def _filters(asked: Asked) -> list[Cell]:
    """What it was limited to."""
    named = ((what, getattr(asked, what)) for what in ("store", "crew", "block", "kind", "picker"))
    return [*(Named(what, value) for what, value in named if value), *filter(None, [asked.tag])]  # type: ignore[arg-type]


def query_of(printing: Printing) -> str:
    """The same question as part of the register's address."""
    asked = {name: value for name, value in printing.asked.items() if name != "picker"}
    picker = Picker.objects.filter(pk=printing.asked.get("picker")).first()
    return urlencode({**asked, **({"picker": picker.number} if picker else {})})
