"""What follows soon on each other and is alike is one line of a register; nothing is lost, and firsts stay in order."""

from datetime import UTC, datetime, timedelta

from hypothesis import given
from hypothesis import strategies as st

from equipment.models.registers._together import SOON, together

START = datetime(2026, 11, 16, 3, 30, tzinfo=UTC)
Row = tuple[int, str]


def grouped(rows: list[Row], most: int = 60) -> list[list[Row]]:
    """Rows are (seconds, key)."""
    return list(together(rows, lambda row: START + timedelta(seconds=row[0]), lambda row: row[1], most))


def test_alike_within_ten_minutes_of_the_first_is_one_group() -> None:
    rows = [(0, "a"), (30, "b"), (600, "a"), (601, "a"), (602, "b")]
    assert grouped(rows) == [[(0, "a"), (600, "a")], [(30, "b"), (602, "b")], [(601, "a")]]


def test_a_full_group_is_followed_by_another() -> None:
    assert grouped([(n, "a") for n in range(5)], most=2) == [
        [(0, "a"), (1, "a")], [(2, "a"), (3, "a")], [(4, "a")],
    ]  # fmt: skip


@given(st.lists(st.tuples(st.integers(0, 4_000), st.sampled_from("abc"))).map(sorted), st.integers(1, 4))
def test_nothing_is_lost_and_no_group_is_too_long_or_mixed(rows: list[Row], most: int) -> None:
    found = grouped(rows, most)
    assert sorted(row for group in found for row in group) == rows
    for group in found:
        assert len(group) <= most and len({key for _at, key in group}) == 1
        assert group[-1][0] - group[0][0] <= SOON.total_seconds()
    assert [group[0][0] for group in found] == sorted(group[0][0] for group in found)
