"""The To settle page. Everything done here is a line of the book, or stays with the kept note for ever."""

from collections.abc import Callable
from typing import Any
from uuid import UUID

from django.contrib import messages
from django.db.models import Q
from django.http import Http404, HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.urls import reverse
from django.utils import timezone
from django.utils.translation import gettext as _
from django.utils.translation import ngettext

from crews import policy
from crews.models import Device
from equipment.actions import settle, settle_kept
from equipment.actions.settle import Contested
from equipment.actions.wording import NotDone
from equipment.actions.writing import Pen
from equipment.models import Discrepancy, Entry, KeptEntry
from equipment.pages.settle.filters import LINES, NarrowForm, discrepancies, kept_entries
from equipment.pages.settle.lists import kept_lines, lines, settled_lines

LISTS = ("open", "kept", "settled")
MOST_SETTLED = 25
MOST_NOTE = 500


def to_settle(request: HttpRequest) -> HttpResponse:
    shown = request.GET.get("list")
    counts = {
        "open": Discrepancy.objects.filter(settled=False).count(),
        "kept": KeptEntry.objects.waiting().count(),
    }
    if shown not in LISTS:
        shown = "kept" if counts["kept"] and not counts["open"] else "open"
    form = NarrowForm(request.GET, kept=shown == "kept")
    fill = {"open": _open, "kept": _kept, "settled": _settled}[shown]
    context = {"shown": shown, "counts": counts, "form": form, "narrowed": bool(form.asked)}
    return render(request, "settle.html", {**context, **fill(request, form), "back": request.get_full_path()})


def _open(request: HttpRequest, form: NarrowForm) -> dict[str, Any]:
    """In the order of their lines' ids, which is nearly that of their times. A row is written anew with its subject, so
    its own number says nothing."""
    rows = discrepancies(form.asked, timezone.now()).order_by("entry_id", "code")
    code, _colon, text = request.GET.get("after", "").rpartition(":")
    after = _uuid(text)
    if after is not None:
        rows = rows.filter(Q(entry_id__gt=after) | Q(entry_id=after, code__gt=code))
    page = list(rows[: LINES + 1])
    here = Discrepancy.objects.filter(pk__in=[row.pk for row in page[:LINES]]).order_by("entry_id", "code")
    turning = _turning(request, [row.key for row in page], after is not None)
    return {"lines": lines(here, request.user), **turning}


def _kept(request: HttpRequest, form: NarrowForm) -> dict[str, Any]:
    after = _after(request)
    rows = kept_entries(form.asked, timezone.now()).order_by("pk")
    page = list((rows.filter(pk__gt=after) if after else rows)[: LINES + 1])
    shown = page[:LINES]
    revoked = {row.device for row in shown if row.revoked}
    waiting = settle_kept.waiting_of(device.pk for device in revoked)
    phones = [{"device": each, "count": waiting.get(each.pk, 0)} for each in sorted(revoked, key=str)]
    may = policy.may_open(request.user, "settle_phone", "POST")
    turning = _turning(request, [str(row.pk) for row in page], after > 0)
    return {"lines": kept_lines(shown, request.user), "phones": phones if may else [], **turning}


def _settled(request: HttpRequest, form: NarrowForm) -> dict[str, Any]:
    rows = discrepancies(form.asked, timezone.now(), settled=True).order_by("-entry_id")
    newest = Discrepancy.objects.filter(pk__in=list(rows.values_list("pk", flat=True)[:MOST_SETTLED]))
    pairs = settled_lines(newest, request.user, MOST_SETTLED)
    return {"lines": [{"line": line, "entry": entry} for line, entry in pairs]}


def _after(request: HttpRequest) -> int:
    text = request.GET.get("after", "")
    return int(text) if text.isascii() and text.isdigit() and len(text) < 16 else 0


def _uuid(text: str) -> UUID | None:
    try:
        return UUID(text)
    except ValueError:
        return None


def _turning(request: HttpRequest, page: list[str], after: bool) -> dict[str, str | None]:
    """Where the next page is, and the first where this is not it."""
    query = request.GET.copy()
    query.pop("after", None)
    first = f"?{query.urlencode()}" if after else None
    if len(page) <= LINES:
        return {"next_url": None, "first_url": first}
    query["after"] = page[LINES - 1]
    return {"next_url": f"?{query.urlencode()}", "first_url": first}


def settle_one(request: HttpRequest, code: str, entry: UUID) -> HttpResponse:
    """One discrepancy, by the way that was chosen."""
    found = Discrepancy.objects.filter(code=code, entry_id=entry).first()
    if found is None:
        messages.info(request, _("It has explained itself meanwhile."))
        return redirect(_back(request))
    one = _contested(found)
    pen = Pen(request.user, _store_of(request, one), timezone.now())
    note = request.POST.get("note", "")[:MOST_NOTE].strip()
    done = _("Settled, and written in the book.")
    return _do(request, lambda: settle.settle(pen, one, request.POST.get("choice", ""), note), done)


def settle_again(request: HttpRequest, pk: UUID) -> HttpResponse:
    """A settled one is opened again."""
    entry = get_object_or_404(Entry, pk=pk, verb="settled")
    pen = Pen(request.user, entry.store_id, timezone.now())
    return _do(request, lambda: settle.open_again(pen, entry), _("It is open again."))


def settle_kept_one(request: HttpRequest, pk: int, what: str) -> HttpResponse:
    """A kept note: `again` tries it, `new` gives it a new number, `aside` leaves it out with a why."""
    kept = get_object_or_404(KeptEntry.objects.select_related("by", "device"), pk=pk)
    now = timezone.now()
    if what == "again":
        return _do(request, lambda: settle_kept.try_again(kept, now), _("It is in the book now."))
    if what == "new":
        return _do(
            request, lambda: settle_kept.renumber(kept, request.user, now), _("It is in the book now.")
        )
    why = request.POST.get("why", "")
    done = _("Left out. It is kept, with the why.")
    return _do(request, lambda: settle_kept.set_aside(kept, request.user, why, now), done)


def settle_take(request: HttpRequest, pk: int) -> HttpResponse:
    """A kept note is let in by an officer."""
    kept = get_object_or_404(KeptEntry.objects.select_related("by", "device"), pk=pk)
    now = timezone.now()
    return _do(request, lambda: settle_kept.take_in(kept, request.user, now), _("It is in the book now."))


def settle_phone(request: HttpRequest, pk: UUID) -> HttpResponse:
    """All that waits of one phone is let in by an officer."""
    phone = get_object_or_404(Device, pk=pk)
    went_in, left = settle_kept.take_in_all(phone.pk, request.user, timezone.now())
    said = ngettext("%(n)d line went in.", "%(n)d lines went in.", went_in) % {"n": went_in}
    messages.success(request, said)
    if left:
        stays = ngettext(
            "%(n)d line could not go in, and waits.", "%(n)d lines could not go in, and wait.", left
        )
        messages.warning(request, stays % {"n": left})
    return redirect(_back(request))


def _contested(found: Discrepancy) -> Contested:
    entries = Entry.objects.select_related("device", "by").in_bulk([found.entry_id])
    one = settle.contested([found], entries)
    if not one:
        raise Http404
    return one[0]


def _store_of(request: HttpRequest, one: Contested) -> str:
    """In whose book it is written: that of the store where the piece belongs, else where the line was."""
    return str(getattr(one.state, "store", None) or one.entry.store_id)


def _do(request: HttpRequest, act: Callable[[], None], done: str) -> HttpResponse:
    try:
        act()
    except NotDone as why:
        messages.error(request, str(why))
    else:
        messages.success(request, done)
    return redirect(_back(request))


def _back(request: HttpRequest) -> str:
    """The list that the form stood on, never another site."""
    query = request.POST.get("back", "")
    page = reverse("settle")
    return query if query == page or query.startswith(f"{page}?") else page
