"""The dip bath: until when it is good, and which dips in it count.

A dip counts where the bath was mixed and not yet emptied, strong enough by its mixing, not too old and not spent, and
where no failed strength test stands against it: a failed one voids every dip since the last good one, and those after
it until a good one. Nothing here is written down: it is derived, so a good test that arrives late restores the dips.

Sums and bookkeeping only. The label and the safety sheet come first, and local law.
"""

from datetime import datetime, timedelta
from typing import Literal

from equipment.domain.given import BadNumber, above_zero, zero_or_more
from equipment.domain.rules import RecipeRule
from equipment.domain.values import BathState, StrengthTest
from equipment.domain.words import gettext_noop

Flaw = Literal[
    "not_mixed", "emptied", "too_weak", "product_expired", "wrong_ph", "too_old", "spent", "test_failed"
]
WORDS = {
    "not_mixed": gettext_noop("the bath was not mixed yet"),
    "emptied": gettext_noop("the bath had been emptied"),
    "too_weak": gettext_noop("the bath was mixed too weak"),
    "product_expired": gettext_noop("the product was past its date"),
    "wrong_ph": gettext_noop("the pH is not what the recipe asks for"),
    "too_old": gettext_noop("the bath was too old"),
    "spent": gettext_noop("the bath had taken all the items that it can"),
    "test_failed": gettext_noop("the bath failed its strength test"),
}
# Measuring a litre in a bucket is no better than this; a mixing that is weaker is too weak.
MEASURING = 0.95
READING = gettext_noop("Reading in ppm")
DILUTED = gettext_noop("How many times the sample was diluted")


def good_until(state: BathState) -> datetime | None:
    """When the bath is too old, UTC; None where it does not age, or was never mixed."""
    if state.mixed_at is None or state.life_minutes is None:
        return None
    return state.mixed_at + timedelta(minutes=state.life_minutes)


def against_dip(state: BathState, at: datetime, nth: int) -> Flaw | None:
    """Why a dip at `at` (UTC), the `nth` item in this bath (from 1), does not count; None where it does.

    A strength test that was good before the dip answers for a mixing that looked too weak, and for no other flaw.
    """
    if state.mixed_at is None or at < state.mixed_at:
        return "not_mixed"
    if state.emptied_at is not None and at >= state.emptied_at:
        return "emptied"
    before, after = _tests_around(state, at)
    failed = any(test is not None and not passes(state, test) for test in (before, after))
    if failed:
        return "test_failed"
    proven = before is not None and (state.low_ppm, state.high_ppm) != (None, None)
    if standing := [flaw for flaw in state.flaws if flaw != "too_weak" or not proven]:
        return standing[0]  # type: ignore[return-value]
    until = good_until(state)
    if until is not None and at >= until:
        return "too_old"
    if state.capacity is not None and nth > state.capacity:
        return "spent"
    return None


def against_now(state: BathState, at: datetime, dipped: int) -> Flaw | None:
    """Why the bath takes no further item at `at`, `dipped` being in it or done; None where it does."""
    return against_dip(state, at, dipped + 1)


def passes(state: BathState, test: StrengthTest) -> bool:
    """Whether the strength lies between the recipe's limits, both included; without limits, what was read is only
    noted."""
    low, high = state.low_ppm, state.high_ppm
    return (low is None or test.ppm >= low) and (high is None or test.ppm <= high)


def _tests_around(state: BathState, at: datetime) -> tuple[StrengthTest | None, StrengthTest | None]:
    """The last test before `at`, and the first one at or after it, in order of time."""
    tests = sorted(state.tests, key=lambda test: (test.at, test.entry))
    before = [test for test in tests if test.at < at]
    after = [test for test in tests if test.at >= at]
    return before[-1] if before else None, after[0] if after else None


def flaws(recipe: RecipeRule, ppm: float | None, ph: float | None, expired: bool) -> tuple[Flaw, ...]:
    """What is wrong with a mixing from the start: its strength in ppm, its pH where the recipe asks for one, whether
    the product was past its date."""
    found: list[Flaw] = []
    if recipe.target_ppm is not None and ppm is not None and ppm < recipe.target_ppm * MEASURING:
        found.append("too_weak")
    low, high = recipe.ph_low, recipe.ph_high
    if low is not None and high is not None and (ph is None or not low <= ph <= high):
        found.append("wrong_ph")
    if expired:
        found.append("product_expired")
    return tuple(found)


def strength(reading_ppm: float, diluted: float, target_ppm: int | None) -> float:
    """The strength of the bath in ppm: the reading times the dilution of the sample.

    Raises ValueError for what cannot be a reading in ppm: a share of 1 % bath read as "1" means per cent.
    """
    ppm = zero_or_more(READING, reading_ppm) * above_zero(DILUTED, diluted)
    if target_ppm is not None and ppm < target_ppm / 100 and 0.5 <= ppm * 10_000 / target_ppm <= 2:
        raise BadNumber(
            gettext_noop(
                "%(given)s would be a hundredth of what it should be: is that per cent? "
                "1 %% is 10 000 ppm; give the reading in ppm."
            ),
            given=f"{ppm:g}",
        )
    return ppm
