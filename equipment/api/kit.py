"""Kits and the board as JSON."""

from typing import Any

from rest_framework import serializers

from equipment.actions.shown import stamp
from equipment.domain.kit import KitLine
from equipment.models.board import CrewLine
from equipment.models.kits import PickerKit


class KitLineOut(serializers.Serializer[Any]):
    kind = serializers.CharField()
    quantity = serializers.IntegerField()
    need = serializers.ChoiceField(["required", "advised"])
    why = serializers.CharField()


class HeldOut(serializers.Serializer[Any]):
    tag = serializers.CharField()
    kind = serializers.CharField()
    since = serializers.CharField(allow_null=True)


class KitOut(serializers.Serializer[Any]):
    badge = serializers.CharField()
    crew = serializers.CharField(allow_null=True)
    complete = serializers.BooleanField()
    lines = KitLineOut(many=True)
    held = HeldOut(many=True)
    missing = KitLineOut(many=True)
    waived = serializers.ListField(child=serializers.CharField())


class OverdueOut(HeldOut):
    crew = serializers.CharField()


class BoardLineOut(serializers.Serializer[Any]):
    crew = serializers.CharField()
    blocks = serializers.ListField(child=serializers.CharField())
    pickers = serializers.IntegerField()
    served = serializers.IntegerField()
    complete = serializers.IntegerField()
    out = serializers.IntegerField()
    overdue = OverdueOut(many=True)


class BoardOut(serializers.Serializer[Any]):
    date = serializers.DateField()
    crews = BoardLineOut(many=True)


def line(each: KitLine) -> dict[str, Any]:
    return {"kind": each.kind, "quantity": each.quantity, "need": each.need, "why": each.why}


def kit_card(kit: PickerKit, badge: str) -> dict[str, Any]:
    return {
        "badge": badge,
        "crew": kit.crew,
        "complete": kit.complete,
        "lines": [line(each) for each in kit.lines],
        "held": [{"tag": s.tag, "kind": s.item.kind_id, "since": stamp(s.since)} for s in kit.held],
        "missing": [line(each) for each in kit.missing],
        "waived": sorted(kit.waived),
    }


def board_line(each: CrewLine) -> dict[str, Any]:
    return {
        "crew": each.crew.pk,
        "blocks": [plan.block_id for plan in each.plans],
        "pickers": each.pickers,
        "served": each.served,
        "complete": each.complete,
        "out": each.out,
        "overdue": [
            {"tag": s.tag, "kind": s.item.kind_id, "since": stamp(s.since), "crew": s.crew_id}
            for s in each.overdue
        ],
    }
