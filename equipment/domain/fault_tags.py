"""The tags of faults: scanned after an item, they say what is wrong with it.

They are counter tags with numbers from 101 on. A number once printed means the same fault for ever: a new fault takes
the next number, and that of a fault which is no longer known is never given again.
"""

from collections.abc import Mapping
from types import MappingProxyType

from equipment.domain import codes

_NUMBERS = {
    "hurt_someone": 101,
    "tag_unreadable": 102,
    "dirty": 103,
    "wet": 104,
    "bag_torn_seam": 105,
    "bag_hole": 106,
    "bag_worn_strap": 107,
    "bag_broken_buckle": 108,
    "bag_bottom": 109,
    "bag_wire_mend": 110,
    "clippers_worn_spring": 111,
    "clippers_loose_loop": 112,
    "clippers_loose_pivot": 113,
    "clippers_blunt": 114,
    "clippers_overlap": 115,
    "clippers_do_not_meet": 116,
    "clippers_sharp_points": 117,
    "clippers_light_rust": 118,
    "ladder_loose_rung": 119,
    "ladder_missing_rung": 120,
    "ladder_nailed_rung": 121,
    "ladder_cracked_stile": 122,
    "ladder_bent_stile": 123,
    "ladder_rotten_stile": 124,
    "ladder_spreader": 125,
    "ladder_third_leg_pin": 126,
    "ladder_worn_foot": 127,
    "ladder_wobble": 128,
    "ladder_splinters": 129,
    "ladder_burrs": 130,
    "ladder_plate": 131,
    "goggles_cracked": 132,
    "goggles_torn_strap": 133,
    "goggles_scratched": 134,
    "glove_hole": 135,
    "overalls_torn": 136,
    "gumboots_sole": 137,
    "trailer_brake": 138,
    "trailer_coupling": 139,
    "trailer_tailgate": 140,
    "trailer_tyre": 141,
    "bin_broken": 142,
    "bin_sharp": 143,
    "sheeting_torn": 144,
    "first_aid_open": 145,
    "first_aid_short": 146,
    "first_aid_out_of_date": 147,
    "toolbox_short": 148,
    "water_leaking_tap": 149,
    "toilet_paper": 150,
    "toilet_lock": 151,
    "hand_wash_soap": 152,
}

FAULT_TAGS: Mapping[str, int] = MappingProxyType(_NUMBERS)
"""Fault -> the number of its tag."""


def code(fault: str) -> str:
    """The code on the tag of a fault. Raises KeyError for a fault that has no number."""
    return codes.make(codes.COUNTER, FAULT_TAGS[fault])
