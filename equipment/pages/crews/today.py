"""One crew today, for its supervisor's phone: where it is, by when it dips, its morning check, and the lines so far."""

from collections.abc import Callable, Mapping
from datetime import datetime, timedelta
from typing import Any
from uuid import UUID

from django import forms
from django.contrib import messages
from django.core.exceptions import PermissionDenied
from django.db.models import Q
from django.http import Http404, HttpRequest, HttpResponse
from django.shortcuts import redirect
from django.utils import timezone
from django.utils.translation import gettext as _
from django.utils.translation import pgettext

from crews import policy
from crews.models import Crew, DayPlan, User
from equipment.actions import crew_day, sensible, visit
from equipment.actions.crew_day import visit_at
from equipment.actions.wording import NotDone, moment
from equipment.actions.writing import Pen
from equipment.domain.verbs.stopped import CAUSES
from equipment.domain.visits import LONGEST_UNTOLD, MOVED
from equipment.models import Membership, Visit
from equipment.models.kits import bounds, plans_by_crew
from equipment.models.overdue import next_dip
from equipment.models.reading import crews
from equipment.pages.board import plan_words
from equipment.pages.crews.beside import sheet
from equipment.pages.crews.morning import CAUTIONS, MorningForm, checked
from equipment.pages.crews.training import lessons
from equipment.pages.crews.visit_forms import ArrivedForm, StoppedForm, WhenForm
from equipment.pages.spans import length
from equipment.pages.telling import Teller, with_names

Forms = Mapping[str, forms.Form]


class UndoForm(forms.Form):
    """Which line of the list."""

    entry = forms.UUIDField()


def crew_today(request: HttpRequest, code: str) -> HttpResponse:
    return _page(request, _crew(request, code), timezone.now(), {})


def crew_told(request: HttpRequest, code: str, what: str) -> HttpResponse:
    """Write down one thing of the day; back to the day."""
    one = _crew(request, code)
    if what not in TELLING:
        raise Http404
    if request.method != "POST":
        return redirect("crew_today", one.pk)
    if not may_tell(request.user, one):
        raise PermissionDenied
    now = timezone.now()
    form = _forms(request.POST, one, now)[what]
    if form.is_valid():
        try:
            said = TELLING[what](Pen(request.user, one.store_id, now), one, form)
        except (NotDone, sensible.Senseless) as why:
            messages.error(request, str(why))
        else:
            messages.success(request, said)
            return redirect("crew_today", one.pk)
    answer = _page(request, one, now, {what: form})
    answer.status_code = 400
    return answer


def may_tell(user: User, crew: Crew) -> bool:
    """Whether this person writes down this crew's day: its supervisor, or the storeman."""
    if not policy.may_act(user, "visit"):
        return False
    limited = policy.only_own_crews(user, policy.ACTIONS["visit"])
    return not limited or crew.supervisor_id == user.pk


def _crew(request: HttpRequest, code: str) -> Crew:
    found = crews(request.user).filter(pk=code.upper()).select_related("store", "supervisor").first()
    if found is None:
        raise Http404
    return found


def _arrived(pen: Pen, crew: Crew, form: Any) -> str:
    block, at = form.cleaned_data["block"], form.cleaned_data["at"]
    crew_day.come_in(pen, crew, block, at)
    return _("Written down: in %(block)s since %(time)s.") % {"block": block, "time": moment(at)}


def _left(pen: Pen, crew: Crew, form: Any) -> str:
    crew_day.go(pen, crew, form.cleaned_data["at"])
    return _("Written down: they left at %(time)s.") % {"time": moment(form.cleaned_data["at"])}


def _stopped(pen: Pen, crew: Crew, form: Any) -> str:
    cause, at = form.cleaned_data["cause"], form.cleaned_data["at"]
    crew_day.stop(pen, crew, cause, at)
    return _("Written down: they stopped at %(time)s, %(cause)s.") % {
        "time": moment(at),
        "cause": _(CAUSES[cause]),
    }


def _checked(pen: Pen, crew: Crew, form: Any) -> str:
    visit.check_morning(pen, crew.pk, form.answers, form.cleaned_data["at"])
    return _("The morning check is written down.")


def _struck(pen: Pen, crew: Crew, form: Any) -> str:
    crew_day.take_back(pen, crew, form.cleaned_data["entry"], _yesterday(pen.at))
    return _("Taken back. The line stays in the book, struck.")


TELLING: Mapping[str, Callable[[Pen, Crew, Any], str]] = {
    "arrived": _arrived,
    "left": _left,
    "stopped": _stopped,
    "morning": _checked,
    "undo": _struck,
}


def _forms(data: Any, crew: Crew, now: datetime) -> dict[str, forms.Form]:
    plans = _plans(crew, now)
    members = Membership.objects.filter(crew=crew).current().count()
    return {
        "arrived": ArrivedForm(data, "arrived", now, [plan.block for plan in plans]),
        "left": WhenForm(data, "left", now),
        "stopped": StoppedForm(data, "stopped", now),
        "morning": MorningForm(data, now, plans, members),
        "undo": UndoForm(data),
    }


def _plans(crew: Crew, now: datetime) -> list[DayPlan]:
    return plans_by_crew(timezone.localdate(now), [crew.pk]).get(crew.pk, [])


def _yesterday(now: datetime) -> datetime:
    return bounds(timezone.localdate(now) - timedelta(days=1))[0]


def _page(request: HttpRequest, one: Crew, now: datetime, sent: Forms) -> HttpResponse:
    here = visit_at(one, now)
    rows = [_visit(each, now) for each in _visits(one, now)]
    lines = list(_lines(one, now))
    today = bounds(timezone.localdate(now))[0]
    counting = [line for line in lines if line["entry"].verb == "morning_checked" and not line["struck"]]
    done = next((checked(line["entry"]) for line in counting if line["at"] >= today), None)
    tells = may_tell(request.user, one)
    context = {
        "crew": one,
        "here": here,
        "here_for": length(now - here.at) if here else "",
        "last": rows[-1] if rows and not here else None,
        "dip": next_dip(one.pk, now),
        "plans": [plan_words(plan) for plan in _plans(one, now)],
        "visits": rows,
        "picking": length(sum((row["span"] for row in rows), timedelta())),
        "lines": lines,
        "lessons": lessons(one, _yesterday(now)),
        "checked": done,
        "cautions": list(CAUTIONS.values()),
        "tells": tells,
        "at": timezone.localtime(now),
        "sent": next(iter(sent), ""),
    }
    if tells:
        context |= {"forms": {**_forms(None, one, now), **sent}}
    return sheet(request, "crew_today.html", context)


def _visits(crew: Crew, now: datetime) -> list[Visit]:
    """The visits of today, and one of yesterday that goes on."""
    start = bounds(timezone.localdate(now))[0]
    going_on = Q(until__gt=start) | Q(until=None, at__gt=now - LONGEST_UNTOLD)
    return list(Visit.objects.filter(crew=crew, at__lte=now).filter(Q(at__gte=start) | going_on))


def _visit(each: Visit, now: datetime) -> dict[str, Any]:
    span = (each.until or now) - each.at
    return {"visit": each, "span": span, "hours": length(span), "why": _ended(each.cause)}


def _ended(cause: str) -> str:
    if cause in CAUSES:
        return _(CAUSES[cause])
    return {"left": pgettext("a crew its block", "left"), MOVED: _("went to another block")}.get(cause, "")


def _lines(crew: Crew, now: datetime) -> list[dict[str, Any]]:
    """What was told of today and yesterday, the newest first."""
    since = _yesterday(now)
    entries = list(with_names(crew_day.told(crew, since)))
    gone: set[UUID] = crew_day.struck(crew, since)
    teller = Teller(entries)
    return [
        {
            "entry": entry,
            "at": entry.happened_at,
            "say": teller.tell(entry),
            "by": entry.by.get_username(),
            "struck": entry.pk in gone,
        }
        for entry in reversed(entries)
    ]
