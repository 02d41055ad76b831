"""Count the goods of a store: all its lots on one page, the differences shown before they are written down."""

from collections.abc import Iterator
from dataclasses import dataclass
from datetime import timedelta
from typing import Any
from uuid import UUID

from django.contrib import messages
from django.core.exceptions import ValidationError
from django.db.models import F, Q, QuerySet
from django.http import HttpRequest, HttpResponse, QueryDict
from django.shortcuts import redirect, render
from django.urls import reverse
from django.utils import timezone
from django.utils.translation import gettext as _
from django.utils.translation import ngettext

from equipment.actions import goods as acting
from equipment.actions.amounts import amount, number
from equipment.actions.wording import NotDone
from equipment.actions.writing import Pen, new_id
from equipment.models import Entry, LotState
from equipment.pages.goods import saying
from equipment.pages.goods.forms import counted
from equipment.pages.keys import uuid_in
from equipment.pages.wash import here
from equipment.pages.wash.numbers import NumberField

COUNT = NumberField(required=False)
# Nobody finds some of an older lot that was used up.
LATELY = timedelta(days=366)


@dataclass(frozen=True)
class Line:
    """One lot: what the book has of it (`was` as the page was made), what was counted (None: not counted), what is
    wrong with that."""

    row: LotState
    lot: dict[str, Any]
    text: str
    was: float
    left: float | None
    wrong: str

    @property
    def differs(self) -> bool:
        return self.left is not None and self.left != self.was

    @property
    def counted(self) -> str:
        return amount(self.left or 0, saying.unit(self.row))

    @property
    def book(self) -> str:
        return amount(self.was, saying.unit(self.row))

    @property
    def by(self) -> str:
        more = round((self.left or 0) - self.was, 6)
        return f"{'+' if more > 0 else '−'}{number(abs(more))}"


def goods_count(request: HttpRequest) -> HttpResponse:
    """POST shows the differences first; with `confirmed` it writes them down."""
    store = here.store_of(request)
    in_order = _lots(request).filter(store=store).select_related("goods")
    lines = list(_lines(in_order, request.POST))
    others, used_up = here.others(request.user, store), "used_up" in request.GET  # type: ignore[arg-type]
    context: dict[str, Any] = {"store": store, "lines": lines, "others": others, "used_up": used_up}
    if request.method != "POST" or "back" in request.POST:
        return render(request, "goods_count.html", context)
    if any(line.wrong for line in lines) or all(line.left is None for line in lines):
        context["nothing"] = not any(line.wrong for line in lines)
        return render(request, "goods_count.html", context, status=400)
    if "confirmed" in request.POST:
        pen = Pen(request.user, store.pk, timezone.now())  # type: ignore[arg-type]
        try:
            return _counted(request, pen, lines)
        except NotDone as why:
            messages.error(request, str(why))
            lines = context["lines"] = [*_lines(in_order, request.POST, fresh=True)]
    context |= {
        "act": new_id(),
        "differing": [line for line in lines if line.differs],
        "agree": sum(line.left is not None and not line.differs for line in lines),
        "uncounted": sum(line.left is None for line in lines),
    }
    return render(request, "goods_count_check.html", context)


def _lots(request: HttpRequest) -> QuerySet[LotState]:
    """Of any store: what is left by the book, what the page was made with, and on demand what was used up lately."""
    wanted = Q(left__gt=0) | Q(pk__in=_named(request.POST))
    if "used_up" in request.GET:
        wanted |= Q(received_at__gte=timezone.now() - LATELY)
    rows = LotState.objects.filter(wanted, goods__isnull=False)
    dated_first = F("expires_on").asc(nulls_last=True)
    return rows.order_by("goods__position", "goods", dated_first, "received_at", "lot")


def _named(sent: QueryDict) -> list[UUID]:
    """The lots that the page was made with: somebody may have taken the last of one since, and here it was counted."""
    told = (uuid_in(name.removeprefix("left_")) for name in sent if name.startswith("left_"))
    return [own for own in told if own]


def _lines(rows: Any, sent: QueryDict, *, fresh: bool = False) -> Iterator[Line]:
    """`fresh`: by what the book says now, whatever the page said."""
    day = timezone.localdate()
    for row in rows:
        text, was = sent.get(f"left_{row.pk}", ""), sent.get(f"was_{row.pk}", "")
        left, wrong = _read(text, row)
        shown = saying.lot(row, row.goods, day)
        yield Line(row, shown, text, row.left if fresh else _float(was, row.left), left, wrong)


def _read(text: str, row: LotState) -> tuple[float | None, str]:
    try:
        said = COUNT.clean(text)
        return (None if said is None else counted(said, row.goods)), ""  # type: ignore[arg-type]
    except ValidationError as why:
        return None, " ".join(why.messages)


def _float(text: str, default: float) -> float:
    try:
        return float(text)
    except ValueError:
        return default


def _counted(request: HttpRequest, pen: Pen, lines: list[Line]) -> HttpResponse:
    act = uuid_in(request.POST.get("act"))
    if act and Entry.objects.filter(act=act, verb="counted").exists():
        messages.info(request, _("Already in the book."))
        return redirect(here.at_store(reverse("goods"), pen.store))
    found = {line.row.pk: (line.was, line.left) for line in lines if line.left is not None}
    differed = acting.count(pen, found, act)
    said = ngettext(
        "%(n)d lot counted otherwise than the book had it: it is written down.",
        "%(n)d lots counted otherwise than the book had them: it is written down.",
        differed,
    )
    messages.success(
        request, said % {"n": differed} if differed else _("Everything counted agrees with the book.")
    )
    return redirect(here.at_store(reverse("goods"), pen.store))
