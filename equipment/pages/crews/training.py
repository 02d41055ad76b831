"""What a crew was shown: a lesson is written down with who was there, and taken back as a whole."""

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import datetime
from itertools import groupby
from typing import Any
from uuid import UUID

from django import forms
from django.contrib import messages
from django.core.exceptions import PermissionDenied
from django.http import Http404, HttpRequest, HttpResponse
from django.shortcuts import redirect
from django.utils import timezone
from django.utils.translation import gettext as _
from django.utils.translation import ngettext

from crews import policy
from crews.models import Crew, Picker, User
from crews.sorting import by_name
from equipment.actions import train
from equipment.actions.wording import NotDone
from equipment.actions.writing import Pen
from equipment.documents.registers.cautioned import cautions
from equipment.domain.verbs.trained import OUTSIDE, TOPICS
from equipment.models import Entry, Membership
from equipment.models.reading import crews
from equipment.pages.crews.beside import sheet
from equipment.pages.crews.fields import who
from equipment.pages.crews.lesson_form import LessonForm
from equipment.pages.crews.morning import CAUTIONS
from equipment.pages.links import register
from equipment.pages.telling import with_names

# Older ones stand in the register.
LINES = 600
# What a lesson on the topic must not leave out, by the topics of the registers' cautions.
TOPICS_OF_CAUTIONS = {"ladder": "ladder", "bath": "bleach", "clippers": "clippers"}


class UndoForm(forms.Form):
    """Which lesson: the act of its lines."""

    lesson = forms.UUIDField()


@dataclass(frozen=True)
class Told:
    """One lesson of the list; `struck` are those of its lines that were taken back."""

    key: UUID
    at: datetime
    topic: str
    trainer: str
    by: str
    minutes: int | None
    note: str
    there: Sequence[str]
    struck: bool


def crew_training(request: HttpRequest, code: str) -> HttpResponse:
    """The lessons so far; a POST writes one down."""
    one, now = _crew(request, code), timezone.now()
    if not may_train(request.user, one):
        return _page(request, one, None)
    form = LessonForm(request.POST or None, _members(one), request.user, now)  # type: ignore[arg-type]
    if not form.is_valid():
        return _page(request, one, form, status=400 if form.is_bound else 200)
    there, own = form.present, form.cleaned_data["own"]
    before = train.train(Pen(request.user, one.store_id, now), one, there, form.lesson, own)  # type: ignore[arg-type]
    if before and not train.is_of(before, there, form.lesson):
        form.is_another(before)
        return _page(request, one, form, status=400)
    said = ngettext(
        "The lesson is written down: %(n)d was there.",
        "The lesson is written down: %(n)d were there.",
        len(there),
    )
    messages.success(request, said % {"n": len(there)})
    return redirect("crew_training", one.pk)


def crew_lesson_undo(request: HttpRequest, code: str) -> HttpResponse:
    one, form = _crew(request, code), UndoForm(request.POST)
    if not may_train(request.user, one):
        raise PermissionDenied
    if form.is_valid():
        try:
            train.take_back(Pen(request.user, one.store_id, timezone.now()), one, form.cleaned_data["lesson"])  # type: ignore[arg-type]
        except NotDone as why:
            messages.error(request, str(why))
        else:
            messages.success(request, _("Taken back. Its lines stay in the book, struck."))
    return redirect("crew_training", one.pk)


def may_train(user: Any, crew: Crew) -> bool:
    """Whether this person writes down what this crew was shown: its supervisor, the officer or the manager."""
    if not policy.may_act(user, "train"):
        return False
    return not policy.only_own_crews(user, policy.ACTIONS["train"]) or crew.supervisor_id == user.pk


def _crew(request: HttpRequest, code: str) -> Crew:
    found = crews(request.user).filter(pk=code.upper()).select_related("store", "supervisor").first()  # type: ignore[arg-type]
    if found is None:
        raise Http404
    return found


def _members(crew: Crew) -> list[Picker]:
    rows = Membership.objects.filter(crew=crew).current().select_related("picker")
    return sorted((row.picker for row in rows), key=lambda picker: by_name(picker.name))


def _page(request: HttpRequest, crew: Crew, form: LessonForm | None, status: int = 200) -> HttpResponse:
    context = {
        "crew": crew,
        "form": form if form and form.members else None,
        "tells": form is not None,
        "lessons": lessons(crew),
        "cautions": list(_cautions()),
        "register": register(request.user, "training", f"crew={crew.pk}"),  # type: ignore[arg-type]
    }
    answer = sheet(request, "crew_training.html", context)
    answer.status_code = status
    return answer


def _cautions() -> Any:
    """Topic by topic, in words."""
    for topic, words in TOPICS.items():
        if topic in TOPICS_OF_CAUTIONS:
            yield _(words), cautions([TOPICS_OF_CAUTIONS[topic]])
        elif topic == "first_aid":
            yield _(words), list(CAUTIONS.values())


def lessons(crew: Crew, since: datetime | None = None) -> list[Told]:
    """What the crew was shown, the newest first. Three queries."""
    rows = Entry.objects.filter(crew=crew, item=None, verb="trained")
    rows = rows.filter(happened_at__gte=since) if since else rows
    lines = list(with_names(rows).order_by("-happened_at", "act", "id")[:LINES])
    gone, users = (
        train.struck(crew),
        User.objects.in_bulk({line.detail.get("trainer") or 0 for line in lines}),
    )
    return [
        _told(key, list(group), gone, users)
        for key, group in groupby(lines, key=lambda line: line.act or line.pk)
    ]


def _told(key: UUID, lines: Sequence[Entry], gone: set[UUID], users: dict[int, User]) -> Told:
    """A lesson of which some lines were struck one by one has the others left."""
    left = [line for line in lines if line.pk not in gone] or lines
    first = left[0]
    trainer = first.detail.get("trainer")
    note = getattr(first, "written_note", None)
    return Told(
        key=key,
        at=first.happened_at,
        topic=_(TOPICS[first.detail["topic"]]),
        trainer=_("somebody from outside") if trainer == OUTSIDE else who(users.get(trainer or 0, first.by)),
        by=who(first.by),
        minutes=first.detail.get("minutes"),
        note=note.text if note else "",
        there=sorted(line.picker.name or _("erased") for line in left if line.picker),
        struck=first.pk in gone,
    )
