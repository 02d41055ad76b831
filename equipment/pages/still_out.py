"""What is out and should come back: tonight's list, and the season's."""

from collections import Counter
from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from datetime import date
from itertools import groupby
from typing import Any

from django import forms
from django.conf import settings
from django.db.models import QuerySet
from django.http import HttpRequest, HttpResponse
from django.shortcuts import render
from django.utils import timezone
from django.utils.translation import gettext as _
from django.utils.translation import gettext_lazy

from crews.models import Crew, Store
from equipment.documents import slips
from equipment.models import ItemState, Kind
from equipment.models.finding import plain
from equipment.models.kits import bounds
from equipment.models.reading import crews, items
from equipment.pages import places
from equipment.pages.links import link


class WhereForm(forms.Form):
    crew = forms.ModelChoiceField(None, label=gettext_lazy("Crew"), required=False, empty_label="")
    store = forms.ModelChoiceField(
        Store.objects.all(), label=gettext_lazy("Store"), required=False, empty_label=""
    )

    def __init__(self, data: Any, user: Any) -> None:
        super().__init__(data)
        self.fields["crew"].queryset = crews(user)  # type: ignore[attr-defined]

    def narrow(self, rows: QuerySet[ItemState]) -> QuerySet[ItemState]:
        self.is_valid()
        for name in ("crew", "store"):
            if value := self.cleaned_data.get(name):
                rows = rows.filter(**{name: value})
        return rows


@dataclass(frozen=True)
class Piece:
    """`earlier`: out since an earlier day; `late`: and it should have come back by night."""

    state: ItemState
    age: str
    earlier: bool

    @property
    def late(self) -> bool:
        return self.earlier and self.state.item.kind.comes_back == Kind.ComesBack.TONIGHT


@dataclass(frozen=True)
class Holder:
    """Who has the pieces: a picker with their badge of the day, or the crew itself."""

    name: str
    badge: str
    pieces: Sequence[Piece]


@dataclass(frozen=True)
class CrewHolds:
    crew: Crew | None
    holders: Sequence[Holder]

    @property
    def count(self) -> int:
        return sum(len(holder.pieces) for holder in self.holders)


def still_out(request: HttpRequest) -> HttpResponse:
    """What should be back by tonight; what stays in the orchard, locked or counted, is accounted for."""
    form, rows, day = _asked(request, "tonight")
    held = by_crew(rows.exclude(place="orchard"), day)
    return render(
        request,
        "still_out.html",
        {
            **_shown(request, form, held, day),
            "late": sum(piece.late for crew in held for holder in crew.holders for piece in holder.pieces),
            "in_orchard": rows.filter(place="orchard").count(),
            "missing": form.narrow(items(day, request.user).filter(place="missing")).count(),
            "season_url": link(request.user, "season_end"),
        },
    )


def season_end(request: HttpRequest) -> HttpResponse:
    """What is to be collected when the season ends."""
    form, rows, day = _asked(request, "season")
    held = by_crew(rows, day)
    pdf = link(request.user, "season_end_pdf", query=request.GET.urlencode())
    return render(request, "season_end.html", {**_shown(request, form, held, day), "pdf": pdf})


def season_end_pdf(request: HttpRequest) -> HttpResponse:
    _form, rows, day = _asked(request, "season")
    held = by_crew(rows, day)
    if not held:
        return season_end(request)
    made = slips.collection_list([_collection(crew) for crew in held], day, settings.FARM_NAME)
    name = f'inline; filename="season-end-{day}.pdf"'
    return HttpResponse(made, content_type="application/pdf", headers={"Content-Disposition": name})


def _asked(request: HttpRequest, comes_back: str) -> tuple[WhereForm, QuerySet[ItemState], date]:
    """The form, and the gear out that comes back then."""
    day = timezone.localdate()
    form = WhereForm(request.GET, request.user)
    rows = items(day, request.user).out().filter(item__kind__comes_back=comes_back)
    return form, form.narrow(rows), day


def _shown(request: HttpRequest, form: WhereForm, held: Sequence[CrewHolds], day: date) -> dict[str, Any]:
    return {
        "form": form,
        "held": held,
        "sums": sums(held),
        "count": sum(crew.count for crew in held),
        "at": timezone.localtime(),
        "day": day,
        "narrowed": any(request.GET.get(name) for name in form.fields),
    }


def by_crew(rows: QuerySet[ItemState], day: date) -> list[CrewHolds]:
    """The rows by crew and holder, the crew's own gear last; one query."""
    start, _end = bounds(day)
    wide = rows.select_related("item__kind", "picker", "crew__supervisor", "store")
    states = sorted(wide, key=_in_order)
    found = []
    for _crew, of_crew in groupby(states, key=lambda state: state.crew_id):
        same = list(of_crew)
        holders = [
            _holder(list(group), start, day) for _who, group in groupby(same, key=lambda s: s.picker_id)
        ]
        found.append(CrewHolds(same[0].crew, holders))
    return found


def _in_order(state: ItemState) -> tuple[Any, ...]:
    crew = (plain(state.crew.name), state.crew_id) if state.crew else ("", "")
    picker = (False, plain(state.picker.name), state.picker_id) if state.picker else (True, "", 0)
    return (*crew, *picker, state.item.kind.position, state.tag)


def _holder(states: Sequence[ItemState], start: Any, day: date) -> Holder:
    first = states[0]
    name = first.picker.name if first.picker else _("the crew together")
    badge = getattr(first, "badge", None) if first.picker else None
    pieces = [Piece(s, places.age(s.since, day), bool(s.since and s.since < start)) for s in states]
    return Holder(name, badge or "", pieces)


def sums(held: Iterable[CrewHolds]) -> list[tuple[str, int]]:
    """Pieces by kind, in the order of the catalogue."""
    counted: Counter[Kind] = Counter()
    for crew in held:
        for holder in crew.holders:
            counted.update(piece.state.item.kind for piece in holder.pieces)
    return [
        (_(kind.name_plural), n) for kind, n in sorted(counted.items(), key=lambda pair: pair[0].position)
    ]


def _collection(held: CrewHolds) -> slips.Collection:
    supervisor = held.crew.supervisor if held.crew else None
    pieces = tuple(
        slips.HeldPiece(
            holder.name, holder.badge, slips.Piece(str(p.state.item.kind), p.state.tag, _day(p.state))
        )
        for holder in held.holders
        for p in holder.pieces
    )
    leader = (supervisor.get_full_name() or supervisor.get_username()) if supervisor else ""
    return slips.Collection(held.crew.name if held.crew else "", leader, pieces)


def _day(state: ItemState) -> date:
    return timezone.localdate(state.since)
