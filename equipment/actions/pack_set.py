"""A set is packed: items go together under one tag, to be handed out by one scan in the morning."""

from collections.abc import Iterable
from dataclasses import dataclass

from django.db.models import F
from django.utils.translation import gettext as _

from equipment.actions.wording import filled, refusal
from equipment.actions.writing import Pen
from equipment.domain import codes
from equipment.models import ItemState


@dataclass(frozen=True, slots=True)
class Packed:
    """Tags that are in the set now, and for each that is not, why."""

    tags: tuple[str, ...]
    refused: tuple[str, ...]


def pack(pen: Pen, set_code: str, texts: Iterable[str]) -> Packed:
    """Pack what the codes find into the set; each piece for itself, so one bad scan leaves the others packed."""
    wanted: dict[str, str] = {}
    refused: list[str] = []
    for text in texts:
        try:
            wanted[codes.parse(text).text] = text
        except codes.BadCode as error:
            refused.append(filled(error.message, error.params))
    found = _states(wanted)
    refused += [refusal("unknown_item", {"tag": tag}) for tag in wanted if tag not in found]
    there = [(tag, state) for tag, state in found.items() if state.packed_in_id != set_code]
    drafts = [pen.draft("packed", item=state.item_id, detail={"set": set_code}) for _tag, state in there]
    outcomes = pen.record(drafts).outcomes
    packed = [state.tag for state in found.values() if state.packed_in_id == set_code]
    for (tag, state), outcome in zip(there, outcomes, strict=True):
        if outcome.recorded:
            packed.append(tag)
        else:
            params = {"tag": tag, "who": state.crew_id, "store": state.store_id}
            refused += [refusal(code, params) for code in outcome.codes]
    return Packed(tuple(packed), tuple(refused))


def unpack(pen: Pen, state: ItemState) -> str:
    """Take one piece out of the set it is in. Returns "" or why that cannot be."""
    if state.packed_in_id is None:
        return _("%(tag)s is in no set.") % {"tag": state.tag}
    (outcome,) = pen.record([pen.draft("packed", item=state.item_id, detail={"set": None})]).outcomes
    return "" if outcome.recorded else refusal(outcome.codes[0], {"tag": state.tag})


def _states(tags: Iterable[str]) -> dict[str, ItemState]:
    rows = ItemState.objects.filter(item__labels__code__in=list(tags)).annotate(asked=F("item__labels__code"))
    return {row.asked: row for row in rows.select_related("item__kind")}
