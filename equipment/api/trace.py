"""`GET /api/trace/`: where gear may have taken a disease that was found in a block."""

from datetime import date, datetime, time
from typing import Any
from uuid import UUID

from django.utils import timezone
from django.utils.translation import gettext as _
from django.utils.translation import gettext_lazy
from drf_spectacular.utils import OpenApiParameter, extend_schema
from rest_framework import serializers
from rest_framework.request import Request
from rest_framework.response import Response
from rest_framework.views import APIView

from crews.models import Block
from equipment.actions.shown import stamp
from equipment.actions.trace import telling
from equipment.actions.trace.running import Found, disease_of, run
from equipment.api import answers
from equipment.catalogue.shapes import Disease
from equipment.domain.disease_trace import Question

MOST_STEPS = 100
STEPS = {"type": "integer", "minimum": 1, "maximum": MOST_STEPS}


class MomentField(serializers.CharField):
    """A day, from its midnight on the farm's clock, or a moment with its offset."""

    default_error_messages = {
        "moment": gettext_lazy("Write a day as 2026-06-03, or a moment with its offset.")
    }

    def to_internal_value(self, data: Any) -> datetime:
        text = super().to_internal_value(data)
        try:
            if len(text) == 10:
                return timezone.make_aware(datetime.combine(date.fromisoformat(text), time.min))
            at = datetime.fromisoformat(text.replace(" ", "+"))
        except (ValueError, OverflowError):
            self.fail("moment")
        if at.tzinfo is None:
            self.fail("moment")
        return at


class Asked(serializers.Serializer[Any]):
    """What may stand in the address."""

    block = serializers.SlugRelatedField(slug_field="code", queryset=Block.objects.all())
    disease = serializers.CharField()
    since = MomentField()
    until = MomentField(required=False)
    chaining = serializers.ChoiceField(["later", "same"], default="later")
    steps = serializers.IntegerField(min_value=1, max_value=MOST_STEPS, required=False)

    def validate_disease(self, code: str) -> Disease:
        disease = disease_of(code)
        if disease is None:
            raise serializers.ValidationError(_("No disease of that name is in the catalogue."))
        return disease

    def validate(self, attrs: dict[str, Any]) -> dict[str, Any]:
        now = timezone.now()
        if attrs["since"] > now:
            raise serializers.ValidationError(
                {"since": _("That day is still to come. Give today or an earlier day.")}
            )
        attrs["until"] = min(attrs.get("until", now), now)
        if attrs["until"] < attrs["since"]:
            raise serializers.ValidationError(
                {"until": _("This is before the day since which it is present.")}
            )
        return attrs


class TracedPieceOut(serializers.Serializer[Any]):
    """`reached_at` is the first time; `carrying`: no cleaning that ends the disease is in the book since the last time.
    `path` says how it came to it, a sentence for each piece on the way."""

    tag = serializers.CharField()
    kind = serializers.CharField()
    place = serializers.CharField()
    store = serializers.CharField(allow_null=True)
    crew = serializers.CharField(allow_null=True)
    reached_at = serializers.DateTimeField()
    carrying = serializers.BooleanField()
    path = serializers.ListField(child=serializers.CharField())


class TracedBlockOut(serializers.Serializer[Any]):
    """`by` is the tag of the piece that came first."""

    block = serializers.CharField()
    reached_at = serializers.DateTimeField()
    by = serializers.CharField()
    path = serializers.ListField(child=serializers.CharField())


class TraceOut(serializers.Serializer[Any]):
    """`carried_by` are the kinds that carry the disease; where there are none, or nothing was reached, `say` is why."""

    disease = serializers.CharField()
    block = serializers.CharField()
    since = serializers.DateTimeField()
    until = serializers.DateTimeField()
    say = serializers.CharField(allow_blank=True)
    carried_by = serializers.ListField(child=serializers.CharField())
    pieces = TracedPieceOut(many=True)
    blocks = TracedBlockOut(many=True)
    cautions = serializers.ListField(child=serializers.CharField())


class TraceView(APIView):
    @extend_schema(
        parameters=[
            OpenApiParameter("block", str, required=True, description="Where it was found."),
            OpenApiParameter("disease", str, required=True, description="Its code in the catalogue."),
            OpenApiParameter(
                "since", str, required=True, description="The first day, or moment, it may have been there."
            ),
            OpenApiParameter(
                "until", str, description="Followed up to this day's begin, or moment; now if left out."
            ),
            OpenApiParameter(
                "chaining",
                str,
                enum=["later", "same"],
                description="Passed on only later, or in the same moment.",
            ),
            OpenApiParameter(
                "steps", STEPS, description="Over so many blocks in a row; to the end if left out."
            ),
        ],
        responses={200: TraceOut, 400: answers.ErrorOut},
        operation_id="trace",
    )
    def get(self, request: Request) -> Response:
        """What gear can have carried it where, each at its earliest, in order of time."""
        asked = Asked(data=request.query_params.dict())
        asked.is_valid(raise_exception=True)
        data = asked.validated_data
        strict = data["chaining"] == "later"
        question = Question(data["block"].pk, data["since"], data["until"], strict, data.get("steps"))
        return Response(_shown(run(data["disease"], question)))


def _shown(found: Found) -> dict[str, Any]:
    asked = found.question
    return {
        "disease": found.disease.code,
        "block": asked.block,
        "since": stamp(asked.since),
        "until": stamp(asked.until),
        "say": telling.no_route(found) or telling.nothing_reached(found),
        "carried_by": [kind.pk for kind in found.kinds],
        "pieces": [_piece(found, piece) for piece in found.pieces],
        "blocks": [_block(found, code) for code, _reach in found.blocks],
        "cautions": telling.cautions(found),
    }


def _piece(found: Found, piece: UUID) -> dict[str, Any]:
    row, life = found.rows[piece], telling.last_life(found, piece)
    return {
        "tag": row.tag,
        "kind": row.item.kind_id,
        "place": row.place,
        "store": row.store_id,
        "crew": row.crew_id,
        "reached_at": stamp(found.first_reached(piece)),
        "carrying": found.trace.carrying(piece),
        "path": telling.path(found, life),
    }


def _block(found: Found, code: str) -> dict[str, Any]:
    return {
        "block": code,
        "reached_at": stamp(found.trace.reached[code].at),
        "by": found.tag(found.brought(code)),
        "path": telling.path(found, code),
    }
