"""People and places: who picks, with which card, in which crew, in which block, on which day."""

from crews.models.badges import Badge, BadgeLoan
from crews.models.devices import Device
from crews.models.enrolment import Enrolment
from crews.models.numbers import NumberSeries
from crews.models.people import Crew, FormerLead, Picker, User
from crews.models.places import Block, Store
from crews.models.plans import DayPlan, DayPlanChange
from crews.models.signing_in import Pin, SignIn

__all__ = [
    "Badge",
    "BadgeLoan",
    "Block",
    "Crew",
    "DayPlan",
    "DayPlanChange",
    "Device",
    "Enrolment",
    "FormerLead",
    "NumberSeries",
    "Picker",
    "Pin",
    "SignIn",
    "Store",
    "User",
]
