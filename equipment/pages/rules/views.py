"""The rules, for everybody to read; one rule with its history, for the officer and the manager to change.

A change is written in two steps: the first shows what would be another, the second writes it down.
"""

from datetime import datetime
from typing import Any

from django.contrib import messages
from django.core.exceptions import PermissionDenied
from django.http import Http404, HttpRequest, HttpResponse
from django.shortcuts import redirect, render
from django.utils import timezone
from django.utils.formats import date_format
from django.utils.translation import gettext as _

from crews import policy
from equipment.actions.set_rule import BadRule, Considered, consider, set_rule, values_at
from equipment.catalogue.rules import defaults
from equipment.catalogue.settable import settings_of
from equipment.models import Rule
from equipment.models.rules import subjects_known, whole
from equipment.pages.rules import saying, sheet
from equipment.pages.rules.forms import ChangeForm

LONGEST_SEARCH = 100


def rules(request: HttpRequest) -> HttpResponse:
    asked = request.GET.get("q", "").strip()[:LONGEST_SEARCH]
    every = sheet.lines(timezone.now())
    context = {
        "asked": asked,
        "any": bool(every),
        "groups": sheet.groups(every, asked),
        "may_change": policy.may_open(request.user, "rule", "POST"),
    }
    return render(request, "rules.html", context)


def rule(request: HttpRequest, slug: str) -> HttpResponse:
    at = timezone.now()
    line = next(iter(sheet.lines(at, sheet.subject_of(slug))), None)
    if line is None:
        raise Http404
    form = _form(request, line, at)
    if request.method != "POST":
        return _shown(request, line, form)
    if form is None:
        raise PermissionDenied
    if "back" in request.POST or not form.is_valid():
        return _shown(request, line, form)
    return _change(request, line, form, at)


def _form(request: HttpRequest, line: sheet.Line, at: datetime) -> ChangeForm | None:
    """None for those who may not change it, and where there is nothing to set."""
    row = subjects_known()[line.subject]
    settings = settings_of(row, whole())
    if not policy.may_open(request.user, "rule", "POST") or not any(not s.fixed for s in settings):
        return None
    newest = Rule.objects.of(line.subject).order_by("-id").values_list("id", flat=True)[0]
    return ChangeForm(request.POST or None, settings, values_at(line.subject, at), defaults(row), newest)


def _change(request: HttpRequest, line: sheet.Line, form: ChangeForm, at: datetime) -> HttpResponse:
    why, begins = form.cleaned_data["why"], form.from_when(at)
    try:
        if "confirmed" not in request.POST:
            return _shown(request, line, form, consider(line.subject, form.changes(), why, at, begins))
        written = set_rule(request.user, line.subject, form.changes(), why, at, begins)
    except BadRule as bad:
        form.add_problems(bad.problems)
        return _shown(request, line, form)
    messages.success(request, _written(line, written, begins))
    return redirect("rule", line.slug)


def _written(line: sheet.Line, written: Rule, begins: datetime | None) -> str:
    words = {"name": line.name, "number": written.pk}
    if begins is None:
        return _("“%(name)s” holds as it stands below, from now on (version %(number)s).") % words
    when = date_format(timezone.localtime(begins), _("j F Y H:i"))
    return _("“%(name)s” changes on %(when)s (version %(number)s).") % {**words, "when": when}


def _shown(
    request: HttpRequest, line: sheet.Line, form: ChangeForm | None, found: Considered | None = None
) -> HttpResponse:
    row = subjects_known()[line.subject]
    settings = settings_of(row, whole())
    history = Rule.objects.of(line.subject).select_related("by")
    context: dict[str, Any] = {
        "line": line,
        "row": row,
        "form": form,
        "fixed": [setting for setting in settings if setting.fixed],
        "nothing_to_set": not settings,
        "versions": [(sheet.version(row, rule), rule) for rule in history],
        "agent": saying.agent(row.agent) if line.subject.startswith("recipe ") else None,  # type: ignore[union-attr]
    }
    if found is not None:
        context |= {
            "found": found,
            "changes": _differences(line, found),
            "would_say": saying.say(row, found.after),
        }
        context["replaced"] = [v for v in line.ahead if v.begins and v.begins > found.begins]
    return render(request, "rule.html", context)


def _differences(line: sheet.Line, found: Considered) -> list[dict[str, str]]:
    """Each setting that would be another: its words, and what it is and would be."""
    settings = settings_of(subjects_known()[line.subject], whole())
    return [
        {
            "what": saying.label(setting),
            "before": saying.value(setting, found.before[setting.name]),
            "after": saying.value(setting, found.after[setting.name]),
        }
        for setting in settings
        if found.before[setting.name] != found.after[setting.name]
    ]
