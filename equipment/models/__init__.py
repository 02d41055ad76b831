"""Tables of the gear: kinds, items and their labels, sets, the book, and the projections that can be thrown away."""

from equipment.models.attempts import Attempt, KeptEntry
from equipment.models.audits import Audit, AuditAnswer, AuditPiece
from equipment.models.book import ChainHead, Entry, Note
from equipment.models.cases import Case
from equipment.models.gear import GearSet, Item, Kind, Label
from equipment.models.goods import Goods
from equipment.models.photos import Photo
from equipment.models.printings import Printing
from equipment.models.reminders import Reminder
from equipment.models.rules import FollowedRules, Rule
from equipment.models.states import (
    BathState,
    CrewState,
    Discrepancy,
    ItemState,
    LotState,
    Membership,
    Visit,
)
from equipment.models.stocktakes import ExpectedPiece, Stocktake, UnknownTag
from equipment.models.uploads import Upload

__all__ = [
    "Attempt",
    "Audit",
    "AuditAnswer",
    "AuditPiece",
    "BathState",
    "Case",
    "ChainHead",
    "CrewState",
    "Discrepancy",
    "Entry",
    "ExpectedPiece",
    "FollowedRules",
    "GearSet",
    "Goods",
    "Item",
    "ItemState",
    "KeptEntry",
    "Kind",
    "Label",
    "LotState",
    "Membership",
    "Note",
    "Photo",
    "Printing",
    "Reminder",
    "Rule",
    "Stocktake",
    "UnknownTag",
    "Upload",
    "Visit",
]
