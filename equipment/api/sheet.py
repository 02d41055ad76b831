"""`GET /api/crews/<code>/sheet/`: what a phone takes along into the orchard."""

import json
from datetime import date, datetime
from hashlib import sha256
from typing import Any

from django.http import HttpResponse
from django.shortcuts import get_object_or_404
from django.utils import timezone
from django.utils.cache import get_conditional_response
from drf_spectacular.utils import OpenApiParameter, OpenApiResponse, extend_schema
from rest_framework import serializers
from rest_framework.request import Request
from rest_framework.views import APIView

from equipment.actions.leading import leads
from equipment.actions.shown import stamp
from equipment.api import answers
from equipment.api.lists import code as as_written
from equipment.models.sheet import readable, sheet

# The page keeps its own copy, and takes it away again; a browser's cache would not.
CACHE = "private, no-store"


class NamedCrewOut(serializers.Serializer[Any]):
    """`own`: whoever asks leads it, or has taken it over."""

    code = serializers.CharField()
    name = serializers.CharField()
    own = serializers.BooleanField()


class MemberOut(serializers.Serializer[Any]):
    picker = serializers.IntegerField()
    badge = serializers.CharField(allow_null=True)
    number = serializers.CharField()
    hand = serializers.CharField(allow_blank=True)
    glove_size = serializers.CharField(allow_blank=True)
    boot_size = serializers.CharField(allow_blank=True)
    overall_size = serializers.CharField(allow_blank=True)


class OtherPickerOut(serializers.Serializer[Any]):
    picker = serializers.IntegerField()
    badge = serializers.CharField(allow_null=True)
    number = serializers.CharField()
    crew = serializers.CharField()


class SheetItemOut(serializers.Serializer[Any]):
    """`state` is the item's fold, `void` {cleaning: why it does not count}."""

    tag = serializers.CharField()
    id = serializers.UUIDField()
    kind = serializers.CharField()
    size = serializers.CharField(allow_blank=True)
    hand = serializers.CharField(allow_blank=True)
    set = serializers.CharField(allow_null=True)
    state = serializers.DictField()
    void = serializers.DictField(child=serializers.CharField())


class SheetBathOut(serializers.Serializer[Any]):
    bath = serializers.UUIDField()
    state = serializers.DictField()
    dipped = serializers.IntegerField()


class SheetPlanOut(serializers.Serializer[Any]):
    date = serializers.DateField()
    part = serializers.ChoiceField(["day", "morning", "afternoon"])
    block = serializers.CharField()
    clipped = serializers.BooleanField()
    state = serializers.CharField()


class SheetBlockOut(serializers.Serializer[Any]):
    code = serializers.CharField()
    name = serializers.CharField(allow_blank=True)
    crop = serializers.CharField()
    tall_trees = serializers.BooleanField()


def _rows() -> serializers.ListField:
    return serializers.ListField(child=serializers.DictField())


class SheetOut(serializers.Serializer[Any]):
    """Inputs only: states as the book folds them, plans, and the rules that say what follows. No picker's name."""

    v = serializers.IntegerField()
    day = serializers.DateField()
    time_zone = serializers.CharField()
    store = serializers.CharField()
    crew = NamedCrewOut()
    crews = NamedCrewOut(many=True)
    state = serializers.DictField()
    members = MemberOut(many=True)
    other_pickers = OtherPickerOut(many=True)
    stood_in = serializers.ListField(
        child=serializers.ListField(), help_text="[picker, kind, time] of today's hand-outs."
    )
    plans = SheetPlanOut(many=True)
    blocks = SheetBlockOut(many=True)
    items = SheetItemOut(many=True)
    other_visits = serializers.DictField(child=_rows())
    baths = SheetBathOut(many=True)
    kinds = _rows()
    faults = _rows()
    checklists = _rows()
    recipes = _rows()
    cautions = _rows()
    rules = serializers.DictField()
    kit = _rows()


class SheetView(APIView):
    @extend_schema(
        operation_id="crew_sheet",
        parameters=[
            OpenApiParameter("If-None-Match", str, OpenApiParameter.HEADER, description="The last ETag.")
        ],
        responses={
            200: SheetOut,
            304: OpenApiResponse(description="As it was: the ETag still stands."),
            404: answers.ErrorOut,
        },
    )
    def get(self, request: Request, code: str) -> HttpResponse:
        """All that a phone needs of a crew for a day offline. Its ETag is the digest of the body."""
        crew = get_object_or_404(readable(request.user), pk=as_written(code))
        own = leads(request.user, timezone.now())
        body = plain(sheet(crew, own, timezone.localdate()))
        etag = f'"{sha256(body).hexdigest()}"'
        headers = {"ETag": etag, "Cache-Control": CACHE}
        response = HttpResponse(body, content_type="application/json", headers=headers)
        return get_conditional_response(request._request, etag=etag, response=response)


def plain(found: dict[str, Any]) -> bytes:
    """The same sheet as the same bytes, in whatever order a database gives its JSON back."""
    return json.dumps(
        found, default=_told, ensure_ascii=False, separators=(",", ":"), sort_keys=True
    ).encode()


def _told(value: Any) -> Any:
    """Times as everywhere in the API: UTC."""
    if isinstance(value, datetime):
        return stamp(value)
    if isinstance(value, date):
        return value.isoformat()
    return sorted(value) if isinstance(value, frozenset) else str(value)
