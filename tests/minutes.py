"""The clock once more, minute by minute, to hold the real one to.

It walks through every minute of some days and counts: who has the item in this minute, is that crew on a visit, then it
is in use; if not, it rests. It knows nothing of spans, and is written from the words alone: a cleaning holds until the
first of so many hours in use by pickers (while the crew is on a visit; from the handout where no visit is known), so
many hours at rest, a block other than the first, a picker other than the first, dirt or wet found, a flag.
"""

from collections import defaultdict
from collections.abc import Sequence
from typing import NamedTuple

from equipment.domain.rules import CleaningRule
from tests.days import CREWS, OF_A_CREW, Happening

CAUSES = ("dirty", "wet", "flag", "block", "picker", "hours", "rest")
"""In this order where several fall on one minute."""
TAKES_AWAY = ("box", "back", "missed", "stowed")
# Crews go home at night, whether or not somebody says so: the next arrival ends no visit of the day before.
LONGEST_UNTOLD = 12 * 60


class Minute(NamedTuple):
    """Who has the item in this minute, by which hand-out (its place in the day's lines), and where that crew is."""

    picker: str | None = None
    handout: int | None = None
    block: str | None = None


def due(happenings: Sequence[Happening], rule: CleaningRule) -> tuple[int, str] | None:
    """When the last dip of these happenings, which are in order, holds no longer, and why; None for never. Without a
    dip that counts it is due from the start, minute 0; what is only cleaned between holders is fit for its first."""
    dip = _last_that_counts(happenings)
    if dip is None and rule.other_picker and not (rule.other_block or rule.hours_in_use or rule.shelf_hours):
        return _second_to_have_it(happenings)
    if dip is None:
        return 0, "never"
    since = happenings[dip].minute
    minutes_in_use = round(rule.hours_in_use * 60) if rule.hours_in_use else None
    minutes_at_rest = round(rule.shelf_hours * 60) if rule.shelf_hours else None
    end = happenings[-1].minute + max(minutes_in_use or 0, minutes_at_rest or 0) + 1
    known = _minutes(happenings, end)
    on_visits = {minute.handout for minute in known if minute.block}
    first_picker = _in_hand(happenings[: dip + 1])
    first_block = None
    later = defaultdict(list)
    for each in happenings[dip + 1 :]:
        later[each.minute].append(each)
    used = rested = 0
    for now, minute in enumerate(known[since:], start=since):
        found = []
        for each in later.get(now, ()):
            found.append(_found(each))
            if each.what == "out":
                first_picker = first_picker or each.words[1]
                if rule.other_picker and each.words[1] != first_picker:
                    found.append("picker")
        if minute.block is not None:
            first_block = first_block or minute.block
            if rule.other_block and minute.block != first_block:
                found.append("block")
        if used == minutes_in_use:
            found.append("hours")
        if rested == minutes_at_rest:
            found.append("rest")
        if causes := [cause for cause in CAUSES if cause in found]:
            return now, causes[0]
        if minute.picker is not None and (minute.block is not None or minute.handout not in on_visits):
            used += 1
        else:
            rested += 1
    return None


def _second_to_have_it(happenings: Sequence[Happening]) -> tuple[int, str] | None:
    given = [each for each in happenings if each.what == "out"]
    others = [each for each in given if each.words[1] != given[0].words[1]]
    return (others[0].minute, "picker") if others else None


def _last_that_counts(happenings: Sequence[Happening]) -> int | None:
    """Dirt must be washed off before a dip counts."""
    dip, dirty = None, False
    for number, each in enumerate(happenings):
        if each.what == "dipped" and not dirty:
            dip = number
        dirty = {"dirty": True, "washed": False}.get(each.what, dirty)
    return dip


def _found(each: Happening) -> str:
    if each.what == "back":
        return "wet" if "wet" in each.words else ""
    return {"dirty": "dirty", "flagged": "flag"}.get(each.what, "")


def _in_hand(happenings: Sequence[Happening]) -> str | None:
    """Who has the item after these."""
    picker = None
    for each in happenings:
        if each.what == "out":
            picker = each.words[1]
        elif each.what in TAKES_AWAY:
            picker = None
    return picker


def _minutes(happenings: Sequence[Happening], end: int) -> list[Minute]:
    """How it stood in each minute up to `end`: what happens at a minute holds from that minute on."""
    blocks = {crew: _blocks(happenings, crew, end) for crew in CREWS}
    minutes, number = [], 0
    picker = handout = crew = None
    for now in range(end):
        while number < len(happenings) and happenings[number].minute == now:
            each = happenings[number]
            if each.what == "out":
                picker, handout, crew = each.words[1], number, each.crew
            elif each.what in TAKES_AWAY:
                picker = handout = crew = None
            number += 1
        minutes.append(Minute(picker, handout, blocks[crew][now] if crew else None))
    return minutes


def _blocks(happenings: Sequence[Happening], crew: str, end: int) -> list[str | None]:
    """In which block the crew was, in each minute."""
    blocks: list[str | None] = [None] * end
    mine = [each for each in happenings if each.what in OF_A_CREW and each.crew == crew]
    began: Happening | None = None
    for each in [*mine, None]:
        again = began is not None and each is not None and each.words[:2] == began.words[:2]
        if again and each.minute < began.minute + LONGEST_UNTOLD:
            continue  # there already
        if began is not None:
            until = end if each is None else each.minute
            if each is not None and each.what == "arrived":
                until = min(until, began.minute + LONGEST_UNTOLD)
            blocks[began.minute : until] = [began.words[1]] * (until - began.minute)
        began = each if each is not None and each.what == "arrived" else None
    return blocks
