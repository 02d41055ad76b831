"""The reading endpoints."""

from datetime import date
from typing import Any

from django.db.models import QuerySet
from django.http import Http404
from django.utils import timezone
from django.utils.translation import gettext as _
from drf_spectacular.utils import OpenApiParameter, extend_schema
from rest_framework import generics, serializers
from rest_framework.request import Request
from rest_framework.response import Response
from rest_framework.views import APIView

from crews.models import Block, Crew, Picker, Store
from equipment.actions import references, shown
from equipment.api import answers, gear
from equipment.api.filters import ItemFilter, PickerFilter
from equipment.api.kit import BoardOut, KitOut, board_line, kit_card
from equipment.domain import codes
from equipment.models import Entry, ItemState
from equipment.models.board import board
from equipment.models.kits import kits
from equipment.models.reading import crews, items, pickers


class ItemList(generics.ListAPIView[ItemState]):
    """Items in the order of their ids; a supervisor sees those of their own crews."""

    serializer_class = gear.ItemOut
    filterset_class = ItemFilter
    queryset = ItemState.objects.none()

    def get_queryset(self) -> QuerySet[ItemState]:
        # What was registered by mistake, and that was taken back, has no tag any more.
        return items(timezone.localdate(), self.request.user).exclude(tag="")


class ItemLife(APIView):
    @extend_schema(responses={200: gear.ItemOut, 404: answers.ErrorOut}, operation_id="item_life")
    def get(self, request: Request, tag: str) -> Response:
        """One item, found by its label or an older one, with its whole life."""
        state = items(timezone.localdate(), request.user).filter(item__labels__code=code(tag)).first()
        if state is None:
            raise Http404
        entries = list(
            Entry.objects.filter(item=state.item_id)
            .select_related("by", "written_note")
            .order_by("happened_at", "device", "device_seq", "id")
        )
        people = {entry.picker_id for entry in entries if entry.picker_id is not None}
        return Response(gear.life(state, entries, shown.badges_of(people, timezone.localdate())))


class PickerOut(serializers.ModelSerializer[Picker]):
    badge = serializers.CharField(allow_null=True)
    crew = serializers.CharField(allow_null=True)

    class Meta:
        model = Picker
        fields = "badge crew number name hand glove_size boot_size overall_size".split()


class PickerList(generics.ListAPIView[Picker]):
    serializer_class = PickerOut
    filterset_class = PickerFilter
    queryset = Picker.objects.none()

    def get_queryset(self) -> QuerySet[Picker]:
        return pickers(timezone.localdate(), self.request.user)


class PickerKit(APIView):
    @extend_schema(
        parameters=[OpenApiParameter("date", date, description="The farm's day; today where absent.")],
        responses={200: KitOut, 400: answers.ErrorOut, 404: answers.ErrorOut},
        operation_id="picker_kit",
    )
    def get(self, request: Request, badge: str) -> Response:
        """What the plan of the day asks of the picker with this card, what they hold, and what is still to give."""
        day = _day(request)
        picker = pickers(day, request.user).filter(badge=code(badge)).first()
        if picker is None:
            raise Http404
        return Response(kit_card(kits([picker], day)[0], code(badge)))


class CrewOut(serializers.ModelSerializer[Crew]):
    store = serializers.CharField(source="store_id")
    supervisor = serializers.CharField(source="supervisor.username", allow_null=True, default=None)

    class Meta:
        model = Crew
        fields = "code name store supervisor active".split()


class CrewList(generics.ListAPIView[Crew]):
    serializer_class = CrewOut
    queryset = Crew.objects.none()

    def get_queryset(self) -> QuerySet[Crew]:
        return crews(self.request.user).select_related("supervisor")


class BlockOut(serializers.ModelSerializer[Block]):
    class Meta:
        model = Block
        fields = "code name crop variety tall_trees hectares farm".split()


class BlockList(generics.ListAPIView[Block]):
    serializer_class = BlockOut
    queryset = Block.objects.all()


class StoreOut(serializers.ModelSerializer[Store]):
    class Meta:
        model = Store
        fields = ("code", "name")


class StoreList(generics.ListAPIView[Store]):
    serializer_class = StoreOut
    queryset = Store.objects.all()


class BoardView(APIView):
    @extend_schema(responses=BoardOut, operation_id="board")
    def get(self, request: Request) -> Response:
        """Today by crew: pickers, served, complete, out, and what is overdue from earlier days."""
        day = timezone.localdate()
        lines = board(day, crews(request.user).values_list("pk", flat=True))
        return Response({"date": day, "crews": [board_line(line) for line in lines]})


def code(text: str) -> str:
    """A code from a URL as the book writes it; one that was misread finds nothing."""
    try:
        found = references.normal(text)
    except codes.WrongCheck:
        raise Http404 from None
    if not found.isprintable():
        raise Http404
    return found


def _day(request: Request) -> date:
    asked: Any = request.query_params.get("date")
    if asked is None:
        return timezone.localdate()
    day: date = serializers.DateField().run_validation(asked)
    if not 1970 <= day.year < 2200:
        raise serializers.ValidationError({"date": [_("A day from 1970 to 2199.")]})
    return day
