"""The list of all gear: searched, narrowed, sorted, a page at a time.

A page begins after the last line of the one before (keyset), so that the thousandth costs no more than the first. The
keys of a page are found first and its rows read afterwards: the joins are made for sixty rows, not for all.
"""

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import datetime
from typing import Any

from django import forms
from django.db.models import Q, QuerySet
from django.http import HttpRequest, HttpResponse
from django.shortcuts import render
from django.utils import timezone
from django.utils.translation import gettext as _
from django.utils.translation import gettext_lazy

from crews import policy
from crews.models import Store
from equipment.actions.wording import filled
from equipment.domain import codes
from equipment.models import ItemState, Kind
from equipment.models.finding import Wanted, find, owners
from equipment.models.reading import crews, items
from equipment.pages import places, sought
from equipment.pages.keys import moment
from equipment.pages.links import link

LINES = 60
# What a list can be sorted by: the column, then the tag, which no two items share.
SORTS = {"tag": "tag", "kind": "item__kind__position", "place": "place", "since": "since"}


class GearForm(forms.Form):
    q = forms.CharField(
        label=gettext_lazy("Find"),
        required=False,
        max_length=200,
        widget=forms.TextInput(attrs={"type": "search", "autocomplete": "off"}),
    )
    kind = forms.ModelChoiceField(
        Kind.objects.all(), label=gettext_lazy("Kind"), required=False, empty_label=""
    )
    place = forms.ChoiceField(label=gettext_lazy("Place"), required=False)
    crew = forms.ModelChoiceField(None, label=gettext_lazy("Crew"), required=False, empty_label="")
    store = forms.ModelChoiceField(
        Store.objects.all(), label=gettext_lazy("Store"), required=False, empty_label=""
    )
    owner = forms.ChoiceField(label=gettext_lazy("Owner"), required=False)
    stand = forms.ChoiceField(
        label=gettext_lazy("May it go out?"),
        required=False,
        choices=[
            ("", ""),
            ("fit", gettext_lazy("may go out")),
            ("stays", gettext_lazy("stays here")),
            ("due", gettext_lazy("something is due")),
        ],
    )

    def __init__(self, data: Any, user: Any) -> None:
        super().__init__(data)
        self.fields["crew"].queryset = crews(user)  # type: ignore[attr-defined]
        self.fields["place"].choices = [("", ""), *ItemState.Place.choices]  # type: ignore[attr-defined]
        self.fields["owner"].choices = [("", ""), *((owner, owner) for owner in owners())]  # type: ignore[attr-defined]

    def wanted(self, at: datetime) -> Wanted:
        """What is asked for, leaving out what cannot be understood: the form says so beside it."""
        self.is_valid()
        said = {name: value for name, value in self.cleaned_data.items() if value}
        kind, crew, store = (said[name].pk if name in said else "" for name in ("kind", "crew", "store"))
        place, owner, stand = (said.get(name, "") for name in ("place", "owner", "stand"))
        return Wanted(said.get("q", ""), kind, place, crew, store, owner, stand, at)


@dataclass(frozen=True)
class Sort:
    """`name` as in SORTS; `down` for the last first."""

    name: str = "tag"
    down: bool = False

    @classmethod
    def read(cls, text: str) -> "Sort":
        name = text.removeprefix("-")
        return cls(name, text.startswith("-")) if name in SORTS else cls()

    def order(self) -> list[str]:
        sign = "-" if self.down else ""
        return [f"{sign}{column}" for column in dict.fromkeys((SORTS[self.name], "tag"))]

    def after(self, key: str) -> Q:
        """The rows after that key; all of them where it cannot be read."""
        text, _tilde, tag = key.rpartition("~")
        value = self._value(text)
        if not tag or value is None or "\0" in key:
            return Q()
        beyond = "lt" if self.down else "gt"
        column = SORTS[self.name]
        return Q(**{f"{column}__{beyond}": value}) | Q(**{column: value, f"tag__{beyond}": tag})

    def _value(self, text: str) -> Any:
        if self.name == "since":
            return moment(text)
        if self.name == "kind":
            return int(text) if text.isascii() and text.isdigit() else None
        return text

    def __str__(self) -> str:
        return f"-{self.name}" if self.down else self.name


@dataclass(frozen=True)
class Column:
    """The head of a column: its words, where it leads, and how the list is sorted by it now ("" for not)."""

    words: str
    url: str = ""
    sorted: str = ""


@dataclass(frozen=True)
class Line:
    state: ItemState
    where: str
    fit: bool
    stays: Sequence[str]


def gear(request: HttpRequest) -> HttpResponse:
    asked = sought.asked(request)
    form = GearForm(asked, request.user)
    sort = Sort.read(request.GET.get("sort", ""))
    at = timezone.now()
    day = timezone.localdate(at)
    found = find(items(day, request.user).exclude(tag=""), form.wanted(at), day)
    lines, last = _page(found, sort, request.GET.get("after", ""), at)
    context = {
        "form": form,
        "lines": lines,
        "count": found.count(),
        "columns": _columns(request, sort),
        "next_url": _address(request, after=last) if last else None,
        "first_url": _address(request, after="") if request.GET.get("after") else None,
        "narrowed": any(asked.get(name) for name in form.fields),
        "day": day,
        "limited": policy.only_own_crews(request.user),
        "misread": _misread(asked.get("q", "")),
        "labels": link(request.user, "labels", query=_query(request, after="", sort="")),
        "registering": link(request.user, "registering"),
    }
    return render(request, "gear.html", context)


def _page(found: QuerySet[ItemState], sort: Sort, after: str, at: datetime) -> tuple[list[Line], str]:
    """The lines of a page, and the key of its last one ("" where nothing follows)."""
    rows = found.filter(sort.after(after)).order_by(*sort.order())
    keys = list(rows.values_list("pk", SORTS[sort.name], "tag")[: LINES + 1])
    page = keys[:LINES]
    wide = ItemState.objects.select_related("item__kind", "picker", "crew", "store").defer("fold")
    states = wide.in_bulk([pk for pk, _value, _tag in page])
    lines = [
        Line(s, places.where(s), s.fit_at(at), places.stays(s, at))
        for pk, *_rest in page
        if (s := states.get(pk))
    ]
    if len(keys) <= LINES:
        return lines, ""
    _pk, value, tag = page[-1]
    return lines, f"{value.isoformat() if sort.name == 'since' else value}~{tag}"


def _columns(request: HttpRequest, sort: Sort) -> list[Column]:
    def head(name: str, words: str) -> Column:
        here = sort.name == name
        turned = Sort(name, down=here and not sort.down)
        how = ("descending" if sort.down else "ascending") if here else ""
        return Column(words, _address(request, sort=str(turned), after=""), how)

    return [
        head("since", _("Since")),
        head("tag", _("Tag")),
        head("kind", _("Kind")),
        Column(_("Make, size, hand")),
        head("place", _("Where")),
        Column(_("Store")),
        Column(_("May it go out?")),
    ]


def _query(request: HttpRequest, **changed: str) -> str:
    query = request.GET.copy()
    for name, value in changed.items():
        query[name] = value
    for name in [name for name, value in query.items() if not value]:
        del query[name]
    return query.urlencode()


def _address(request: HttpRequest, **changed: str) -> str:
    query = _query(request, **changed)
    return f"{request.path}?{query}" if query else request.path


def _misread(text: str) -> str:
    """What to say where a code was looked for that does not fit its check character."""
    try:
        codes.parse(text)
    except codes.WrongCheck as error:
        return filled(error.message, error.params)
    except codes.NotACode:
        pass
    return ""
