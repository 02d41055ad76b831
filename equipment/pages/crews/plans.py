"""One day plan: made, and changed, stopped or cancelled with a why."""

from typing import Any

from django import forms
from django.contrib import messages
from django.core.exceptions import PermissionDenied
from django.db import IntegrityError
from django.http import Http404, HttpRequest, HttpResponse
from django.shortcuts import redirect
from django.urls import reverse
from django.utils import timezone
from django.utils.translation import gettext as _
from django.utils.translation import gettext_lazy

from crews import policy
from crews.models import Block, Crew, DayPlan
from equipment.actions.change_plan import Change, change_plan, overlapping
from equipment.models import Entry
from equipment.models.reading import crews
from equipment.models.replanning import replanned, standing
from equipment.pages.crews.beside import sheet
from equipment.pages.crews.fields import who
from equipment.pages.crews.week import FIRST_DAY, LAST_DAY, asked_day
from equipment.pages.telling import Teller, with_names

CLIPPED = gettext_lazy("Clipped (not snapped)")
ICONS = {"changed": "hands", "stopped": "partial", "cancelled": "no"}


class NewPlanForm(forms.ModelForm):
    class Meta:
        model = DayPlan
        fields = ("crew", "date", "part", "block", "clipped")
        labels = {"clipped": CLIPPED}
        widgets = {"date": forms.DateInput(attrs={"type": "date"})}

    def __init__(self, *args: Any, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.fields["crew"].queryset = Crew.objects.filter(active=True)  # type: ignore[attr-defined]

    def clean_date(self) -> Any:
        day = self.cleaned_data["date"]
        if not FIRST_DAY <= day <= LAST_DAY:
            raise forms.ValidationError(_("Is the year right?"))
        return day

    def clean(self) -> dict[str, Any]:
        data = super().clean() or self.cleaned_data
        crew, day, part = (data.get(name) for name in ("crew", "date", "part"))
        other = overlapping(crew, day, part) if crew and day and part else None
        if other:
            said = _("%(crew)s is planned for block %(block)s then. Change that plan instead.")
            self.add_error("crew", said % {"crew": crew, "block": other.block})
        return data


class ChangeForm(forms.Form):
    state = forms.ChoiceField(label=gettext_lazy("What happens"), widget=forms.RadioSelect)
    block = forms.ModelChoiceField(
        label=gettext_lazy("Block"), queryset=Block.objects.all(), empty_label=None
    )
    clipped = forms.BooleanField(label=CLIPPED, required=False)
    why = forms.CharField(
        label=gettext_lazy("Why"),
        max_length=200,
        help_text=gettext_lazy("Such as rain, wind, wet fruit, block finished."),
        widget=forms.TextInput(attrs={"autocomplete": "off"}),
    )

    def __init__(self, data: Any, plan: DayPlan, may_cancel: bool) -> None:
        super().__init__(data, initial={"state": "changed", "block": plan.block_id, "clipped": plan.clipped})
        self.plan = plan
        cancelled = [("cancelled", gettext_lazy("Cancelled: it does not take place"))] if may_cancel else []
        self.fields["state"].choices = [  # type: ignore[attr-defined]
            ("changed", gettext_lazy("Changed to what stands below")),
            ("stopped", gettext_lazy("Stopped: the crew went home or waits")),
            *cancelled,
        ]

    def clean(self) -> dict[str, Any]:
        data = super().clean() or self.cleaned_data
        as_it_is = (self.plan.block, self.plan.clipped) == (data.get("block"), data.get("clipped"))
        running = self.plan.state in (DayPlan.State.PLANNED, DayPlan.State.CHANGED)
        if data.get("state") == "changed" and as_it_is and running:
            raise forms.ValidationError(_("Nothing is changed yet: choose another block, or clipped or not."))
        return data


def new_plan(request: HttpRequest) -> HttpResponse:
    initial = {"crew": request.GET.get("crew"), "date": asked_day(request.GET.get("date", ""))}
    form = NewPlanForm(request.POST or None, initial=initial)
    if request.method == "POST" and form.is_valid():
        plan = _saved(form)
        if plan is not None:
            said = _("%(crew)s picks in block %(block)s.") % {"crew": plan.crew, "block": plan.block}
            messages.success(request, said)
            return redirect(f"{reverse('plans')}?day={plan.date.isoformat()}")
    return sheet(request, "plan_new.html", {"form": form})


def _saved(form: NewPlanForm) -> DayPlan | None:
    """The plan; None with an error on the form where somebody else has just made one."""
    try:
        return form.save()
    except IntegrityError:
        form.add_error("crew", _("Somebody has just planned this crew for then. Look at the week again."))
        return None


def plan(request: HttpRequest, pk: int) -> HttpResponse:
    one = DayPlan.objects.filter(pk=pk, crew__in=crews(request.user)).select_related("crew", "block").first()
    if one is None:
        raise Http404
    one = _as_it_stands(one)
    may = _may_change(request, one)
    if request.method == "POST" and not may:
        raise PermissionDenied
    form = ChangeForm(request.POST or None, one, may_cancel=_may_cancel(request))
    if request.method == "POST" and form.is_valid():
        change_plan(one, Change(**form.cleaned_data), request.user, timezone.now())
        messages.success(request, _("Written down: %(state)s.") % {"state": one.get_state_display()})
        return redirect("plan", pk)
    context = {"plan": one, "form": form if may else None, "lines": [*_told(one), *_lines(one)]}
    context["lines"].sort(key=lambda line: line["at"], reverse=True)
    return sheet(request, "plan.html", context)


def _may_change(request: HttpRequest, one: DayPlan) -> bool:
    """A supervisor changes the plans of their own crews, also where another role lets them see all."""
    if not policy.may_open(request.user, "plan", "POST"):
        return False
    limited = policy.only_own_crews(request.user, policy.ENDPOINTS["plan"].change)
    return not limited or one.crew.supervisor_id == request.user.pk


def _may_cancel(request: HttpRequest) -> bool:
    """Who makes plans also cancels them; a supervisor stops work, or changes where it goes on."""
    return policy.may_open(request.user, "plan_new", "POST")


def _as_it_stands(one: DayPlan) -> DayPlan:
    """With the crew's own changes on it; as the office made it where they made two of it."""
    shown = [p for p in standing([one], (one.date, one.date), [one.crew_id]) if p.pk == one.pk]
    return shown[0] if len(shown) == 1 else one


def _told(one: DayPlan) -> list[dict[str, Any]]:
    """What the crew itself wrote in the book of this day's plan."""
    replans = replanned(one.crew_id, one.date)
    entries = list(with_names(Entry.objects.filter(pk__in=[each.entry for each in replans])))
    teller = Teller(entries)
    return [
        {
            "at": entry.happened_at,
            "say": teller.tell(entry),
            "icon": ICONS["changed"],
            "note": str(getattr(entry, "written_note", "")),
            "by": who(entry.by),
        }
        for entry in entries
    ]


def _lines(one: DayPlan) -> list[dict[str, Any]]:
    changes = one.changes.select_related("by").order_by("-at", "-id")
    return [
        {
            "at": change.at,
            "say": change.get_state_display(),
            "icon": ICONS.get(change.state, "note"),
            "note": change.why,
            "by": who(change.by),
        }
        for change in changes
    ]
