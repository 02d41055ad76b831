"""The numbers on fault tags: printed once, they mean the same for ever."""

from equipment import catalogue
from equipment.domain import codes, fault_tags
from equipment.domain.counter_tags import COUNTER_TAGS
from equipment.domain.fault_tags import FAULT_TAGS

# In the order of their numbers, from 101 on. Lines are only ever added below; none is taken out or moved.
PRINTED = """
    hurt_someone tag_unreadable dirty wet
    bag_torn_seam bag_hole bag_worn_strap bag_broken_buckle bag_bottom bag_wire_mend
    clippers_worn_spring clippers_loose_loop clippers_loose_pivot clippers_blunt clippers_overlap
    clippers_do_not_meet clippers_sharp_points clippers_light_rust
    ladder_loose_rung ladder_missing_rung ladder_nailed_rung ladder_cracked_stile ladder_bent_stile
    ladder_rotten_stile ladder_spreader ladder_third_leg_pin ladder_worn_foot ladder_wobble ladder_splinters
    ladder_burrs ladder_plate
    goggles_cracked goggles_torn_strap goggles_scratched
    glove_hole overalls_torn gumboots_sole
    trailer_brake trailer_coupling trailer_tailgate trailer_tyre
    bin_broken bin_sharp sheeting_torn
    first_aid_open first_aid_short first_aid_out_of_date toolbox_short
    water_leaking_tap toilet_paper toilet_lock hand_wash_soap
""".split()


def test_a_printed_number_never_changes_its_meaning() -> None:
    assert [fault for fault, _ in sorted(FAULT_TAGS.items(), key=lambda each: each[1])] == PRINTED
    assert sorted(FAULT_TAGS.values()) == list(range(101, 101 + len(PRINTED)))


def test_every_fault_of_the_catalogue_has_a_tag() -> None:
    assert {fault.code for fault in catalogue.load().fault} <= set(FAULT_TAGS)


def test_no_number_is_given_twice_nor_to_a_counter_tag() -> None:
    numbers = [*FAULT_TAGS.values(), *COUNTER_TAGS]
    assert len(set(numbers)) == len(numbers)


def test_a_scanned_tag_finds_its_fault() -> None:
    for fault, number in FAULT_TAGS.items():
        code = codes.parse(fault_tags.code(fault))
        assert (code.prefix, code.number) == (codes.COUNTER, number)
