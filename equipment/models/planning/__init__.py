"""The evening before a day of picking: what it asks for, what is fit, and what to do about the difference."""

from equipment.models.planning.covering import lendable
from equipment.models.planning.need import DAYS_AHEAD, FIRST_LIGHT, Asked, CrewNeed, first_light, next_day
from equipment.models.planning.reading import evening
from equipment.models.planning.results import Evening, Sort, StoreEvening, Task
from equipment.models.planning.supply import Piece, Step
from equipment.models.planning.ways import by_bath, litres

__all__ = [
    "DAYS_AHEAD",
    "FIRST_LIGHT",
    "Asked",
    "CrewNeed",
    "Evening",
    "Piece",
    "Sort",
    "Step",
    "StoreEvening",
    "Task",
    "by_bath",
    "evening",
    "first_light",
    "lendable",
    "litres",
    "next_day",
]
