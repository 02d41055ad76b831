"""Tables of the gear: kinds, items and their labels, sets, the book, and the projections that can be thrown away."""

from equipment.models.attempts import Attempt, KeptEntry
from equipment.models.book import ChainHead, Entry, Note
from equipment.models.gear import GearSet, Item, Kind, Label
from equipment.models.states import CrewState, Discrepancy, ItemState, Membership
from equipment.models.uploads import Upload

__all__ = [
    "Attempt",
    "ChainHead",
    "CrewState",
    "Discrepancy",
    "Entry",
    "GearSet",
    "Item",
    "ItemState",
    "KeptEntry",
    "Kind",
    "Label",
    "Membership",
    "Note",
    "Upload",
]
