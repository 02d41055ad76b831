"""What holds of any book, whoever wrote it in whatever order: asserted over the rows themselves."""

from collections import Counter
from collections.abc import Iterable, Mapping
from typing import Any

from equipment.actions.verify_book import verify_book
from equipment.domain import values
from equipment.domain.fold import fold
from equipment.domain.verbs import STEPS
from equipment.models import BathState, CrewState, Entry, Item, ItemState, Label, LotState, Note, projections

Sent = Mapping[str, Any]
P = ItemState.Place
# Who and what a piece has, by its place. "set": it must; "none": it must not; a place that is not here leaves it open.
HOLDERS = {
    P.STORE: {"store_id": "set", "picker_id": "none"},
    P.BENCH: {"store_id": "set", "picker_id": "none"},
    P.PICKER: {"picker_id": "set", "crew_id": "set"},
    P.CREW: {"picker_id": "none", "crew_id": "set"},
}


def assert_folded() -> None:
    """Every state in the database is the pure fold of the lines that stand in the book."""
    lives: dict[tuple[str, Any], list[values.Entry]] = {}
    for row in Entry.objects.all():
        pairs = ("item", row.item_id), ("bath", row.bath), ("lot", row.lot), ("crew", row.crew_id)
        subject = next(pair for pair in pairs if pair[1])
        lives.setdefault(subject, []).append(projections.value_of(row))
    states = {("item", row.item_id): projections.folded_item(row) for row in ItemState.objects.all()}
    states |= {("crew", row.crew_id): projections.folded_crew(row) for row in CrewState.objects.all()}
    states |= {("bath", row.bath): projections.folded_bath(row) for row in BathState.objects.all()}
    states |= {("lot", row.lot): projections.folded_lot(row) for row in LotState.objects.all()}
    assert states.keys() == lives.keys()
    for subject, life in lives.items():
        assert states[subject] == fold(life, projections.NEW[subject[0]].state, STEPS), subject


def assert_verified() -> None:
    """The chains are whole, and nothing differs from what was written."""
    assert verify_book().findings == ()


def assert_one_place_each() -> None:
    """Every piece is in one place, and with nobody else than that place says."""
    rows = list(ItemState.objects.all())
    assert Counter(row.item_id for row in rows) == Counter(Item.objects.values_list("pk", flat=True))
    for row in rows:
        for name, has in HOLDERS.get(P(row.place), {}).items():
            assert (getattr(row, name) is not None) == (has == "set"), (row.tag, row.place, name)


def assert_written(accepted: Iterable[Sent]) -> None:
    """What was acknowledged stands in the book with the content that was sent."""
    sent = {each["id"]: each for each in accepted}
    rows = {str(row.pk): row for row in Entry.objects.filter(pk__in=sent).select_related("device")}
    assert rows.keys() == sent.keys(), f"acknowledged, and not in the book: {sent.keys() - rows.keys()}"
    labels = dict(Label.objects.values_list("code", "item"))
    notes = {str(note.pk): note.text for note in Note.objects.filter(pk__in=sent)}
    for own, raw in sent.items():
        row = rows[own]
        assert (row.verb, row.device_seq) == (raw["verb"], raw["device_seq"]), own
        assert row.claimed_at and row.claimed_at.isoformat() == raw["happened_at"], own
        for word, value in raw["detail"].items():
            assert _same(row.detail[word], value), (own, word, row.detail, value)
        assert row.item_id == (labels[raw["item"]] if raw.get("item") else None), own
        assert [str(row.bath), str(row.lot)] == [str(raw.get("bath")), str(raw.get("lot"))], own
        assert raw.get("crew") in (None, row.crew_id), own
        assert notes.get(own, "") == raw.get("note", ""), own


def _same(stored: Any, sent: Any) -> bool:
    """The book keeps what is no whole number as a decimal string."""
    number = isinstance(stored, str) and isinstance(sent, int | float)
    return float(stored) == sent if number else bool(stored == sent)
