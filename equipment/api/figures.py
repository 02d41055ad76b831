"""`GET /api/figures/<name>/`: what the book tells about spares, lifetimes, purchases and costs."""

from datetime import date
from typing import Any

from django.utils import timezone
from django.utils.translation import gettext as _
from drf_spectacular.utils import OpenApiParameter, extend_schema
from rest_framework import serializers
from rest_framework.exceptions import NotFound, PermissionDenied
from rest_framework.request import Request
from rest_framework.response import Response
from rest_framework.views import APIView

from crews import policy
from equipment.actions.shown import stamp
from equipment.api import answers
from equipment.documents.figures import Figure, around, page_of, read
from equipment.models.charts import Window

LONGEST_DAYS = 3660


class Asked(serializers.Serializer[Any]):
    """What may stand in the address."""

    first = serializers.DateField(required=False)
    last = serializers.DateField(required=False)

    def validate(self, attrs: dict[str, Any]) -> dict[str, Any]:
        last: date = attrs.get("last") or timezone.localdate()
        first: date = attrs.get("first") or last.replace(day=1)
        if first > last:
            raise serializers.ValidationError({"first": _("The first day comes after the last one.")})
        if (last - first).days > LONGEST_DAYS:
            raise serializers.ValidationError(
                {"first": _("That is more than ten years. Ask for fewer days.")}
            )
        return {"first": first, "last": last}


class FigureOut(serializers.Serializer[Any]):
    """`about` says what it was computed from, `say` what follows from it; `results` are lines of numbers, their names
    the same in each line of a figure. null: there is none, or it is without limit."""

    name = serializers.CharField()
    title = serializers.CharField()
    about = serializers.CharField()
    say = serializers.ListField(child=serializers.CharField())
    results = serializers.ListField(child=serializers.DictField())


class FiguresOut(serializers.Serializer[Any]):
    """`level` is a fraction: how sure spares and purchases last."""

    name = serializers.CharField()
    at = serializers.DateTimeField()
    level = serializers.FloatField()
    figures = FigureOut(many=True)


class FiguresView(APIView):
    @extend_schema(
        parameters=[
            OpenApiParameter(
                "name",
                str,
                OpenApiParameter.PATH,
                description="spares, lifetimes, purchases, costs, or lifetimes- with the code of a kind.",
            ),
            OpenApiParameter("first", date, description="Of costs: the first day; else that of the month."),
            OpenApiParameter("last", date, description="Of costs: the last day; else today."),
        ],
        responses={
            200: FiguresOut,
            400: answers.ErrorOut,
            403: answers.ErrorOut,
            404: answers.ErrorOut,
        },
        operation_id="figures",
    )
    def get(self, request: Request, name: str) -> Response:
        """What the book tells now, with limits; every figure says what it was computed from."""
        asked = Asked(data=request.query_params.dict())
        asked.is_valid(raise_exception=True)
        beside = around(timezone.now())
        page = page_of(name, beside)
        if page is None:
            raise NotFound(_("There are no such figures."))
        if page.register and not policy.may_print(request.user, page.register):
            raise PermissionDenied
        days = asked.validated_data
        beside, found = read(page, beside, Window(days["first"], days["last"]))
        return Response(
            {
                "name": name,
                "at": stamp(beside.at),
                "level": beside.chosen.level,
                "figures": [_shown(each) for each in found],
            }
        )


def _shown(figure: Figure) -> dict[str, Any]:
    return {
        "name": figure.name,
        "title": figure.title,
        "about": figure.about,
        "say": [*figure.says, *figure.waits],
        "results": [dict(line) for line in figure.lines],
    }
