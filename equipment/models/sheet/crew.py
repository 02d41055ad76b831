"""Of a sheet: the crew and who is in it, the store's other crews and pickers, plans and blocks."""

from collections.abc import Collection, Sequence
from dataclasses import dataclass, replace
from datetime import date, datetime, timedelta
from typing import Any

from django.utils import timezone
from pydantic import TypeAdapter

from crews.models import BadgeLoan, Block, Crew, Picker
from equipment.domain import values
from equipment.domain.fold import Folded
from equipment.models.book import Entry
from equipment.models.kits import bounds, plans_by_crew
from equipment.models.projections import NEW_CREW, folded_crew
from equipment.models.states import CrewState, Membership

# What a picker's own size and hand are; "" where nobody wrote it down.
TRAITS = ("hand", "glove_size", "boot_size", "overall_size")
CREW = TypeAdapter(values.CrewState)


@dataclass(frozen=True, slots=True)
class Team:
    """The store's active crews, the crew of every picker of theirs (who is in several is in the one joined last), and
    the pickers of the sheet's own crew."""

    crews: Sequence[Crew]
    crew_of: dict[int, str]
    members: Collection[int]


def team(crew: Crew) -> Team:
    """Two queries."""
    crews = list(Crew.objects.filter(store=crew.store_id, active=True).order_by("name", "code"))
    rows = Membership.objects.filter(crew__in=crews).current().order_by("picker")
    crew_of = dict(rows.values_list("picker", "crew"))
    return Team(crews, crew_of, {picker for picker, code in crew_of.items() if code == crew.pk})


def shown(crew: Crew, own: Collection[str], team: Team, visits: Sequence[values.Visit]) -> dict[str, Any]:
    """`visits` are those of the crew that the sheet is to have. Three queries."""
    crews = sorted(team.crews, key=lambda each: each.pk not in own)
    people = _people(team.crew_of)
    row = CrewState.objects.filter(crew=crew).first()
    return {
        "crew": _named(crew, own),
        "crews": [_named(each, own) for each in crews],
        "state": _state(folded_crew(row) if row else NEW_CREW, team.members, visits),
        "members": [each for each in people if each["picker"] in team.members],
        "other_pickers": [
            {**{name: each[name] for name in ("picker", "badge", "number")}, "crew": code}
            for each in people
            if (code := team.crew_of[each["picker"]]) != crew.pk
        ],
    }


def stood_in(members: Collection[int], day: date) -> list[tuple[int, str, datetime]]:
    """What a piece handed out today stood in for: (picker, kind of the kit line, when). One query."""
    start, end = bounds(day)
    given = Entry.objects.filter(verb="handed_out", picker__in=members, detail__has_key="waived")
    given = given.filter(happened_at__gte=start, happened_at__lt=end).order_by("happened_at", "pk")
    rows = given.values_list("picker", "detail", "happened_at")
    return [(picker, detail["waived"], at) for picker, detail, at in rows if detail["waived"]]


def plans(crew: Crew, day: date) -> list[dict[str, Any]]:
    """Of today and tomorrow, in the order of the days. Two queries."""
    return [
        {
            "date": plan.date,
            "part": plan.part,
            "block": plan.block_id,
            "clipped": plan.clipped,
            "state": plan.state,
        }
        for each in (day, day + timedelta(days=1))
        for plan in plans_by_crew(each, [crew.pk]).get(crew.pk, [])
    ]


def blocks() -> list[dict[str, Any]]:
    return list(Block.objects.values("code", "name", "crop", "tall_trees"))


def _named(crew: Crew, own: Collection[str]) -> dict[str, Any]:
    return {"code": crew.pk, "name": crew.name, "own": crew.pk in own}


def _state(
    folded: Folded[values.CrewState], members: Collection[int], visits: Sequence[values.Visit]
) -> dict[str, Any]:
    since = {picker: at for picker, at in folded.state.members.items() if picker in members}
    found: dict[str, Any] = CREW.dump_python(replace(folded.state, members=since, visits=tuple(visits)))
    return found


def _people(pickers: Collection[int]) -> list[dict[str, Any]]:
    """By number, with the card of the day. Two queries."""
    loans = BadgeLoan.objects.on(timezone.localdate()).filter(picker__in=pickers).order_by("from_day", "id")
    cards = dict(loans.values_list("picker", "badge"))
    rows = Picker.objects.filter(pk__in=pickers).order_by("number")
    return [
        {"picker": pk, "badge": cards.get(pk), "number": number, **dict(zip(TRAITS, traits, strict=True))}
        for pk, number, *traits in rows.values_list("pk", "number", *TRAITS)
    ]
