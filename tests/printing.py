"""Registers for tests: entries written at times past, a register's lines in words, and whether it keeps its word."""

from collections.abc import Callable
from datetime import datetime, timedelta
from typing import Any

from django.utils import timezone

from equipment.actions.writing import Pen
from equipment.documents.registers.words import Words
from equipment.models import Entry, Label
from equipment.models.registers import REGISTERS, Asked, Heads, Line, heads_now
from tests.cast import Farm


def at(days_ago: int, clock: str = "06:00") -> datetime:
    """A time on the farm's clock, so many days ago."""
    hour, minute = map(int, clock.split(":"))
    day = timezone.localtime() - timedelta(days=days_ago)
    return day.replace(hour=hour, minute=minute, second=0, microsecond=0)


def write(farm: Farm, verb: str, when: datetime, tag: str = "", *, by: str = "rosa", **fields: Any) -> Entry:
    """One entry, recorded when it happened; of the item that bears `tag`, if any; `crew` and `picker` by first name."""
    pen = Pen(farm.users[by], fields.pop("store", "A"), fields.pop("recorded", when))
    for name, known in (("crew", farm.crews), ("picker", farm.pickers)):
        if name in fields:
            fields[name] = known[fields[name]].pk
    if tag:
        fields["item"] = Label.objects.get(pk=tag).item_id
    draft = pen.draft(verb, happened_at=when, **fields)
    (outcome,) = pen.record([draft], "note").outcomes
    assert outcome.recorded, outcome.codes
    return Entry.objects.get(pk=draft.id)


def take_back(farm: Farm, entry: Entry, when: datetime | None = None) -> Entry:
    pen = Pen(farm.users["rosa"], "A", when or timezone.now())
    draft = pen.draft("reversed", item=entry.item_id, crew=entry.crew_id, detail={"entry": str(entry.pk)})
    assert pen.record([draft], "note").outcomes[0].recorded
    return Entry.objects.get(pk=draft.id)


def asked(days: int = 30, **limits: Any) -> Asked:
    """The last so many days, today included."""
    today = timezone.localdate()
    return Asked(today - timedelta(days=days), today, **limits)


def lines(name: str, heads: Heads | None = None, days: int = 30, **limits: Any) -> list[Line]:
    return list(REGISTERS[name].lines(asked(days, **limits), heads_now() if heads is None else heads))


def rows(name: str, heads: Heads | None = None, days: int = 30, **limits: Any) -> list[dict[str, str]]:
    """Each line by the names of its columns, in words; several words of a cell by a stroke."""
    found, words = lines(name, heads, days, **limits), Words()
    words.learn(found)
    columns = [column.name for column in REGISTERS[name].sealed]
    return [
        dict(zip(columns, (words.say(cell).replace("\n", " | ") for cell in line.cells), strict=True))
        for line in found
    ]


def sums(name: str, **limits: Any) -> list[str]:
    """What its tally says of its lines."""
    tally, words = REGISTERS[name].tally(), Words()
    for line in lines(name, **limits):
        tally.add(line)
    for _template, params in tally.said():
        words.meet(params.values())
    return [
        template % {name: words.say(value) for name, value in params.items()}
        for template, params in tally.said()
    ]


def keeps_its_word(name: str, later: Callable[[], Any], **limits: Any) -> tuple[list[Line], list[Line]]:
    """Print, let `later` happen, print anew: the lines as of the old heads are byte for byte those of before. Those of
    before and those of now."""
    heads = heads_now()
    before = lines(name, heads, **limits)
    later()
    again = lines(name, heads, **limits)
    assert [line.canonical() for line in again] == [line.canonical() for line in before]
    return before, lines(name, **limits)
