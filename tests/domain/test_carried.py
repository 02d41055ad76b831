"""What a phone leaves out changes no answer: the condition of a carried state is that of the whole one.

Checked by brute force: any life of an item, any of its baths void, with the visits cut off where the clocks begin.
"""

from datetime import UTC, datetime, timedelta
from uuid import UUID

from hypothesis import given
from hypothesis import strategies as st

from equipment.domain import clock
from equipment.domain.carried import carried, counts_from
from equipment.domain.condition import Around, condition
from equipment.domain.rules import CleaningRule, Rules
from equipment.domain.stints import let_go, taken_up
from equipment.domain.values import Cleaning, ItemState, Stint, Visit

START = datetime(2026, 6, 1, 4, tzinfo=UTC)
# The day after the last that any item here lived.
NOW = START + timedelta(days=60)
HOURS = CleaningRule("clippers", "sterilise", hours_in_use=4, shelf_hours=72, other_block=True)
WASH = CleaningRule("clippers", "wash", hours_in_use=9, other_picker=True)
BETWEEN = CleaningRule("clippers", "dry", other_picker=True)


def hour(number: float) -> datetime:
    return START + timedelta(hours=number)


def item(*stints: Stint, cleanings: tuple[Cleaning, ...] = ()) -> ItemState:
    return ItemState(place="store", kind="clippers", registered_at=START, stints=stints, cleanings=cleanings)


ItemStates = st.lists(
    st.tuples(
        st.sampled_from(["sterilise", "wash", "dry", "taken", "let go"]),
        st.integers(1, 3),
        st.sampled_from([None, UUID(int=1), UUID(int=2)]),
        st.integers(0, 30),
    ),
    max_size=25,
)


def lived(steps: list[tuple[str, int, UUID | None, int]]) -> ItemState:
    state, at = item(), 0
    for number, (what, picker, bath, hours) in enumerate(steps):
        at += hours
        if what == "taken":
            state = taken_up(state, picker, f"crew {picker % 2}", hour(at))
        elif what == "let go":
            state = let_go(state, hour(at))
        else:
            done = Cleaning(UUID(int=100 + number), hour(at), what, bath)
            state = _with(state, done)
    return state


def _with(state: ItemState, done: Cleaning) -> ItemState:
    return item(*state.stints, cleanings=(*state.cleanings, done))


def visits(count: int) -> clock.Visits:
    """Two visits a day of each crew, in turns in two blocks."""
    return {
        crew: [
            Visit(UUID(int=n), f"B{n % (2 + shift)}", hour(12 * n + shift), hour(12 * n + shift + 5))
            for n in range(count)
        ]
        for shift, crew in enumerate(("crew 0", "crew 1"))
    }


@given(
    ItemStates, st.sets(st.sampled_from([UUID(int=1), UUID(int=2)])), st.lists(st.integers(0, 2), unique=True)
)
def test_it_answers_as_the_whole_one(
    steps: list[tuple[str, int, UUID | None, int]], void_baths: set[UUID], chosen: list[int]
) -> None:
    rules = tuple((HOURS, WASH, BETWEEN)[number] for number in chosen)
    state, seen = lived(steps), visits(40)
    void = {each.entry: "test_failed" for each in state.cleanings if each.bath in void_baths}
    whole = condition(state, Rules(cleaning={"clippers": rules}), Around(seen, void))
    less, since = carried(state, rules, NOW), counts_from(state, rules)
    first = (
        min([since, *(s.at for s in less.stints if s.until is None or s.until > since)]) if since else None
    )
    cut = {
        crew: [v for v in each if first and (v.until is None or v.until > first)]
        for crew, each in seen.items()
    }
    assert condition(less, Rules(cleaning={"clippers": rules}), Around(cut, void)) == whole


def test_a_season_of_stints_before_the_last_wash_is_left_behind() -> None:
    stints = [Stint(1, "red", hour(10 * n), hour(10 * n + 8)) for n in range(50)]
    washed = Cleaning(UUID(int=9), hour(480), "wash")
    state = item(*stints, cleanings=(washed,))
    assert carried(state, (WASH,), NOW).stints == (stints[0], *stints[48:])
    assert counts_from(state, (WASH,)) == hour(480)


def test_a_bath_may_void_the_last_dip_so_the_one_before_counts_too() -> None:
    dips = tuple(Cleaning(UUID(int=n), hour(n), "sterilise", UUID(int=50)) for n in (10, 20))
    wiped = Cleaning(UUID(int=5), hour(5), "sterilise")
    older = Cleaning(UUID(int=1), hour(1), "sterilise", UUID(int=51))
    assert counts_from(item(cleanings=(older, wiped, *dips)), (HOURS,)) == hour(5)


def test_who_wore_it_first_is_known_for_ever() -> None:
    stints = [Stint(n // 3, "red", hour(10 * n), hour(10 * n + 8)) for n in range(9)]
    assert carried(item(*stints), (BETWEEN,), NOW).stints == (stints[0], stints[3])
    assert counts_from(item(*stints), (BETWEEN,)) is None


def test_who_had_it_today_is_known_whatever_the_rules_ask() -> None:
    """Who was handed something today is here."""
    stints = [Stint(1, "red", hour(10 * n), hour(10 * n + 8)) for n in range(9)]
    assert carried(item(*stints), (), hour(70)).stints == (stints[0], *stints[7:])
