"""`GET /api/overdue/`: what is out and must be cleaned, now or soon."""

import base64
import binascii
from datetime import UTC, datetime, timedelta
from typing import Any
from uuid import UUID

from django.utils import timezone
from django.utils.translation import gettext as _
from drf_spectacular.utils import OpenApiParameter, extend_schema
from rest_framework import serializers
from rest_framework.exceptions import NotFound
from rest_framework.request import Request
from rest_framework.response import Response
from rest_framework.utils.urls import replace_query_param
from rest_framework.views import APIView

from equipment.actions.shown import stamp
from equipment.api import answers
from equipment.api.pagination import KeysetPages
from equipment.models.overdue import Page, Piece, pieces

MOST_MINUTES = 7 * 24 * 60
MINUTE = timedelta(minutes=1)
WITHIN = {"type": "integer", "minimum": 0, "maximum": MOST_MINUTES}
LIMIT = {"type": "integer", "minimum": 1, "maximum": KeysetPages.max_page_size}


class Asked(serializers.Serializer[Any]):
    """What may stand in the address."""

    within = serializers.IntegerField(min_value=0, max_value=MOST_MINUTES, default=0)
    limit = serializers.IntegerField(
        min_value=1, max_value=KeysetPages.max_page_size, default=KeysetPages.page_size
    )


class OverduePieceOut(serializers.Serializer[Any]):
    """`picker` is the badge of the day, `block` where the crew is now. `overdue_minutes` is below zero for what will
    fall due in so many."""

    tag = serializers.CharField()
    kind = serializers.CharField()
    store = serializers.CharField(allow_null=True)
    place = serializers.CharField()
    picker = serializers.CharField(allow_null=True)
    crew = serializers.CharField(allow_null=True)
    block = serializers.CharField(allow_null=True)
    method = serializers.ChoiceField(["sterilise", "wash", "dry"])
    due_at = serializers.DateTimeField()
    cause = serializers.CharField()
    overdue_minutes = serializers.IntegerField()


class OverduePage(serializers.Serializer[Any]):
    results = OverduePieceOut(many=True)
    next = serializers.URLField(allow_null=True)


class OverdueView(APIView):
    @extend_schema(
        parameters=[
            OpenApiParameter(
                "within", WITHIN, description="What falls due in so many minutes, too (0 to 10080)."
            ),
            OpenApiParameter("limit", LIMIT, description="Pieces a page (1 to 500)."),
            OpenApiParameter("cursor", str, description="Where the page before ended, from its `next`."),
        ],
        responses={200: OverduePage, 400: answers.ErrorOut, 404: answers.ErrorOut},
        operation_id="overdue",
    )
    def get(self, request: Request) -> Response:
        """Items out whose cleaning is due, the longest due first; a supervisor sees those of their own crews."""
        asked = Asked(data=request.query_params.dict())
        asked.is_valid(raise_exception=True)
        size, at = asked.validated_data["limit"], timezone.now()
        after = _after(request.query_params.get("cursor"))
        within = asked.validated_data["within"] * MINUTE
        found = pieces(request.user, at, within, Page(size + 1, after))
        more = _next(request, found[size - 1]) if len(found) > size else None
        return Response({"results": [_shown(each, at) for each in found[:size]], "next": more})


def _shown(each: Piece, at: datetime) -> dict[str, Any]:
    first = each.first
    return {
        "tag": each.tag,
        "kind": each.kind,
        "store": each.store,
        "place": each.place,
        "picker": each.picker,
        "crew": each.crew,
        "block": each.block,
        "method": first.method,
        "due_at": stamp(first.at),
        "cause": first.cause,
        "overdue_minutes": (at - first.at) // MINUTE,
    }


def _next(request: Request, last: Piece) -> str:
    key = f"{last.due_at.isoformat()}|{last.item}"
    cursor = base64.urlsafe_b64encode(key.encode()).decode()
    return replace_query_param(request.build_absolute_uri(), "cursor", cursor)


def _after(cursor: str | None) -> tuple[datetime, UUID] | None:
    """Raises NotFound for what is no cursor of ours."""
    if not cursor:
        return None
    try:
        at, _bar, item = base64.urlsafe_b64decode(cursor.encode()).decode().partition("|")
        return datetime.fromisoformat(at).astimezone(UTC), UUID(item)
    except (ValueError, OverflowError, binascii.Error):
        raise NotFound(_("There is no such page.")) from None
