"""What a piece is beside its kind: make, size and hand; of a ladder its material, legs, length and rating."""

from collections.abc import Mapping
from typing import Any

from equipment.domain.words import gettext_noop
from equipment.models.gear import Item
from equipment.models.registers._phrases import number, phrase, word
from equipment.models.registers.base import Beside, Cell

MATERIALS: Mapping[str, str] = {
    "timber": gettext_noop("timber"),
    "aluminium": gettext_noop("aluminium"),
    "fibreglass": gettext_noop("fibreglass"),
}
HANDS: Mapping[str, str] = {"left": gettext_noop("left"), "right": gettext_noop("right")}
PLATE = ("legs", "length_m", "rating_kg")
APART = {
    "legs": gettext_noop("legs: %(n)s"),
    "length_m": gettext_noop("length: %(n)s m"),
    "rating_kg": gettext_noop("bears %(n)s kg"),
}


def traits(item: Item) -> Beside:
    return told({name: getattr(item, name) for name in ("make", "size", "hand", "material", *PLATE)})


def told(of: Mapping[str, Any]) -> Beside:
    """`of` has the names of an item's columns, or some of them. A ladder's length is its size."""
    plate = {name: read for name in PLATE if (read := number(of.get(name))) is not None}
    size = "" if "length_m" in plate else of.get("size")
    cells: list[Cell] = [text for text in (of.get("make"), size) if text]
    for words, code in ((HANDS, of.get("hand")), (MATERIALS, of.get("material"))):
        cells += [word(words.get(code, code))] if code and code != "any" else []
    if len(plate) == len(PLATE):
        whole = gettext_noop("%(legs)s legs, %(length_m)s m, bears %(rating_kg)s kg")
        return Beside((*cells, phrase(whole, **plate)), ", ")
    return Beside((*cells, *(phrase(APART[name], n=read) for name, read in plate.items())), ", ")
