"""An audit in words: its lot, what was asked of it, what was found."""

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import datetime
from typing import Any

from django.utils.translation import gettext as _

from crews.models import User
from equipment.actions.audit.drawing import never_sampled
from equipment.actions.audit.reading import Standing
from equipment.actions.wording import filled
from equipment.domain.audit import ASSUMPTIONS, HOW_DRAWN, Finding, Sentence, finding, plain
from equipment.models import Audit
from equipment.pages.fault_texts import cautions


@dataclass(frozen=True)
class Found:
    """The finding in words; `verdict` as in `equipment.domain.audit`."""

    said: Sequence[str]
    means: str
    verdict: str


def lot_words(audit: Audit) -> str:
    """Which pieces the lot was of: "Picking bags, Store A, make Snawel; in the store or on the bench now"."""
    parts = [_(audit.kind.name_plural), audit.store.name if audit.store else _("all stores")]
    for template, text in (
        (_("make %(text)s"), audit.make),
        (_("size %(text)s"), audit.size),
        (_("delivery %(text)s"), audit.delivery),
    ):
        if text:
            parts.append(template % {"text": text})
    return f"{', '.join(parts)}; {audit.get_where_display()}"


def limit_words(audit: Audit) -> str:
    """What would be too many, and how sure to be."""
    params = {"faulty": audit.faulty, "sure": plain(audit.sure), "share": plain(audit.share or audit.sure)}
    if audit.share is None:
        return _("%(faulty)d or more faulty would be too many; %(sure)s %% sure.") % params
    return (
        _("%(share)s %% of the lot or more, that is %(faulty)d, would be too many; %(sure)s %% sure.")
        % params
    )


def found(standing: Standing) -> Found | None:
    """None while some of it is not answered."""
    told = standing.finding
    return _worded(told) if told else None


def _worded(told: Finding) -> Found:
    return Found([_say(each) for each in told.said], _say(told.means), told.verdict)


def assumptions() -> list[str]:
    return [_(each) for each in ASSUMPTIONS]


def how_drawn(audit: Audit) -> str:
    if audit.every:
        return _("Every piece of the lot is in the list: nothing was drawn.")
    return filled(HOW_DRAWN, {"seed": audit.seed, "sample": audit.sample})


def person(user: User | None) -> str:
    return (user.get_full_name() or user.get_username()) if user else ""


def _say(each: Sentence) -> str:
    return filled(each.words, each.params)


@dataclass(frozen=True)
class Told:
    """What an audit is about, in words."""

    lot: str
    limit: str
    left_out: str
    why_all: str
    assumptions: Sequence[str]
    how_drawn: str
    drawn_by: str
    closed_by: str
    cautions: Sequence[str]


def told(audit: Audit) -> Told:
    why = never_sampled(audit.kind_id) if audit.every else ""
    missing = _("Marked missing, and no part of the lot: %(n)d.") % {"n": audit.left_out}
    return Told(
        lot_words(audit),
        limit_words(audit),
        missing if audit.left_out else "",
        _(why) if why else "",
        assumptions(),
        how_drawn(audit),
        person(audit.drawn_by),
        person(audit.closed_by),
        cautions(audit.kind_id),
    )


@dataclass(frozen=True)
class Summary:
    """An audit in the list of audits; `found` once it is closed with all of it answered."""

    number: int
    at: datetime
    lot: str
    by: str
    answered: int
    sample: int
    count: int
    closed: bool
    found: Found | None


def summary(audit: Any) -> Summary:
    """Of a row of `Audit.objects.counted()`."""
    answered = audit.good + audit.faulty_ones + audit.absent
    whole = audit.closed_at is not None and answered == audit.sample
    given = audit.answers(audit.faulty_ones, audit.absent)
    found = _worded(finding(audit.question, given)) if whole else None
    return Summary(
        audit.pk,
        audit.drawn_at,
        lot_words(audit),
        person(audit.drawn_by),
        answered,
        audit.sample,
        audit.count,
        audit.closed_at is not None,
        found,
    )
