"""A page that was ticked while the power was out, typed in afterwards.

What stands on paper happened: it is recorded as a note, backdated, as from the device `paper`; a contradiction is
shown and waits to be settled. Only what cannot be read at all (a code that names nothing) stops the page, and then
nothing of it is recorded.
"""

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from datetime import datetime
from typing import Literal
from uuid import UUID

from django.db.models import F

from crews.models import Crew, Picker, User
from crews.models.devices import PAPER_ID
from equipment.actions.writing import Pen
from equipment.domain import codes
from equipment.domain.values import Discrepancy
from equipment.ledger import Draft, lock_crews, writing
from equipment.models import Entry, ItemState

Direction = Literal["handed_out", "returned"]


@dataclass(frozen=True, slots=True)
class PaperLine:
    """What stands on one line: the codes of items or sets, and whose line it is; None for the crew's shared gear."""

    picker: Picker | None
    tags: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class Page:
    """One page: `act` makes entering it twice harmless; `at` is when it was ticked, never in the future."""

    crew: Crew
    direction: Direction
    at: datetime
    act: UUID
    lines: Sequence[PaperLine]


class Unreadable(ValueError):
    """Codes on the page that name nothing; `codes` holds them with the reason."""

    def __init__(self, wrong: Mapping[str, str]) -> None:
        self.codes = wrong
        super().__init__("; ".join(wrong.values()))


@dataclass(frozen=True, slots=True)
class Entered:
    """How many entries were made, and what contradicts: (tag, discrepancy)."""

    count: int
    discrepancies: tuple[tuple[str, Discrepancy], ...] = ()
    before: bool = False


def enter(user: User, page: Page, now: datetime) -> Entered:
    """Record the page. Raises Unreadable, and ValueError where it lies in the future."""
    if page.at > now:
        raise ValueError("A page cannot be from the future.")
    with writing():
        lock_crews([page.crew.pk])  # a page sent twice at once is entered once
        if Entry.objects.filter(act=page.act).exists():
            return Entered(0, before=True)
        return _entered(user, page, now)


def _entered(user: User, page: Page, now: datetime) -> Entered:
    states = _states(page.lines)
    pen = Pen(user, page.crew.store_id, now, device=PAPER_ID)
    drafts = list(_drafts(pen, page, states))
    outcomes = pen.record(drafts, strictness="note").outcomes
    tags = {state.item_id: state.tag for group in states.values() for state in group}
    found = [
        (tags[draft.item], discrepancy)
        for draft, outcome in zip(drafts, outcomes, strict=True)
        for discrepancy in outcome.discrepancies
        if draft.item
    ]
    return Entered(len(drafts), tuple(found))


def _drafts(pen: Pen, page: Page, states: Mapping[str, Sequence[ItemState]]) -> Iterable[Draft]:
    for line in page.lines:
        for tag in line.tags:
            for state in states[tag]:
                yield pen.draft(
                    page.direction,
                    happened_at=page.at,
                    act=page.act,
                    item=state.item_id,
                    crew=page.crew.pk if page.direction == "handed_out" else state.crew_id,
                    picker=line.picker.pk if line.picker and page.direction == "handed_out" else None,
                )


def _states(lines: Iterable[PaperLine]) -> dict[str, Sequence[ItemState]]:
    """The items that each code on the page finds; a set's code finds all its pieces. Raises Unreadable."""
    wrong: dict[str, str] = {}
    parsed: dict[str, codes.Code] = {}
    for text in {tag for line in lines for tag in line.tags}:
        try:
            parsed[text] = codes.parse(text)
        except codes.BadCode as error:
            wrong[text] = str(error)
    wanted = [code.text for code in parsed.values()]
    found: dict[str, list[ItemState]] = {}
    for state in ItemState.objects.filter(item__labels__code__in=wanted).annotate(
        asked=F("item__labels__code")
    ):
        found.setdefault(state.asked, []).append(state)
    for state in ItemState.objects.filter(packed_in__in=wanted):
        found.setdefault(str(state.packed_in_id), []).append(state)
    for text, code in parsed.items():
        if code.text not in found:
            empty = "an empty set" if code.prefix == codes.SET else "no item"
            wrong[text] = f"{code.text} is {empty}."
    if wrong:
        raise Unreadable(wrong)
    return {text: found[code.text] for text, code in parsed.items()}
