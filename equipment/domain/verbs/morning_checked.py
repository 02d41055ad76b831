"""The crew's morning check is answered: who is here, kits, hands, first aid, water, weather. Counts, never names."""

from collections.abc import Mapping

from equipment.domain.replacing import replace
from equipment.domain.values import CrewState, Entry
from equipment.domain.verbs._base import Detail, Verb
from equipment.domain.verbs.inspected import Answer
from equipment.domain.words import gettext_noop


class MorningChecked(Detail):
    """`answers` as in `inspected`. The server adds `checklist`, `failed` (point -> "") and the `rules`' version."""

    answers: Mapping[str, Answer]
    checklist: str = ""
    failed: Mapping[str, str] = {}
    rules: int | None = None


def step(state: CrewState, entry: Entry) -> CrewState:
    return replace(state, checked_at=entry.happened_at)


VERB = Verb(
    name="morning_checked",
    family="crew",
    detail=MorningChecked,
    step=step,
    action="check_morning",
    say=gettext_noop("The morning check is written down."),
    told=gettext_noop("Morning check: all in order."),
    told_with={"failed": gettext_noop("Morning check. Not in order: %(failed)s.")},
    sealed={"checklist": "", "failed": {}, "rules": None},
)
