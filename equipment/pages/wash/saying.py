"""Baths and what is due, in plain words."""

from collections.abc import Container, Iterable, Sequence
from dataclasses import dataclass
from datetime import datetime
from itertools import groupby
from typing import Any

from django.utils.formats import number_format
from django.utils.translation import gettext as _
from django.utils.translation import ngettext

from equipment.actions import names
from equipment.actions.wording import moment
from equipment.domain import bath as baths
from equipment.domain.clock import CAUSES
from equipment.domain.words import gettext_noop
from equipment.models import Kind
from equipment.models.washing import CleaningDue, StandingBath
from equipment.pages.rules.saying import ppm

# In this order: what must be done before what.
METHODS = {
    "wash": gettext_noop("To wash"),
    "sterilise": gettext_noop("To sterilise"),
    "dry": gettext_noop("To dry"),
}
EMPTY_IT = gettext_noop("Empty it where its cautions allow, and mix a new one.")
TEST_IT = gettext_noop(
    "Test it: a good test answers for the mixing. Else empty it where its cautions allow, and mix a new one."
)
Planned = tuple[str, str]
"""A piece by its tag, and a cleaning of it that the evening's plan chose."""
MOST_SHOWN = 20
GOING_SOON = 15


@dataclass(frozen=True)
class KindDue:
    """The pieces of one kind; `more` is how many do not stand here, `tonight` how many the evening's plan chose."""

    name: str
    icon: str
    count: int
    tonight: int
    lines: list[dict[str, Any]]
    more: int


@dataclass(frozen=True)
class MethodDue:
    method: str
    words: str
    count: int
    kinds: list[KindDue]


def by_method(found: Iterable[CleaningDue], at: datetime, plan: Sequence[Planned] = ()) -> list[MethodDue]:
    """What is due, by method and kind, in their orders; of each kind what the plan chose first, in its order."""
    ranks = {planned: rank for rank, planned in enumerate(plan)}
    kinds = {kind.pk: kind for kind in Kind.objects.all()}
    order = list(METHODS)
    place = {kind: number for number, kind in enumerate(kinds)}
    rows = sorted(
        found,
        key=lambda due: (
            order.index(due.method),
            place[due.kind],
            ranks.get((due.tag, due.method), len(ranks)),
        ),
    )
    groups = []
    for method, of_method in groupby(rows, key=lambda due: due.method):
        of_kinds = [
            _kind(kinds[kind], list(each), at, ranks)
            for kind, each in groupby(of_method, key=lambda due: due.kind)
        ]
        groups.append(MethodDue(method, _(METHODS[method]), sum(kind.count for kind in of_kinds), of_kinds))
    return groups


def _kind(kind: Kind, dues: list[CleaningDue], at: datetime, plan: Container[Planned]) -> KindDue:
    lines = [
        {
            "tag": due.tag,
            "cause": _(CAUSES[due.cause]) if due.cause in CAUSES else "",  # type: ignore[index]
            "when": moment(due.at),
            "now": due.at <= at,
            "holds": due.holds,
            "tonight": (due.tag, due.method) in plan,
        }
        for due in dues[:MOST_SHOWN]
    ]
    tonight = sum((due.tag, due.method) in plan for due in dues)
    return KindDue(_(kind.name_plural), kind.icon, len(dues), tonight, lines, len(dues) - len(lines))


def bath(standing: StandingBath, at: datetime) -> dict[str, Any]:
    """What stands beside a bath: how long it is good, what it has taken, its last test, why it takes no more."""
    state = standing.state
    until = baths.good_until(state)
    left = int((until - at).total_seconds() // 60) if until else None
    return {
        "own": standing.own,
        "name": names.recipe(state.recipe),
        "litres": number_format(f"{state.litres:g}"),
        "strength": ppm(round(state.ppm)) if state.ppm else "",
        "mixed": moment(state.mixed_at),
        "until": moment(until),
        "left": minutes(left) if left is not None and left >= 0 else "",
        "soon": left is not None and left < GOING_SOON,
        "taken": standing.dipped,
        "capacity": state.capacity,
        "test": last_test(state),
        "against": _(baths.WORDS[standing.against]) if standing.against else "",
        "do": _to_do(standing.against),
    }


def _to_do(against: str) -> str:
    if against == "too_weak":
        return _(TEST_IT)
    return _(EMPTY_IT) if against else ""


def minutes(count: int) -> str:
    if count < 120:
        return ngettext("%(n)d minute left", "%(n)d minutes left", count) % {"n": count}
    return _("%(hours)d h %(minutes)02d min left") % {"hours": count // 60, "minutes": count % 60}


def last_test(state: Any) -> str:
    """ "" where it was never tested."""
    if not state.tests:
        return ""
    test = max(state.tests, key=lambda each: (each.at, each.entry))
    words = {"ppm": ppm(round(test.ppm)), "when": moment(test.at)}
    if (state.low_ppm, state.high_ppm) == (None, None):
        return _("%(ppm)s at %(when)s") % words
    said = _("%(ppm)s at %(when)s: good") if baths.passes(state, test) else _("%(ppm)s at %(when)s: failed")
    return said % words


def limits(state: Any) -> str:
    """Between what a test passes; "" where there are no limits."""
    low, high = state.low_ppm, state.high_ppm
    if low is None and high is None:
        return ""
    return _("from %(low)s to %(high)s") % {"low": ppm(low or 0), "high": ppm(high or 0)}
