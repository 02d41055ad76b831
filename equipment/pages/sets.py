"""Sets: what is packed under each tag tonight, packing by scan, taking a piece out."""

from collections import defaultdict

from django.contrib import messages
from django.http import Http404, HttpRequest, HttpResponse
from django.shortcuts import redirect, render
from django.utils import timezone
from django.utils.translation import gettext as _
from django.utils.translation import ngettext
from django.views.decorators.http import require_POST

from crews.models import Store
from equipment.actions import pack_set
from equipment.actions.wording import filled
from equipment.actions.writing import Pen
from equipment.domain import codes
from equipment.models import GearSet, ItemState
from equipment.models.reading import items


def _contents() -> dict[str, list[ItemState]]:
    packed = defaultdict(list)
    for state in (
        ItemState.objects.exclude(packed_in=None).select_related("item__kind").order_by("tag").defer("fold")
    ):
        packed[state.packed_in_id].append(state)
    return packed


def sets(request: HttpRequest) -> HttpResponse:
    """All set tags with their pieces; a scanned set opens."""
    if scanned := request.GET.get("scan", "").strip():
        return _opened(request, scanned)
    packed = _contents()
    rows = [
        {"code": code, "pieces": packed.get(code, [])}
        for code in GearSet.objects.values_list("pk", flat=True)
    ]
    rows.sort(key=lambda row: (not row["pieces"], row["code"]))
    return render(request, "sets.html", {"sets": rows})


def _opened(request: HttpRequest, scanned: str) -> HttpResponse:
    try:
        code = codes.parse(scanned)
    except codes.BadCode as error:
        messages.error(request, filled(error.message, error.params))
        return redirect("sets")
    if code.prefix != codes.SET:
        messages.error(request, _("%(code)s is not a set's tag.") % {"code": code.text})
        return redirect("sets")
    return redirect("set", code.text)


def one_set(request: HttpRequest, code: str) -> HttpResponse:
    """One set: scan pieces into it."""
    if not GearSet.objects.filter(pk=code).exists():
        raise Http404
    if request.method == "POST":
        packed = pack_set.pack(_pen(request), code, request.POST.get("tags", "").split()[:200])
        for words in packed.refused:
            messages.error(request, words)
        if packed.tags:
            said = ngettext("%(count)d piece is packed.", "%(count)d pieces are packed.", len(packed.tags))
            messages.success(request, said % {"count": len(packed.tags)})
        return redirect("set", code)
    return render(request, "set.html", {"code": code, "pieces": _contents().get(code, [])})


@require_POST
def unpack(request: HttpRequest, code: str, tag: str) -> HttpResponse:
    state = items(timezone.localdate(), request.user).filter(tag=tag, packed_in=code).first()
    if state is None:
        raise Http404
    if why := pack_set.unpack(_pen(request), state):
        messages.error(request, why)
    return redirect("set", code)


def _pen(request: HttpRequest) -> Pen:
    store = request.user.store_id or Store.objects.values_list("pk", flat=True).first()
    return Pen(request.user, store, timezone.now())
