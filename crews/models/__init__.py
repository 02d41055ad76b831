"""People and places: who picks, with which card, in which crew, in which block, on which day."""

from crews.models.badges import Badge, BadgeLoan
from crews.models.devices import Device
from crews.models.numbers import NumberSeries
from crews.models.people import Crew, Picker, User
from crews.models.places import Block, Store
from crews.models.plans import DayPlan, DayPlanChange

__all__ = [
    "Badge",
    "BadgeLoan",
    "Block",
    "Crew",
    "DayPlan",
    "DayPlanChange",
    "Device",
    "NumberSeries",
    "Picker",
    "Store",
    "User",
]
