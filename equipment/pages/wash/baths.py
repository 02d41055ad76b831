"""One bath: its numbers and cautions, its strength tests, what was dipped in it, its emptying, its label."""

from collections import Counter
from collections.abc import Iterable
from datetime import datetime
from typing import Any
from uuid import UUID

from django.conf import settings
from django.contrib import messages
from django.http import HttpRequest, HttpResponse
from django.shortcuts import redirect, render
from django.urls import reverse
from django.utils import timezone
from django.utils.translation import gettext as _
from django.views.decorators.http import require_GET

from crews import languages, policy
from equipment.actions import bathing
from equipment.actions.wording import moment
from equipment.actions.writing import Pen
from equipment.documents.bucket_label import BucketLabel, bucket_label
from equipment.domain import bath as of_baths
from equipment.domain.refusals import REFUSALS
from equipment.domain.values import BathState, StrengthTest
from equipment.domain.verbs.emptied import PLACES
from equipment.models import BathState as Row
from equipment.models import Entry, washing
from equipment.models.washing import Dip
from equipment.pages import places
from equipment.pages.printing import pdf
from equipment.pages.rules.saying import ppm
from equipment.pages.wash import here, saying
from equipment.pages.wash.forms import EmptyForm, StrengthForm
from equipment.pages.wash.recipes import known

MOST_DIPS = 200


@require_GET
def bath(request: HttpRequest, bath: UUID) -> HttpResponse:
    return _page(request, here.bath_of(request.user, bath))  # type: ignore[arg-type]


def bath_test(request: HttpRequest, bath: UUID) -> HttpResponse:
    """A strength test; it says which dips it voids or restores."""
    row, at = here.bath_of(request.user, bath), timezone.now()  # type: ignore[arg-type]
    if request.method != "POST":
        return redirect("bath", bath)
    state = washing.one(row, at).state
    form = StrengthForm(request.POST, state, _target(state, at), at)
    if not form.is_valid():
        return _page(request, row, test=form, status=400)
    said = form.cleaned_data
    before = {dip.entry: dip.why for dip in washing.dips(bath, state)}
    pen = Pen(request.user, str(row.store_id), at)  # type: ignore[arg-type]
    bathing.try_strength(pen, bath, said["ppm"], said["diluted"], happened_at=said["at"])
    _tell_test(request, state, StrengthTest(bath, said["at"] or at, form.strength))
    after = washing.one(Row.objects.get(pk=bath), at).state
    _tell_dips(request, before, washing.dips(bath, after), at)
    return redirect("bath", bath)


def bath_empty(request: HttpRequest, bath: UUID) -> HttpResponse:
    row, at = here.bath_of(request.user, bath), timezone.now()  # type: ignore[arg-type]
    if request.method != "POST":
        return redirect("bath", bath)
    form = EmptyForm(request.POST, known(row.recipe, at))
    if row.emptied_at is None and not form.is_valid():
        return _page(request, row, emptying=form, status=400)
    if row.emptied_at is None:
        bathing.empty(Pen(request.user, str(row.store_id), at), bath, form.cleaned_data["where"])  # type: ignore[arg-type]
        messages.success(request, _("The bath is emptied. Take its label off the bucket, and rinse it."))
    return redirect(here.at_store(reverse("wash"), str(row.store_id)))


@require_GET
def bath_label(request: HttpRequest, bath: UUID) -> HttpResponse:
    row = here.bath_of(request.user, bath)  # type: ignore[arg-type]
    state = washing.one(row, timezone.now()).state
    with languages.of_the_farm():
        label = bucket_label(_label(row, state), settings.FARM_NAME, settings.LABEL_URL_BASE)
    return pdf(label, f"bath-{bath}")


def _label(row: Row, state: BathState) -> BucketLabel:
    recipe, mixing = known(row.recipe, timezone.now()), _mixing(row.bath)
    steps = [*(recipe.before if recipe else []), *(recipe.after if recipe else [])]
    return BucketLabel(
        bath=str(row.bath),
        recipe=recipe.name if recipe else row.recipe,
        strength=ppm(round(state.ppm)) if state.ppm else "",
        litres=state.litres,
        mixed_at=timezone.localtime(row.mixed_at),
        good_until=timezone.localtime(row.good_until) if row.good_until else None,
        by=_who(mixing),
        lot=str(mixing.detail.get("product_lot", "")) if mixing else "",
        contact_seconds=(recipe.rule.contact_seconds or 0) if recipe else 0,
        capacity=state.capacity,
        steps=tuple(steps),
        cautions=tuple(recipe.cautions if recipe else ()),
    )


def _page(
    request: HttpRequest,
    row: Row,
    test: StrengthForm | None = None,
    emptying: EmptyForm | None = None,
    status: int = 200,
) -> HttpResponse:
    at = timezone.now()
    standing = washing.one(row, at)
    recipe, state, user = known(row.recipe, at), standing.state, request.user
    dips = washing.dips(row.bath, state)
    may_test = policy.may_open(user, "bath_test", "POST")
    may_empty = policy.may_open(user, "bath_empty", "POST") and row.emptied_at is None
    context: dict[str, Any] = {
        "row": row,
        "store": row.store,
        "bath": saying.bath(standing, at),
        "recipe": recipe,
        "limits": saying.limits(state),
        "mixing": _mixing_words(row.bath),
        "tests": [_test(each, state) for each in sorted(state.tests, key=lambda each: each.at, reverse=True)],
        "dips": [_dip(dip) for dip in dips[-MOST_DIPS:][::-1]],
        "count": sum(not dip.why for dip in dips),
        "again": [_dip(dip) for dip in _once(dip for dip in dips if dip.why and dip.due_again(at))],
        "emptied": _emptied(row),
        "test_form": (test or StrengthForm(None, state, None, at)) if may_test else None,
        "empty_form": (emptying or EmptyForm(None, recipe)) if may_empty else None,
        "may_clean": policy.may_act(user, "clean"),
    }
    return render(request, "bath.html", context, status=status)


def _target(state: BathState, at: datetime) -> int | None:
    recipe = known(state.recipe, at)
    return recipe.rule.target_ppm if recipe else None


def _tell_test(request: HttpRequest, state: BathState, test: StrengthTest) -> None:
    words = {"ppm": ppm(round(test.ppm)), "limits": saying.limits(state)}
    if not words["limits"]:
        messages.info(
            request, _("%(ppm)s is written down. This recipe has no limits to test against.") % words
        )
    elif of_baths.passes(state, test):
        messages.success(request, _("%(ppm)s is good: it should be %(limits)s.") % words)
    else:
        messages.error(
            request,
            _("%(ppm)s: the bath failed its test. It should be %(limits)s. Empty it and mix a new one.")
            % words,
        )


def _tell_dips(request: HttpRequest, before: dict[UUID, str], dips: list[Dip], at: datetime) -> None:
    """What the test voids, and what it restores."""
    voided = [dip for dip in dips if dip.why == "test_failed" and not before[dip.entry]]
    restored = [dip for dip in dips if not dip.why and before[dip.entry] == "test_failed"]
    again = _once(dip for dip in voided if dip.due_again(at))
    for kind, number in _by_kind(again):
        messages.error(request, _("%(kind)s that must be dipped again: %(n)d.") % {"kind": kind, "n": number})
    if since := len(_once(voided)) - len(again):
        messages.info(request, _("Voided, but cleaned elsewhere since, so not due: %(n)d.") % {"n": since})
    for kind, number in _by_kind(_once(restored)):
        messages.success(request, _("%(kind)s whose dip counts again: %(n)d.") % {"kind": kind, "n": number})
    if not voided and not restored:
        messages.info(request, _("It changes nothing for what was dipped before."))


def _once(dips: Iterable[Dip]) -> list[Dip]:
    """The last dip of each piece."""
    return list({dip.row.pk: dip for dip in dips}.values())


def _by_kind(dips: list[Dip]) -> list[tuple[str, int]]:
    return list(Counter(_(dip.row.item.kind.name_plural) for dip in dips).items())


def _dip(dip: Dip) -> dict[str, Any]:
    return {
        "tag": dip.row.tag,
        "kind": dip.row.item.kind,
        "when": moment(dip.at),
        "why": _(REFUSALS[dip.why]) if dip.why else "",
        "where": places.where(dip.row),
    }


def _test(test: StrengthTest, state: BathState) -> dict[str, Any]:
    limited = (state.low_ppm, state.high_ppm) != (None, None)
    passed = of_baths.passes(state, test) if limited else None
    return {"when": moment(test.at), "ppm": ppm(round(test.ppm)), "passed": passed}


def _mixing(own: UUID) -> Entry | None:
    return Entry.objects.filter(bath=own, verb="mixed").select_related("by").order_by("happened_at").first()


def _mixing_words(own: UUID) -> dict[str, Any]:
    entry = _mixing(own)
    detail = entry.detail if entry else {}
    return {
        "by": _who(entry),
        "lot": detail.get("product_lot"),
        "expires": detail.get("product_expires"),
        "ph": detail.get("ph"),
    }


def _who(entry: Entry | None) -> str:
    return (entry.by.get_full_name() or entry.by.get_username()) if entry and entry.by else ""


def _emptied(row: Row) -> dict[str, Any] | None:
    entry = Entry.objects.filter(bath=row.bath, verb="emptied").first() if row.emptied_at else None
    if entry is None:
        return None
    where = str(entry.detail["where"])
    return {"when": moment(row.emptied_at), "where": _(PLACES.get(where, where))}
