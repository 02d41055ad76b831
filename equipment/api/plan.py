"""`GET /api/plan/<date>/`: what a day asks for, what is fit, what to do the evening before, what stays short."""

from datetime import date
from typing import Any

from django.utils import timezone
from django.utils.translation import gettext as _
from drf_spectacular.utils import OpenApiParameter, extend_schema
from rest_framework import serializers
from rest_framework.request import Request
from rest_framework.response import Response
from rest_framework.views import APIView

from equipment.actions.follow_rules import catch_up
from equipment.actions.shown import stamp
from equipment.api import answers
from equipment.domain.jobs import Gear
from equipment.models.planning import CrewNeed, Evening, Sort, StoreEvening, Task, evening, lendable


class GearOut(serializers.Serializer[Any]):
    """`size` and `hand` are "" where they do not matter or are not known: any piece does."""

    kind = serializers.CharField()
    size = serializers.CharField(allow_blank=True)
    hand = serializers.CharField(allow_blank=True)


class AskedOut(GearOut):
    count = serializers.IntegerField()
    required = serializers.BooleanField(help_text="False: advised.")
    holder = serializers.ChoiceField(["picker", "crew", "spare"])
    by_book = serializers.BooleanField(help_text="The number of spares goes by the book's own swaps.")


class CrewAskedOut(serializers.Serializer[Any]):
    crew = serializers.CharField()
    store = serializers.CharField()
    blocks = serializers.ListField(child=serializers.CharField())
    pickers = serializers.IntegerField()
    asked = AskedOut(many=True)


class SortOut(GearOut):
    """`fit`: so many would do as things stand. `short` before the evening's work, `stays_short` after it, `lacking` of
    what is required. `lends`: store -> how many it could lend."""

    required = serializers.IntegerField()
    advised = serializers.IntegerField()
    fit = serializers.IntegerField()
    short = serializers.IntegerField()
    stays_short = serializers.IntegerField()
    lacking = serializers.IntegerField()
    undecided = serializers.IntegerField()
    lends = serializers.DictField(child=serializers.IntegerField())


class StepOut(serializers.Serializer[Any]):
    """`name` is the fault, the checklist, or the diseases to end."""

    what = serializers.ChoiceField(["mend", "pass", "inspect", "restock", "wash", "sterilise", "dry"])
    name = serializers.CharField(allow_blank=True)


class TaskOut(serializers.Serializer[Any]):
    tag = serializers.CharField()
    place = serializers.CharField()
    required = serializers.BooleanField()
    minutes = serializers.FloatField()
    steps = StepOut(many=True)
    recipe = serializers.CharField(allow_null=True)
    bath = serializers.UUIDField(
        allow_null=True, help_text="One that stands ready; null: to be mixed, or none."
    )


class StorePlanOut(serializers.Serializer[Any]):
    store = serializers.CharField()
    minutes = serializers.FloatField(help_text="Each bath's mixing is in it once.")
    fewer_pickers = serializers.IntegerField(help_text="At least so many cannot begin.")
    gear = SortOut(many=True)
    tasks = TaskOut(many=True)


class PlanOut(serializers.Serializer[Any]):
    """`over`: the day is past, and only what it asked for is told."""

    date = serializers.DateField()
    at = serializers.DateTimeField()
    ready_at = serializers.DateTimeField()
    over = serializers.BooleanField()
    crews = CrewAskedOut(many=True)
    stores = StorePlanOut(many=True)


class PlanView(APIView):
    @extend_schema(
        parameters=[OpenApiParameter("day", date, OpenApiParameter.PATH)],
        responses={200: PlanOut, 400: answers.ErrorOut},
        operation_id="plan",
    )
    def get(self, request: Request, day: str) -> Response:
        """The evening's plan for a day, as things stand."""
        now = timezone.now()
        try:
            asked = date.fromisoformat(day)
        except ValueError:
            raise serializers.ValidationError(_("Write the day as 2026-06-03.")) from None
        catch_up(now)
        return Response(_shown(evening(asked, now)))


def _shown(found: Evening) -> dict[str, Any]:
    return {
        "date": found.day.isoformat(),
        "at": stamp(found.at),
        "ready_at": stamp(found.ready_at),
        "over": found.over,
        "crews": [_crew(need) for need in found.needs],
        "stores": [_store(store, found) for store in found.stores if store.needs],
    }


def _gear(gear: Gear) -> dict[str, str]:
    return {"kind": gear.kind, "size": gear.size, "hand": gear.hand}


def _crew(need: CrewNeed) -> dict[str, Any]:
    return {
        "crew": need.crew.pk,
        "store": need.crew.store_id,
        "blocks": [plan.block_id for plan in need.plans],
        "pickers": len(need.people),
        "asked": [
            {
                **_gear(each.gear),
                "count": each.count,
                "required": each.required,
                "holder": each.holder,
                "by_book": each.by_book,
            }
            for each in need.asked
        ],
    }


def _store(store: StoreEvening, found: Evening) -> dict[str, Any]:
    return {
        "store": store.store.pk,
        "minutes": store.plan.minutes,
        "fewer_pickers": store.fewer_pickers,
        "gear": [_sort(sort, store, found) for sort in store.sorts],
        "tasks": [_task(task, store) for task in store.tasks],
    }


def _sort(sort: Sort, store: StoreEvening, found: Evening) -> dict[str, Any]:
    lends = lendable(found, store.store.pk, sort) if sort.stays_short and not found.over else {}
    counts = ("required", "advised", "fit", "short", "stays_short", "lacking", "undecided")
    return {**_gear(sort.gear), **{name: getattr(sort, name) for name in counts}, "lends": lends}


def _task(task: Task, store: StoreEvening) -> dict[str, Any]:
    dip = store.ways.dips[task.job.bath] if task.job.bath else None
    return {
        "tag": task.piece.tag,
        "place": task.piece.place,
        "required": task.required,
        "minutes": task.job.minutes,
        "steps": [{"what": step.what, "name": step.name} for step in task.piece.steps],
        "recipe": dip.recipe.code if dip else None,
        "bath": str(dip.own) if dip and dip.own else None,
    }
