"""A rule is set: a new version from a time on, with who and why. What was before stays, and history keeps it.

The checks see to the sums and to what must never be let out. Whether a bath works is for the label, the safety sheet
and local law.
"""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from datetime import datetime, timedelta
from typing import Any

from django.utils.translation import gettext as _

from crews.models import User
from equipment.actions.follow_rules import follow
from equipment.catalogue import limits
from equipment.catalogue.rules import settled
from equipment.ledger import writing
from equipment.models import Rule, rules

FURTHEST = timedelta(days=2 * 366)


class BadRule(ValueError):
    """`problems`: the name of what was given wrongly ("" for all of it) -> sentences that a person can act on."""

    def __init__(self, problems: Mapping[str, Sequence[str]]) -> None:
        self.problems = problems
        super().__init__(" ".join(sentence for several in problems.values() for sentence in several))


def set_rule(
    by: User,
    subject: str,
    changes: Mapping[str, Any],
    why: str,
    at: datetime,
    from_at: datetime | None = None,
) -> Rule:
    """Write a new version of `subject` with `changes` to what will be in force at `from_at`, which is `at` unless it is
    later. It holds until the next version of it begins. Raises BadRule."""
    with writing():
        found = consider(subject, changes, why, at, from_at)
        row = Rule(
            subject=subject,
            values=found.after,
            from_at=found.begins,
            by=by,
            why=why.strip(),
            recorded_at=at,
        )
        rules.write([row])
    follow([row], at)
    return row


@dataclass(frozen=True, slots=True)
class Considered:
    """What is set of a rule at `begins` as things stand, and what would be."""

    before: dict[str, Any]
    after: dict[str, Any]
    begins: datetime


def consider(
    subject: str, changes: Mapping[str, Any], why: str, at: datetime, from_at: datetime | None = None
) -> Considered:
    """What `set_rule` would do. Raises BadRule as it does."""
    begins = from_at or at
    known = rules.subjects_known()
    if subject not in known:
        raise BadRule({"": [_("There is no rule “%(subject)s”.") % {"subject": subject}]})
    before = values_at(subject, begins)
    after, found = limits.changed(known[subject], rules.whole(), before, changes)
    problems = _of_the_writing(why, at, begins)
    for problem in found:
        problems.setdefault(problem.setting, []).append(_sentence(problem))
    if not found and after == before:
        problems.setdefault("", []).append(_("Nothing is changed: this is the rule already."))
    if problems:
        raise BadRule(problems)
    return Considered(before, after, begins)


def values_at(subject: str, at: datetime) -> dict[str, Any]:
    """What is set of a rule at `at`, by the catalogue where nothing is written. Raises LookupError."""
    row = rules.subjects_known()[subject]
    last = Rule.objects.of(subject).filter(from_at__lte=at).first()
    return settled(row, last.values if last else {})


def _of_the_writing(why: str, at: datetime, begins: datetime) -> dict[str, list[str]]:
    problems: dict[str, list[str]] = {}
    if not why.strip():
        problems["why"] = [_("A rule is changed for a reason: say why.")]
    elif len(why.strip()) > rules.WHY_LENGTH:
        problems["why"] = [_("Say it in %(most)s characters at most.") % {"most": rules.WHY_LENGTH}]
    if begins < at:
        problems["from_at"] = [
            _("A rule begins now or later. What happened before goes by the rule of its day.")
        ]
    elif begins > at + FURTHEST:
        problems["from_at"] = [_("That is more than two years ahead. Is the year right?")]
    return problems


def _sentence(problem: limits.Problem) -> str:
    params = dict(problem.params)
    for name in ("what", "agent", "disease"):
        if name in params:
            params[name] = _(str(params[name])) % {key: _(value) for key, value in problem.fills.items()}
    return _(problem.message) % params
