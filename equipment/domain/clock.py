"""The clock: until when a cleaning holds, and what ends it.

A cleaning holds until the first of: so many hours in use, so many hours at rest, a block other than the first since,
a picker other than the first since, dirt or wet found, a flag. `due_at` assumes that nothing further happens: who has
the item keeps it where it is.

In use is an item that a picker has, while the crew is on a visit; where the book knows of no visit during the picker's
whole stint, all of that stint is use. A visit that was never ended ends with the stint. All other time the item rests:
in a store, in a crew's box of spares, with a picker on a break. All times are UTC, all spans [from, until).
"""

from collections.abc import Collection, Iterator, Mapping, Sequence
from dataclasses import dataclass
from datetime import datetime, timedelta
from typing import Literal
from uuid import UUID

from equipment.domain.rules import CleaningRule
from equipment.domain.values import Cleaning, ItemState, Stint, Visit
from equipment.domain.words import gettext_noop

Cause = Literal["never", "void", "hours", "rest", "block", "picker", "dirty", "wet", "flag"]
Visits = Mapping[str, Sequence[Visit]]
"""The visits of each crew, in order, without overlap."""

# In this order where several fall on the same moment.
CAUSES: dict[Cause, str] = {
    "never": gettext_noop("never done yet"),
    "void": gettext_noop("its bath was not as it should be"),
    "dirty": gettext_noop("dirt was found"),
    "wet": gettext_noop("it was wet"),
    "flag": gettext_noop("flagged for a disease"),
    "block": gettext_noop("went into another block"),
    "picker": gettext_noop("went to another picker"),
    "hours": gettext_noop("its hours in use are up"),
    "rest": gettext_noop("lay too long"),
}
ALWAYS_END = frozenset({"dirty", "wet", "flag"})


@dataclass(frozen=True, slots=True)
class Due:
    """The cleaning by `method` falls due at `at`, None for never as things stand; `since` is the cleaning that counts
    until then, None where there is none."""

    method: str
    at: datetime | None
    cause: Cause | None
    since: datetime | None


@dataclass(frozen=True, slots=True)
class Use:
    """A span of use, open where `until` is None; `block` is known where it was a visit."""

    at: datetime
    until: datetime | None
    block: str | None = None


def due(
    state: ItemState,
    rule: CleaningRule,
    visits: Visits,
    void: Collection[UUID] = (),
    ends: Collection[str] = ALWAYS_END,
) -> Due:
    """When the cleaning of `rule` falls due. `void` are cleanings that do not count (their bath failed), `ends` the
    causes found on the item itself that end it."""
    cleaning = last_counting(state, rule.method, void)
    if cleaning is None and _only_between_holders(rule):
        return Due(rule.method, *_second_holder(state), None)
    if cleaning is None:
        done = [each.at for each in state.cleanings if each.method == rule.method]
        return Due(rule.method, *((done[-1], "void") if done else (state.registered_at, "never")), None)
    causes = list(_causes(state, rule, visits, cleaning, ends))
    if not causes:
        return Due(rule.method, None, None, cleaning.at)
    at, cause = min(causes, key=lambda each: (each[0], list(CAUSES).index(each[1])))
    return Due(rule.method, at, cause, cleaning.at)


def _only_between_holders(rule: CleaningRule) -> bool:
    """What is washed because another is to wear it: new from the shop it is fit for its first holder."""
    return (
        rule.other_picker and not rule.other_block and rule.hours_in_use is None and rule.shelf_hours is None
    )


def _second_holder(state: ItemState) -> tuple[datetime | None, Cause | None]:
    others = [stint.at for stint in state.stints if stint.picker != state.stints[0].picker]
    return (others[0], "picker") if others else (None, None)


def last_counting(state: ItemState, method: str, void: Collection[UUID] = ()) -> Cleaning | None:
    """The last cleaning by `method` that is not void."""
    counting = (c for c in reversed(state.cleanings) if c.method == method and c.entry not in void)
    return next(counting, None)


def _causes(
    state: ItemState, rule: CleaningRule, visits: Visits, cleaning: Cleaning, ends: Collection[str]
) -> Iterator[tuple[datetime, Cause]]:
    for cause, at in cleaning.ends:
        if cause in ends:
            yield at, cause  # type: ignore[misc]
    if rule.other_picker and cleaning.other_at is not None:
        yield cleaning.other_at, "picker"
    if rule.hours_in_use is None and rule.shelf_hours is None and not rule.other_block:
        return
    uses = list(uses_since(state.stints, visits, cleaning.at))
    if rule.other_block and (moved_at := _other_block(uses)):
        yield moved_at, "block"
    if rule.hours_in_use is not None and (up_at := _reached(uses, timedelta(hours=rule.hours_in_use))):
        yield up_at, "hours"
    rests = list(_rests(uses, cleaning.at))
    if rule.shelf_hours is not None and (old_at := _reached(rests, timedelta(hours=rule.shelf_hours))):
        yield old_at, "rest"


def uses_since(stints: Sequence[Stint], visits: Visits, since: datetime) -> Iterator[Use]:
    """The spans of use from `since` on, in order."""
    for stint in stints:
        if stint.until is not None and stint.until <= since:
            continue
        known = [v for v in visits.get(stint.crew, ()) if _meets(v, stint)]
        spans = [_within(visit, stint) for visit in known] or [Use(stint.at, stint.until)]
        for span in spans:
            if span.until is None or span.until > since:
                yield Use(max(span.at, since), span.until, span.block)


def _meets(visit: Visit, stint: Stint) -> bool:
    """Whether they have a moment in common."""
    common = _within(visit, stint)
    return common.until is None or common.at < common.until


def _within(visit: Visit, stint: Stint) -> Use:
    until = min((each for each in (visit.until, stint.until) if each is not None), default=None)
    return Use(max(visit.at, stint.at), until, visit.block)


def _other_block(uses: Sequence[Use]) -> datetime | None:
    in_blocks = [use for use in uses if use.block is not None]
    return next((use.at for use in in_blocks if use.block != in_blocks[0].block), None)


def _rests(uses: Sequence[Use], since: datetime) -> Iterator[Use]:
    """What lies between the spans of use, from `since` on."""
    at: datetime | None = since
    for use in uses:
        if at is not None and use.at > at:
            yield Use(at, use.at)
        at = use.until
        if at is None:
            return
    if at is not None:
        yield Use(at, None)


def _reached(spans: Sequence[Use], limit: timedelta) -> datetime | None:
    """When the spans together last for `limit`."""
    left = limit
    for span in spans:
        if span.until is None or span.until - span.at >= left:
            return span.at + left
        left -= span.until - span.at
    return None
