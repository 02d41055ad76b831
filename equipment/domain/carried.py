"""An item's state as a phone carries it: no more of who had it than a clock can still ask for.

A season's worth of stints and visits would have to be fetched for every piece each morning; of most of it no clock
takes notice any more. What is left out here changes no answer of `condition`, whatever becomes of the item's baths.
"""

from collections.abc import Iterable
from dataclasses import replace
from datetime import datetime

from equipment.domain.rules import CleaningRule
from equipment.domain.values import ItemState, Stint


def counts_from(state: ItemState, rules: Iterable[CleaningRule]) -> datetime | None:
    """From when on (UTC) the clocks of `rules`, those of the item's kind, may count use and rest: since the last
    cleaning of their method, or since one before it where a bath may still void the last. None: they count nothing."""
    methods = {rule.method for rule in rules if _counts(rule)}
    times = [at for method in methods for at in _may_count(state, method)]
    return min(times, default=None)


def carried(state: ItemState, rules: Iterable[CleaningRule], day: datetime) -> ItemState:
    """The state without the stints that were over before `day` (UTC) began and that none of `rules` (of the item's
    kind) asks for. The first holder and the first other one stay: a cleaning between holders asks for them."""
    since = min(counts_from(state, rules) or day, day)
    between = _first_two(state.stints)
    kept = tuple(
        stint for stint in state.stints if stint in between or stint.until is None or stint.until > since
    )
    return replace(state, stints=kept)


def _counts(rule: CleaningRule) -> bool:
    return rule.hours_in_use is not None or rule.shelf_hours is not None or rule.other_block


def _may_count(state: ItemState, method: str) -> Iterable[datetime]:
    """The times of the cleanings by `method`, the last first, up to one that no bath can void."""
    for cleaning in reversed(state.cleanings):
        if cleaning.method == method:
            yield cleaning.at
            if cleaning.bath is None:
                return


def _first_two(stints: tuple[Stint, ...]) -> tuple[Stint, ...]:
    other = next((stint for stint in stints if stint.picker != stints[0].picker), None)
    return (*stints[:1], *((other,) if other else ()))
