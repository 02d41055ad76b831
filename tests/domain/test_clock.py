"""Until when a cleaning holds, and what ends it: days told as they happen, and the clock held to every minute."""

from collections.abc import Sequence
from dataclasses import replace
from datetime import datetime
from random import Random
from uuid import UUID

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from equipment import catalogue
from equipment.domain import clock
from equipment.domain.rules import CleaningRule
from equipment.domain.values import ItemState
from tests import minutes
from tests.days import OF_A_CREW, Happening, entries, item, spoken, told, visits, when
from tests.stories import shuffled

# The clippers' rule of the catalogue: 4 hours in use, 72 at rest, another block, another picker.
CLIPPERS = CleaningRule(
    "clippers", "sterilise", hours_in_use=4, shelf_hours=72, other_block=True, other_picker=True
)


def due(text: str, rule: CleaningRule = CLIPPERS) -> str:
    """`mon 09:30 hours`: when, and why."""
    lines = entries(told(text))
    return said(clock.due(item(lines), rule, visits(lines)))


def said(found: clock.Due) -> str:
    if found.at is None or found.cause is None:
        return "not due"
    return f"{spoken(found.at)} {found.cause}"


STORIES = {
    "sterile on Friday evening, still so on Monday at dawn": (
        """fri 17:00 dipped
           mon2 05:30 out ana
           mon2 06:00 arrived N4""",
        "mon2 10:00 hours",
    ),
    "and on Monday at knock-off, but no longer": ("fri 17:00 dipped", "mon2 17:00 rest"),
    "a tea break is no use": (
        """mon 05:00 dipped
           mon 05:30 out ana
           mon 06:00 arrived N4
           mon 08:00 stopped
           mon 08:30 arrived N4""",
        "mon 10:30 hours",
    ),
    "next day in the same block, where nobody said that they left": (
        """mon 05:00 dipped
           mon 05:30 out ana
           mon 06:00 arrived N4
           mon 08:00 back
           tue 05:30 out ana
           tue 07:00 arrived N4""",
        "tue 09:00 hours",
    ),
    "the way to the block is none either": (
        """mon 05:00 dipped
           mon 05:30 out ana
           mon 07:15 arrived N4""",
        "mon 11:15 hours",
    ),
    "the hours of two mornings add up": (
        """mon 05:00 dipped
           mon 05:30 out ana
           mon 06:00 arrived N4
           mon 08:30 left
           mon 09:00 back
           tue 05:30 out ana
           tue 06:00 arrived N4""",
        "tue 07:30 hours",
    ),
    "up at the very minute of the break": (
        """mon 05:30 dipped
           mon 05:30 out ana
           mon 06:00 arrived N4
           mon 10:00 stopped""",
        "mon 10:00 hours",
    ),
    "a minute short of it": (
        """mon 05:30 dipped
           mon 05:30 out ana
           mon 06:00 arrived N4
           mon 09:59 left
           tue 06:00 arrived N4""",
        "tue 06:01 hours",
    ),
    "two blocks": (
        """mon 05:00 dipped
           mon 05:30 out ana
           mon 06:00 arrived N4
           mon 07:30 left
           mon 08:00 arrived S1""",
        "mon 08:00 block",
    ),
    "two blocks, and nobody said that the first was left": (
        """mon 05:00 dipped
           mon 05:30 out ana
           mon 06:00 arrived N4
           mon 08:00 arrived S1""",
        "mon 08:00 block",
    ),
    "the other block was picked without it": (
        """mon 05:00 dipped
           mon 06:00 arrived N4
           mon 07:30 left
           mon 07:40 out ana
           mon 08:00 arrived S1""",
        "mon 12:00 hours",
    ),
    "dipped between the blocks": (
        """mon 05:00 dipped
           mon 05:30 out ana
           mon 06:00 arrived N4
           mon 07:30 left
           mon 07:45 dipped
           mon 08:00 arrived S1""",
        "mon 12:00 hours",
    ),
    "dipped in the middle of a stint": (
        """mon 05:00 dipped
           mon 05:30 out ana
           mon 06:00 arrived N4
           mon 09:00 dipped""",
        "mon 13:00 hours",
    ),
    "then lent: the first to have it since is she who had it at the dip": (
        """mon 05:30 out ana
           mon 06:00 arrived N4
           mon 09:00 dipped
           mon 09:30 out ben""",
        "mon 09:30 picker",
    ),
    "lent to another picker": (
        """mon 05:00 dipped
           mon 05:30 out ana
           mon 06:00 arrived N4
           mon 08:00 out ben""",
        "mon 08:00 picker",
    ),
    "the same picker again is no other": (
        """mon 05:00 dipped
           mon 05:30 out ana
           mon 06:00 back
           mon 09:00 out ana""",
        "mon 12:30 hours",
    ),
    "lent to another crew, in another block": (
        """mon 05:00 dipped
           mon 05:30 out ana RED
           mon 06:00 arrived N4 RED
           mon 06:00 arrived S1 BLUE
           mon 08:00 out ben BLUE""",
        "mon 08:00 block",  # of two causes at one moment the block is named
    ),
    "dirt": (
        """mon 05:00 dipped
           mon 05:30 out ana
           mon 06:00 arrived N4
           mon 07:10 dirty
           mon 07:20 dirty""",
        "mon 07:10 dirty",
    ),
    "dirt that was found before counts no more": (
        """mon 04:00 dirty
           mon 04:30 washed
           mon 05:00 dipped""",
        "thu 05:00 rest",
    ),
    "dirt must be washed off before a dip counts": (
        """mon 04:00 dirty
           mon 05:00 dipped""",
        "mon 00:00 never",
    ),
    "washing alone does not make it sterile again": (
        """mon 05:00 dipped
           mon 07:10 dirty
           mon 07:20 washed""",
        "mon 07:10 dirty",
    ),
    "it came back wet": (
        """mon 05:00 dipped
           mon 05:30 out ana
           mon 06:30 back wet""",
        "mon 06:30 wet",
    ),
    "a flag": (
        """mon 05:00 dipped
           mon 05:30 out ana
           mon 06:00 arrived N4
           mon 07:45 flagged""",
        "mon 07:45 flag",
    ),
    "a spare rests in the crew's box": (
        """mon 05:00 dipped
           mon 05:30 box
           mon 06:00 arrived N4""",
        "thu 05:00 rest",
    ),
    "until it is swapped": (
        """mon 05:00 dipped
           mon 05:30 box
           mon 06:00 arrived N4
           mon 10:00 out ana""",
        "mon 14:00 hours",
    ),
    "a spare that rode through another block is fresh": (
        """mon 05:00 dipped
           mon 05:30 box
           mon 06:00 arrived N4
           mon 10:00 arrived S1
           mon 11:00 out ana""",
        "mon 15:00 hours",
    ),
    "an open visit ends when it comes back": (
        """mon 05:00 dipped
           mon 05:30 out ana
           mon 06:00 arrived N4
           mon 09:00 back""",
        "thu 08:00 rest",  # 1 hour of rest before, 71 after
    ),
    "no visit known: from the handout": (
        """mon 05:00 dipped
           mon 05:30 out ana""",
        "mon 09:30 hours",
    ),
    "no visit known: to the return": (
        """mon 05:00 dipped
           mon 05:30 out ana
           mon 07:30 back
           tue 05:30 out ana
           tue 06:00 arrived N4""",
        "tue 08:00 hours",
    ),
    "another crew's visit says nothing of this one": (
        """mon 05:00 dipped
           mon 05:30 out ana RED
           mon 06:30 arrived S1 BLUE""",
        "mon 09:30 hours",
    ),
    "a visit that was over before is not known of this stint": (
        """mon 05:00 dipped
           mon 05:00 arrived N4
           mon 05:30 left
           mon 05:30 out ana""",
        "mon 09:30 hours",
    ),
    "a visit of no length is none": (
        """mon 05:00 dipped
           mon 05:30 out ana
           mon 06:00 arrived S1
           mon 06:00 left
           mon 07:00 arrived N4""",
        "mon 11:00 hours",
    ),
    "lost: nobody uses it": (
        """mon 05:00 dipped
           mon 05:30 out ana
           mon 06:00 arrived N4
           mon 07:00 missed""",
        "thu 06:00 rest",
    ),
    "left in the orchard overnight": (
        """mon 05:00 dipped
           mon 05:30 out ana
           mon 06:00 arrived N4
           mon 08:00 stowed""",
        "thu 07:00 rest",
    ),
    "found again, dipped, given to another": (
        """mon 05:30 out ana
           mon 07:00 missed
           mon 16:00 dipped
           mon 16:01 found
           tue 05:30 out ben
           tue 06:00 arrived N4""",
        "tue 10:00 hours",
    ),
    "nobody said yesterday that the block was left": (
        """mon 05:30 out ana
           mon 06:00 arrived N4
           mon 16:00 back
           mon 16:30 dipped
           tue 05:30 out ana
           tue 06:30 arrived S1""",
        "tue 10:30 hours",
    ),
    "never dipped": ("mon 05:30 out ana", "mon 00:00 never"),
}


@pytest.mark.parametrize(("story", "wanted"), STORIES.values(), ids=STORIES)
def test_the_clippers_of_a_day(story: str, wanted: str) -> None:
    assert due(story) == wanted


@pytest.mark.parametrize(
    ("rule", "wanted"),
    [
        (replace(CLIPPERS, hours_in_use=9), "mon 09:00 block"),
        (replace(CLIPPERS, hours_in_use=2.5), "mon 08:30 hours"),
        (replace(CLIPPERS, other_block=False), "mon 10:00 hours"),
        (replace(CLIPPERS, other_block=False, hours_in_use=None), "mon 12:00 picker"),
        (CleaningRule("bin", "sterilise", shelf_hours=1), "mon 06:00 rest"),
        (CleaningRule("bin", "sterilise", shelf_hours=72), "not due"),
        (CleaningRule("bag", "sterilise", hours_in_use=45), "wed 03:00 hours"),
        (CleaningRule("goggles", "sterilise", other_picker=True), "mon 12:00 picker"),
        (CleaningRule("glove", "sterilise", hours_in_use=99), "fri 09:00 hours"),
        (CleaningRule("sheeting", "sterilise"), "not due"),
    ],
)
def test_each_rule_asks_for_its_own(rule: CleaningRule, wanted: str) -> None:
    """One morning, by rules that care for this or that."""
    assert wanted == due(
        """mon 05:00 dipped
           mon 05:30 out ana
           mon 06:00 arrived N4
           mon 09:00 arrived S1
           mon 12:00 out ben""",
        rule,
    )


def test_the_clippers_rule_is_that_of_the_catalogue() -> None:
    (rule,) = [rule for rule in catalogue.load().cleaning if rule.kind == "clippers"]
    assert (rule.hours_in_use, rule.shelf_hours, rule.other_block, rule.other_picker) == (4, 72, True, True)


MORNING = """mon 05:00 dipped
             mon 05:30 out ana"""


def test_a_visit_that_comes_late_changes_what_fell_due() -> None:
    assert due(MORNING) == "mon 09:30 hours"
    assert due(f"{MORNING}\nmon 07:00 arrived N4") == "mon 11:00 hours"
    assert (
        due(f"{MORNING}\nmon 07:00 arrived N4\nmon 08:00 stopped\nmon 08:30 arrived N4") == "mon 11:30 hours"
    )
    assert due(f"{MORNING}\nmon 07:00 arrived N4\nmon 08:30 arrived S1") == "mon 08:30 block"


def test_a_dip_that_is_void_gives_back_the_one_before() -> None:
    lines = entries(told(f"{MORNING}\nmon 08:00 dipped\nmon 08:30 out ben\nmon 09:00 dipped"))
    first, second, third = (line.id for line in lines if line.verb == "cleaned")
    state = item(lines)

    def due_without(*void: UUID) -> tuple[str, str]:
        found = clock.due(state, CLIPPERS, {}, void)
        return said(found), spoken(found.since) if found.since else ""

    assert due_without() == ("mon 13:00 hours", "mon 09:00")
    assert due_without(second) == due_without()
    assert due_without(third) == ("mon 08:30 picker", "mon 08:00")
    assert due_without(third, second) == ("mon 08:30 picker", "mon 05:00")
    assert due_without(third, second, first) == ("mon 09:00 void", "")


def test_a_cleaning_of_another_kind_does_not_count() -> None:
    lines = entries(told("mon 05:00 washed"))
    assert clock.due(item(lines), CLIPPERS, {}).cause == "never"
    washing = clock.due(item(lines), replace(CLIPPERS, method="wash"), {})
    assert (washing.method, said(washing)) == ("wash", "thu 05:00 rest")


@pytest.mark.parametrize(
    ("ends", "wanted"),
    [
        ({"dirty", "wet", "flag"}, "mon 06:00 wet"),
        ({"dirty", "flag"}, "mon 07:00 dirty"),
        ({"flag"}, "mon 08:00 flag"),
        ((), "thu 05:00 rest"),
    ],
)
def test_only_what_is_asked_for_ends_it(ends: set[str], wanted: str) -> None:
    """Wet does not matter on every kind."""
    state = item(entries(told("mon 05:00 dipped\nmon 06:00 back wet\nmon 07:00 dirty\nmon 08:00 flagged")))
    assert said(clock.due(state, CLIPPERS, {}, ends=ends)) == wanted


def test_what_was_never_registered_was_never_cleaned() -> None:
    assert clock.due(ItemState(), CLIPPERS, {}) == clock.Due("sterilise", None, "never", None)


# --- against every minute counted

HAPPENS = [
    *["dipped", "out ana RED", "out ana RED", "out ben RED", "out cleo BLUE", "box RED", "back", "back"],
    *["arrived N4 RED", "arrived N4 RED", "arrived S1 RED", "stopped RED", "left RED", "left RED"],
    *["arrived N4 BLUE", "arrived W2 BLUE", "left BLUE"],
    *["dirty", "washed", "back wet", "flagged", "missed", "found", "stowed"],
]
# Mostly in use, as on a day in the orchard; then the hours and the blocks have their turn.
AT_WORK = [what for what in HAPPENS if what.split()[0] in ("out", "arrived", "stopped", "left", "back")]
GAPS = st.sampled_from([0, 0, 1, 5, 15, 30, 45, 60, 90, 150, 240, 600])
RULES = st.builds(
    CleaningRule,
    kind=st.just("clippers"),
    method=st.just("sterilise"),
    hours_in_use=st.sampled_from([None, 0.25, 1, 1.75, 4, 9]),
    shelf_hours=st.sampled_from([None, 0.5, 3, 16, 40]),
    other_block=st.booleans(),
    other_picker=st.booleans(),
)


def days(what: Sequence[str], most: int = 14) -> st.SearchStrategy[list[Happening]]:
    lines = st.lists(st.tuples(GAPS, st.sampled_from(what)), max_size=most)
    return st.tuples(lines, lines).map(lambda parts: _days(*parts))


def _days(before: list[tuple[int, str]], after: list[tuple[int, str]]) -> list[Happening]:
    """There is a dip in it, somewhere."""
    now, happenings = 0, []
    for gap, what in [*before, (5, "dipped"), *after]:
        now += gap
        happenings.append(Happening(now, tuple(what.split())))
    return happenings


@settings(max_examples=400)
@given(happenings=days(HAPPENS) | days(AT_WORK), rule=RULES, seed=st.integers(0, 999))
def test_every_minute_counted_gives_the_same(
    happenings: list[Happening], rule: CleaningRule, seed: int
) -> None:
    """Same due time, same cause; the lines come to the book in any order."""
    lines = shuffled(entries(happenings), seed)
    found = clock.due(item(lines), rule, visits(lines))
    assert (found.at, found.cause) == counted(happenings, rule)


@settings(max_examples=150)
@given(happenings=days(AT_WORK), rule=RULES, seed=st.integers(0, 999))
def test_and_with_visits_that_come_late_or_never(
    happenings: list[Happening], rule: CleaningRule, seed: int
) -> None:
    """None of what the crews did has come yet, then some of it, then all: what is due is what is known by then."""
    crews_did = [number for number, each in enumerate(happenings) if each.what in OF_A_CREW]
    some = Random(seed).sample(crews_did, len(crews_did) // 2)
    for late in (crews_did, some, []):
        heard = [each for number, each in enumerate(happenings) if number not in late]
        lines = entries(heard)
        found = clock.due(item(lines), rule, visits(lines))
        assert (found.at, found.cause) == counted(heard, rule)


def counted(happenings: list[Happening], rule: CleaningRule) -> tuple[datetime | None, str | None]:
    found = minutes.due(happenings, rule)
    return (when(found[0]), found[1]) if found else (None, None)


def test_what_is_only_washed_between_holders_is_fit_for_its_first() -> None:
    goggles = CleaningRule("goggles", "wash", other_picker=True)
    first = "mon 05:30 out ana\nmon 15:00 back"
    assert clock.due(item(entries(told(first))), goggles, {}).at is None
    second = clock.due(item(entries(told(f"{first}\ntue 05:30 out ben"))), goggles, {})
    assert said(second) == "tue 05:30 picker"
