"""The board: today by crew, from the first handout to the last return."""

from dataclasses import dataclass
from datetime import date
from typing import Any

from django.db.models import Q
from django.http import HttpRequest, HttpResponse
from django.shortcuts import render
from django.utils import timezone
from django.utils.translation import gettext as _

from crews import policy
from crews.models import Crew, DayPlan, User
from equipment.actions.follow_rules import catch_up
from equipment.models import Discrepancy, ItemState, KeptEntry
from equipment.models.board import CrewLine, board
from equipment.models.reading import crews, own_crews
from equipment.pages import places
from equipment.pages.due import due
from equipment.pages.goods.board import wants
from equipment.pages.links import link

# Of each crew's gear from earlier days so many lines stand on the board; the still-out list has them all.
MOST_LATE = 5
SUMMED = ("pickers", "served", "complete", "out")


@dataclass(frozen=True)
class Late:
    """One piece that is out since an earlier day."""

    state: ItemState
    holder: str
    age: str


@dataclass(frozen=True)
class Shown:
    """A crew's line with its words. `more` is how many late pieces do not stand here."""

    line: CrewLine
    plans: list[str]
    url: str
    still_out: str
    late: list[Late]
    more: int


def board_page(request: HttpRequest) -> HttpResponse:
    catch_up(timezone.now())
    context = {**_context(request), "due": due(request.user, timezone.now())}
    return render(request, "board.html", context)


def board_lines(request: HttpRequest) -> HttpResponse:
    """What the board refreshes itself with."""
    return render(request, "_partials/board_lines.html", _context(request))


def _context(request: HttpRequest) -> dict[str, Any]:
    user, day = request.user, timezone.localdate()
    limited = policy.only_own_crews(user)
    lines = board(day, set(crews(user).values_list("pk", flat=True)) if limited else None)
    shown = [_shown(line, day, user) for line in lines]
    return {
        "day": day,
        "at": timezone.localtime(),
        "lines": shown,
        "planned": any(each.plans for each in shown),
        "totals": {name: sum(getattr(line, name) for line in lines) for name in SUMMED},
        "late_count": sum(len(line.overdue) for line in lines),
        "late": [each for each in shown if each.late],
        "to_settle": _to_settle(user, limited),
        "kept": 0 if limited else KeptEntry.objects.waiting().count(),
        "settle_url": link(user, "settle", query="list=open"),
        "kept_url": link(user, "settle", query="list=kept"),
        "goods": [] if limited else wants(user),
        "limited": limited,
        "crews_url": link(user, "crews"),
        "plans_url": link(user, "plans"),
        "import_url": link(user, "import"),
    }


def _to_settle(user: User, limited: bool) -> int:
    waiting = Discrepancy.objects.filter(settled=False)
    if limited:
        own = own_crews(user)
        waiting = waiting.filter(Q(crew__in=own) | Q(item__state__crew__in=own))
    return waiting.count()


def _shown(line: CrewLine, day: date, user: User) -> Shown:
    late = [_late(state, line.crew, day) for state in line.overdue[:MOST_LATE]]
    return Shown(
        line=line,
        plans=[plan_words(plan) for plan in line.plans],
        url=link(user, "crew", line.crew.pk),
        still_out=link(user, "still_out", query=f"crew={line.crew.pk}"),
        late=late,
        more=len(line.overdue) - len(late),
    )


def _late(state: ItemState, crew: Crew, day: date) -> Late:
    return Late(state, state.picker.name if state.picker else crew.name, places.age(state.since, day))


def plan_words(plan: DayPlan) -> str:
    """A plan in a few words: "N4 lemon, clipped, tall trees (morning)"."""
    words = [
        f"{plan.block_id} {plan.block.crop}",
        _("clipped") if plan.clipped else _("snapped"),
        _("tall trees") if plan.block.tall_trees else "",
        str(plan.get_state_display()) if plan.state != DayPlan.State.PLANNED else "",
    ]
    said = ", ".join(word for word in words if word)
    return said if plan.part == DayPlan.Part.DAY else f"{said} ({plan.get_part_display()})"
