"""Narrowing the lists of To settle, and turning their pages."""

from collections.abc import Mapping
from datetime import datetime, timedelta
from typing import Any

from django import forms
from django.db.models import OuterRef, Q, QuerySet, Subquery
from django.http import QueryDict
from django.utils.translation import gettext_lazy

from crews.models import Store
from equipment.models import Discrepancy, Entry, KeptEntry, Kind

LINES = 25
CODES: Mapping[str, Any] = {
    "already_out": gettext_lazy("already out with somebody"),
    "not_out": gettext_lazy("was not out"),
    "other_store": gettext_lazy("lay in another store"),
    "missing": gettext_lazy("was missing"),
    "written_off": gettext_lazy("was written off"),
    "picker_left": gettext_lazy("the picker was in no crew"),
    "not_in_crew": gettext_lazy("not in that crew"),
    "registered_twice": gettext_lazy("registered twice"),
    "not_faulty": gettext_lazy("had no such fault"),
    "not_mended": gettext_lazy("was not mended"),
    "own_mend": gettext_lazy("passed by its mender"),
    "mixed_twice": gettext_lazy("bath mixed twice"),
    "received_twice": gettext_lazy("goods received twice"),
    "more_than_left": gettext_lazy("more than was left"),
    "not_reversible": gettext_lazy("nothing to take back"),
}
WHYS: Mapping[str, Any] = {
    "revoked": gettext_lazy("from a phone taken off the list"),
    "no_right": gettext_lazy("no right to it"),
    "unknown_item": gettext_lazy("unknown item"),
    "unknown_picker": gettext_lazy("unknown card"),
    "unknown_crew": gettext_lazy("unknown crew"),
    "unknown_bath": gettext_lazy("unknown bath"),
    "unknown_lot": gettext_lazy("unknown lot of goods"),
    "id_reused": gettext_lazy("two lines of one number"),
    "malformed": gettext_lazy("cannot be read"),
    "wrong_check": gettext_lazy("a misread code"),
}
AGES = {"day": timedelta(days=1), "week": timedelta(days=7)}


class NarrowForm(forms.Form):
    what = forms.ChoiceField(label=gettext_lazy("What"), required=False)
    kind = forms.ModelChoiceField(
        Kind.objects.all(), label=gettext_lazy("Kind"), required=False, empty_label=""
    )
    store = forms.ModelChoiceField(
        Store.objects.all(), label=gettext_lazy("Store"), required=False, empty_label=""
    )
    age = forms.ChoiceField(
        label=gettext_lazy("Waits"),
        required=False,
        choices=[
            ("", ""),
            ("day", gettext_lazy("since less than a day")),
            ("week", gettext_lazy("for a day to a week")),
            ("longer", gettext_lazy("for more than a week")),
        ],
    )

    def __init__(self, data: QueryDict, *, kept: bool) -> None:
        super().__init__(data)
        codes = WHYS if kept else CODES
        self.fields["what"].choices = [("", ""), *codes.items()]  # type: ignore[attr-defined]
        if kept:
            del self.fields["kind"]

    @property
    def asked(self) -> dict[str, Any]:
        """What was chosen; a choice that does not exist narrows nothing."""
        self.is_valid()
        return {name: value for name, value in self.cleaned_data.items() if value}


def discrepancies(asked: Mapping[str, Any], at: datetime, *, settled: bool = False) -> QuerySet[Discrepancy]:
    """With the time of recording (`told_at`) and the store of its line."""
    line = Entry.objects.filter(pk=OuterRef("entry_id"))
    rows = Discrepancy.objects.filter(settled=settled).annotate(
        told_at=Subquery(line.values("recorded_at")), told_in=Subquery(line.values("store"))
    )
    if "what" in asked:
        rows = rows.filter(code=asked["what"])
    if "kind" in asked:
        rows = rows.filter(item__kind=asked["kind"])
    if "store" in asked:
        rows = rows.filter(told_in=asked["store"].pk)
    return rows.filter(_aged("told_at", asked.get("age", ""), at))


def kept_entries(asked: Mapping[str, Any], at: datetime) -> QuerySet[KeptEntry]:
    rows = KeptEntry.objects.waiting().select_related("by", "device", "store")
    if asked.get("what") == "revoked":
        rows = rows.filter(revoked=True)
    elif "what" in asked:
        rows = rows.filter(code=asked["what"], revoked=False)
    if "store" in asked:
        rows = rows.filter(store=asked["store"])
    return rows.filter(_aged("received_at", asked.get("age", ""), at))


def _aged(column: str, age: str, at: datetime) -> Q:
    if age == "day":
        return Q(**{f"{column}__gt": at - AGES["day"]})
    if age == "week":
        return Q(**{f"{column}__lte": at - AGES["day"], f"{column}__gt": at - AGES["week"]})
    return Q(**{f"{column}__lte": at - AGES["week"]}) if age == "longer" else Q()
