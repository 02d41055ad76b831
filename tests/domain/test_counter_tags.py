"""The counter tags: a table that the counter page and the printed page share."""

from equipment.domain import codes, fault_tags
from equipment.domain.counter_tags import COUNTER_TAGS
from equipment.domain.fault_tags import FAULT_TAGS

EXPECTED = [
    (1, "hand_out", "Hand out", "F2"),
    (2, "take_back", "Take back", "F3"),
    (3, "undo", "Undo the last scan", "F4"),
    (4, "change_of_hands", "Change of hands", "F5"),
    (5, "waive", "Waive this kit line", "F6"),
    (6, "came_back_wet", "This crew came back wet", "F7"),
    (7, "day_card", "Lend a day card", "F8"),
    (8, "finish", "Finish this picker", "F9"),
    (9, "set_aside", "Set this piece aside", "F10"),
    (10, "all_good", "Looked over: all good", "F1"),
    (11, "let_go", "Let it go all the same", "F12"),
]


def test_the_table() -> None:
    assert [(tag.number, tag.name, tag.words, tag.key) for tag in COUNTER_TAGS.values()] == EXPECTED


def test_a_scanned_counter_tag_finds_its_line() -> None:
    for number, tag in COUNTER_TAGS.items():
        code = codes.parse(tag.code)
        assert (code.prefix, code.number) == (codes.COUNTER, number)


def test_no_two_counter_tags_are_one_misread_digit_apart() -> None:
    texts = [tag.code for tag in COUNTER_TAGS.values()] + [fault_tags.code(fault) for fault in FAULT_TAGS]
    for one in texts:
        for other in texts:
            if one != other:
                assert (
                    sum(a != b for a, b in zip(one, other, strict=True)) >= 2
                )  # the number and the check character
