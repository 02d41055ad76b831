"""All pickers: found by name, number or badge, by crew, or those in no crew."""

from typing import Any

from django import forms
from django.db.models import Q, QuerySet
from django.http import HttpRequest, HttpResponse
from django.utils import timezone
from django.utils.translation import gettext_lazy as _

from crews import policy
from crews.models import BadgeLoan, Crew, Picker
from equipment.domain import codes
from equipment.models.picker_life import held_by
from equipment.models.reading import crews, pickers
from equipment.pages import sought
from equipment.pages.crews.beside import sheet

ON_A_PAGE = 50
NO_CREW = "-"


class FindForm(forms.Form):
    q = forms.CharField(
        label=_("Name, number or badge"),
        required=False,
        max_length=120,
        widget=forms.TextInput(attrs={"type": "search", "autocomplete": "off", "spellcheck": "false"}),
    )
    crew = forms.ChoiceField(label=_("Crew"), required=False)

    def __init__(self, data: Any, user: Any) -> None:
        super().__init__(data)
        none = [] if policy.only_own_crews(user) else [(NO_CREW, _("in no crew"))]
        known = list(crews(user).values_list("pk", "name"))
        self.fields["crew"].choices = [("", _("all")), *none, *known]  # type: ignore[attr-defined]

    def narrow(self, rows: QuerySet[Picker], day: Any) -> QuerySet[Picker]:
        self.is_valid()
        words, crew = self.cleaned_data.get("q", "").replace("\0", ""), self.cleaned_data.get("crew", "")
        if crew:
            rows = rows.filter(crew=None if crew == NO_CREW else crew)
        # Who was erased is found by what the book calls them only.
        return rows.filter(_found(words, day)) if words else rows.exclude(name="")


def picker_list(request: HttpRequest) -> HttpResponse:
    day = timezone.localdate()
    asked = sought.asked(request)
    form = FindForm(asked, request.user)
    rows = _after(form.narrow(pickers(day, request.user), day), request.GET.get("after", ""))
    people = list(rows[: ON_A_PAGE + 1])
    more, people = len(people) > ON_A_PAGE, people[:ON_A_PAGE]
    held = held_by(people)
    names = dict(Crew.objects.values_list("pk", "name"))
    context = {
        "form": form,
        "people": [{"picker": p, "crew": names.get(p.crew, ""), "held": held.get(p.pk, [])} for p in people],
        "narrowed": any(asked.get(name) for name in form.fields),
        "next_url": _page(request, people[-1]) if more else None,
        "first_url": _page(request, None) if request.GET.get("after") else None,
    }
    return sheet(request, "pickers.html", context)


def _found(words: str, day: Any) -> Q:
    """A badge of the day if that is what was scanned; else a part of the name or the start of a number."""
    try:
        code = codes.parse(words)
    except codes.BadCode:
        return Q(name__icontains=words) | Q(number__istartswith=words)
    return Q(pk__in=BadgeLoan.objects.on(day).filter(badge=code.text).values("picker"))


def _after(rows: QuerySet[Picker], pk: str) -> QuerySet[Picker]:
    """The rows after that picker in the order of names; all of them where there is no such one."""
    last = Picker.objects.filter(pk=pk).first() if pk.isascii() and pk.isdigit() and len(pk) < 18 else None
    return rows.filter(Q(name__gt=last.name) | Q(name=last.name, pk__gt=last.pk)) if last else rows


def _page(request: HttpRequest, last: Picker | None) -> str:
    query = request.GET.copy()
    query.pop("after", None)
    if last:
        query["after"] = str(last.pk)
    return f"?{query.urlencode()}"
