"""The scanning page of a stocktake: everybody who counts has it open, and each scan is answered."""

import json
from datetime import datetime
from typing import Any
from uuid import UUID

from django.contrib import messages
from django.http import Http404, HttpRequest, HttpResponse, JsonResponse
from django.shortcuts import redirect, render
from django.utils import timezone
from django.utils.translation import gettext as _
from django.views.decorators.csrf import ensure_csrf_cookie
from django.views.decorators.http import require_GET, require_POST

from equipment.actions.batch import SKEW_TOLERATED
from equipment.actions.stocktake.scan import MOST, Scan, take, unscan
from equipment.actions.wording import NotDone
from equipment.actions.writing import new_id
from equipment.domain.codes import LONGEST_TEXT
from equipment.models import Stocktake, stocktaking
from equipment.pages.keys import moment, uuid_in
from equipment.pages.links import link
from equipment.pages.stocktake import words
from equipment.pages.stocktake.answers import answers
from equipment.pages.stocktake.script import UNDO, for_script
from equipment.pages.stocktake.words import Names

LATELY = 8


def one(pk: UUID) -> Stocktake:
    """Raises Http404."""
    own = (
        Stocktake.objects.select_related("store", "begun_by", "ended_by")
        .defer("result")
        .filter(pk=pk)
        .first()
    )
    if own is None:
        raise Http404
    return own


@ensure_csrf_cookie
@require_GET
def stocktake(request: HttpRequest, pk: UUID) -> HttpResponse:
    own = one(pk)
    if own.ended_at is not None:
        return redirect("stocktake_settle", pk)
    goods = link(request.user, "goods_count", query=f"store={own.store_id}")  # type: ignore[arg-type]
    script = for_script(request, own)
    context = {"own": own, "script": script, "undo": UNDO, "scan": new_id(), "goods": goods, **shown(own)}
    return render(request, "stocktake.html", context)


@require_GET
def stocktake_lines(request: HttpRequest, pk: UUID) -> HttpResponse:
    """How far it has come, for the page to keep fresh."""
    own = one(pk)
    return render(request, "_partials/stocktake_progress.html", {"own": own, **shown(own)})


def shown(own: Stocktake) -> dict[str, Any]:
    found = stocktaking.count(own)
    seen = sorted((line for line in found.lines.values() if line.seen), key=_when_seen, reverse=True)[:LATELY]
    names = Names(seen)
    lately = [
        {
            "tag": line.tag,
            "kind": names.kinds[line.kind],
            "told": names.told(line.seen),
            "wants": line.surprise,
        }
        for line in seen
        if line.seen
    ]
    return {
        "total": words.progress(found),
        "sums": found.sums,
        "lately": lately,
        "counted": words.counted(own),
    }


def _when_seen(line: stocktaking.Line) -> datetime:
    return line.seen.at if line.seen else datetime.min


@require_POST
def stocktake_scan(request: HttpRequest, pk: UUID) -> HttpResponse:
    """One scan, by a page without scripts."""
    own, now = one(pk), timezone.now()
    scan = Scan(uuid_in(request.POST.get("id")) or new_id(), request.POST.get("text", "")[:LONGEST_TEXT], now)
    (answer,) = answers(own, take(own, [scan], request.user, now))  # type: ignore[arg-type]
    say = " ".join(filter(None, (f"{answer['tag']}: {answer['say']}.", *answer["why"], answer["instead"])))
    {"yes": messages.success, "note": messages.info}.get(answer["outcome"], messages.error)(request, say)
    return redirect("stocktake", pk)


@require_POST
def stocktake_scans(request: HttpRequest, pk: UUID) -> JsonResponse:
    """What the script sends: `{sent_at, scans: [{id, text, at}]}`, each answered in order."""
    own, now = one(pk), timezone.now()
    try:
        scans = _read(request.body, now)
    except (ValueError, TypeError, AttributeError, KeyError, RecursionError):
        return JsonResponse({"say": _("This cannot be read.")}, status=400)
    return JsonResponse({"answers": answers(own, take(own, scans, request.user, now))})  # type: ignore[arg-type]


def _read(body: bytes, now: datetime) -> list[Scan]:
    """Times as the device tells them, less what its clock is off by more than two minutes."""
    asked = json.loads(body)
    sent, scans = moment(str(asked["sent_at"])), asked["scans"]
    if sent is None or not isinstance(scans, list) or len(scans) > MOST:
        raise ValueError
    off = now - sent
    skew = off if abs(off) > SKEW_TOLERATED else now - now
    return [_scan(each, skew, now) for each in scans]


def _scan(each: Any, skew: Any, now: datetime) -> Scan:
    at = moment(str(each["at"])) or now
    return Scan(UUID(str(each["id"])), str(each["text"])[:LONGEST_TEXT].replace("\x00", ""), at + skew)


@require_POST
def stocktake_unscan(request: HttpRequest, pk: UUID) -> JsonResponse:
    try:
        tag = unscan(one(pk), uuid_in(request.POST.get("id")) or new_id(), request.user, timezone.now())  # type: ignore[arg-type]
    except NotDone as why:
        return JsonResponse({"done": False, "say": str(why)})
    return JsonResponse({"done": True, "tag": tag})
