"""A crew's morning sheet as rows, ready for paper."""

from equipment.documents.morning_sheet import DipLine, GearLine, MorningSheet
from equipment.models.planning import CrewNeed, Evening
from equipment.pages.board import plan_words
from equipment.pages.fault_texts import cautions
from equipment.pages.plan import crew as of_crew


def sheet(need: CrewNeed, evening: Evening) -> MorningSheet:
    def lines(holder: str) -> tuple[GearLine, ...]:
        return tuple(
            GearLine(each.what, each.count, each.required)
            for each in of_crew.handed(need, holder, evening.kinds)
        )

    dips = of_crew.dips_due(need, evening.day, evening.ready_at, evening.kinds)
    kinds = dict.fromkeys(each.gear.kind for each in need.asked)
    return MorningSheet(
        need.crew.pk,
        need.crew.name,
        need.crew.leader,
        need.crew.store.name,
        "; ".join(map(plan_words, need.plans)),
        evening.day,
        len(need.people),
        lines("picker"),
        lines("crew"),
        lines("spare"),
        tuple(DipLine(each.kind, each.says, tuple(each.times)) for each in dips),
        tuple(dict.fromkeys(sentence for kind in kinds for sentence in cautions(kind))),
    )
