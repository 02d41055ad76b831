"""Items as the API lists them."""

from typing import Any

from rest_framework import serializers

from equipment.actions import shown
from equipment.models import Entry, ItemState


class ItemOut(serializers.ModelSerializer[ItemState]):
    """`picker` is the badge of the day of whoever has the item."""

    kind = serializers.CharField(source="item.kind_id")
    store = serializers.CharField(source="store_id", allow_null=True)
    picker = serializers.CharField(source="badge", allow_null=True, default=None)
    crew = serializers.CharField(source="crew_id", allow_null=True)
    set = serializers.CharField(source="packed_in_id", allow_null=True)
    make = serializers.CharField(source="item.make")
    size = serializers.CharField(source="item.size")
    hand = serializers.CharField(source="item.hand")
    owner = serializers.CharField(source="item.owner")

    class Meta:
        model = ItemState
        fields = (
            "tag kind store place picker crew set since wet fit reasons due_at make size hand owner".split()
        )


class LineOut(serializers.ModelSerializer[Entry]):
    """One line of an item's life. People stand in it by badge only, those who recorded it by user name."""

    store = serializers.CharField(source="store_id")
    crew = serializers.CharField(source="crew_id", allow_null=True)
    block = serializers.CharField(source="block_id", allow_null=True)
    picker = serializers.SerializerMethodField()
    by = serializers.CharField(source="by.username")
    note = serializers.SerializerMethodField()
    reversed = serializers.SerializerMethodField()

    class Meta:
        model = Entry
        fields = (
            "id store position verb detail picker crew block act by device "
            "happened_at recorded_at note reversed"
        ).split()

    def get_picker(self, entry: Entry) -> str | None:
        return self.context["badges"].get(entry.picker_id)

    def get_note(self, entry: Entry) -> str:
        note = getattr(entry, "written_note", None)
        return note.text if note else ""

    def get_reversed(self, entry: Entry) -> bool:
        return str(entry.pk) in self.context["reversed"]


def life(state: ItemState, entries: list[Entry], badges: dict[int, str]) -> dict[str, Any]:
    """An item with its labels and its whole life, the oldest line first."""
    undone = {entry.detail["entry"] for entry in entries if entry.verb == "reversed"}
    lines = LineOut(entries, many=True, context={"badges": badges, "reversed": undone})
    return {
        **ItemOut(state).data,
        "labels": sorted(state.item.labels.values_list("code", flat=True)),
        "since": shown.stamp(state.since),
        "history": lines.data,
    }
