"""Badges, day cards, crew tags, set tags, counter tags and fault tags, as PDFs to print."""

from typing import Any

from django import forms
from django.conf import settings
from django.db.models import QuerySet
from django.http import HttpRequest, HttpResponse
from django.shortcuts import redirect, render
from django.urls import reverse
from django.utils import timezone
from django.utils.translation import gettext as _
from django.utils.translation import gettext_lazy

from crews import languages
from crews.models import Badge, BadgeLoan, Crew
from equipment.actions.faults_of import faults_of
from equipment.actions.make_tags import make_day_cards, make_set_tags
from equipment.documents import cards
from equipment.documents.cards import BadgeRow, TagRow
from equipment.documents.counter_sheet import counter_tags
from equipment.documents.fault_sheet import FaultRow, KindSheet, fault_tags
from equipment.domain.fault_tags import code
from equipment.models import GearSet, ItemState, Kind, Membership
from equipment.models.reading import crews
from equipment.pages.printing import PlaceForm, pdf

MOST_NEW = 500


class BadgeForm(PlaceForm):
    crew = forms.ModelChoiceField(label=gettext_lazy("Crew"), queryset=Crew.objects.all(), required=False)
    badge = forms.CharField(
        label=gettext_lazy("Only this badge"),
        required=False,
        widget=forms.TextInput(attrs={"class": "code", "autocomplete": "off"}),
    )
    field_order = ("crew", "badge", "start", "used")


class NewForm(forms.Form):
    count = forms.IntegerField(label=gettext_lazy("How many"), min_value=1, max_value=MOST_NEW, initial=10)


class KindForm(forms.Form):
    kind = forms.ModelChoiceField(
        label=gettext_lazy("Kind"),
        queryset=Kind.objects.all(),
        required=False,
        empty_label=gettext_lazy("every kind"),
    )


def card_page(request: HttpRequest) -> HttpResponse:
    """Everything that is printed on cards, on one page."""
    return render(request, "cards.html", _forms())


def _forms() -> dict[str, forms.Form]:
    return {
        "badges": BadgeForm(),
        "day_cards": NewForm(prefix="day"),
        "sets": NewForm(prefix="set"),
        "faults": KindForm(),
    }


def badges_pdf(request: HttpRequest) -> HttpResponse:
    """Badges in force today: of a crew, of everyone, or one."""
    form = BadgeForm(request.GET)
    if not form.is_valid():
        return _wrong(request, form)
    loans = BadgeLoan.objects.on(timezone.localdate()).filter(badge__day_card=False).select_related("picker")
    loans = loans.annotate(crew=Membership.crew_of("picker"))
    if crew := form.cleaned_data["crew"]:
        loans = loans.filter(crew=crew.pk)
    if badge := form.cleaned_data["badge"].strip().upper():
        loans = loans.filter(badge=badge)
    names = dict(Crew.objects.values_list("code", "name"))
    rows = [
        BadgeRow(loan.badge_id, loan.picker.name, names.get(loan.crew or "", ""))
        for loan in loans.order_by("crew", "picker__name")
    ]
    return _drawn(request, form, rows, "badges")


def day_cards_pdf(request: HttpRequest) -> HttpResponse:
    alive = Badge.objects.filter(day_card=True, died_on=None)
    rows = [BadgeRow(code, day_card=True) for code in _asked(request, alive)]
    return _drawn(request, PlaceForm(request.GET), rows, "day-cards")


def set_tags_pdf(request: HttpRequest) -> HttpResponse:
    """Set tags with what is packed in them now."""
    packed: dict[str, list[str]] = {}
    for state in ItemState.objects.exclude(packed_in=None).order_by("tag"):
        packed.setdefault(str(state.packed_in_id), []).append(state.tag)
    with languages.of_the_farm():
        called = _("Set")
    rows = [
        TagRow(code, called, " ".join(packed.get(code, ())))
        for code in _asked(request, GearSet.objects.all())
    ]
    return _drawn(request, PlaceForm(request.GET), rows, "set-tags")


def crew_tags_pdf(request: HttpRequest) -> HttpResponse:
    rows = [
        TagRow(crew.code, crew.name, crew.leader)
        for crew in crews(request.user).filter(active=True).select_related("supervisor")
    ]
    return _drawn(request, PlaceForm(request.GET), rows, "crew-tags")


def counter_tags_pdf(request: HttpRequest) -> HttpResponse:
    with languages.of_the_farm():
        return pdf(counter_tags(settings.FARM_NAME), "counter-tags")


def fault_tags_pdf(request: HttpRequest) -> HttpResponse:
    """Fault tags of one kind of gear (`kind`), or of all."""
    form = KindForm(request.GET)
    if not form.is_valid():
        return _wrong(request, form)
    kinds = [form.cleaned_data["kind"]] if form.cleaned_data["kind"] else Kind.objects.all()
    with languages.of_the_farm():
        sheets = [KindSheet(_(kind.name_plural), _fault_rows(kind.pk)) for kind in kinds]
        return pdf(fault_tags(sheets, settings.FARM_NAME), "fault-tags")


def _fault_rows(kind: str) -> list[FaultRow]:
    return [FaultRow(code(fault.code), _(fault.name), _(fault.look_for)) for fault in faults_of(kind)]


def new_cards(request: HttpRequest, what: str) -> HttpResponse:
    """Make day cards (`day`) or set tags (`set`) and go on to their PDF."""
    form = NewForm(request.POST, prefix=what)
    if not form.is_valid():
        return _wrong(request, form)
    make, target = {"day": (make_day_cards, "day_cards_pdf"), "set": (make_set_tags, "set_tags_pdf")}[what]
    made = make(form.cleaned_data["count"])
    return redirect(f"{reverse(target)}?first={made[0]}&last={made[-1]}")


def _asked(request: HttpRequest, rows: QuerySet[Any]) -> list[str]:
    """The codes from `first` to `last`, or all. Codes of one length sort as their numbers do."""
    first, last = request.GET.get("first", ""), request.GET.get("last", "")
    rows = rows.filter(pk__gte=first) if first else rows
    return list((rows.filter(pk__lte=last) if last else rows).values_list("pk", flat=True))


def _drawn(request: HttpRequest, form: PlaceForm, rows: list[Any], name: str) -> HttpResponse:
    draw = {"set-tags": cards.set_tags, "crew-tags": cards.crew_tags}.get(name, cards.picker_badges)
    if not form.is_valid():
        return _wrong(request, form)
    try:
        with languages.of_the_farm():
            return pdf(draw(rows, settings.FARM_NAME, form.place()), name)
    except ValueError as error:
        form.add_error(None, str(error))
        return _wrong(request, form)


def _wrong(request: HttpRequest, form: forms.Form) -> HttpResponse:
    return render(request, "cards.html", {**_forms(), "wrong": form}, status=400)
