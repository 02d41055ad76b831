"""The gate: may this item go out now, and if not, why?

People read "may go out" or "stays here". A verdict is worked out from the item's state, what its condition depends on
around it, the rules in force and what it is asked for; it changes nothing.
"""

from collections.abc import Mapping
from dataclasses import dataclass, field
from datetime import datetime
from typing import Any

from equipment.domain.condition import Around, Condition, condition
from equipment.domain.custody import against_handing_out
from equipment.domain.rules import NO_RULES, Rules
from equipment.domain.stints import taken_up
from equipment.domain.values import ItemState
from equipment.domain.words import gettext_noop


@dataclass(frozen=True, slots=True)
class Reason:
    """`words` is a gettext template for `params`; `override` names the roles that may let it pass with a why."""

    code: str
    words: str
    blocks: bool = True
    override: tuple[str, ...] = ()
    params: Mapping[str, Any] = field(default_factory=dict)


@dataclass(frozen=True, slots=True)
class Verdict:
    fit: bool
    reasons: tuple[Reason, ...] = ()

    @property
    def blocking(self) -> tuple[Reason, ...]:
        return tuple(reason for reason in self.reasons if reason.blocks)


@dataclass(frozen=True, slots=True)
class To:
    """Whom the item is asked for. `wants` are the picker's own size and hand; "" means not known.

    `from_holder` is the present holder in a change of hands, see `custody.holder`.
    """

    store: str | None
    picker: int | None = None
    crew: str | None = None
    from_holder: str | None = None
    wants: Mapping[str, str] = field(default_factory=dict)


WORDS = {
    "other_store": gettext_noop("it belongs to another store"),
    "already_out": gettext_noop("it is already out"),
    "not_out": gettext_noop("nobody has it to pass it on"),
    "missing": gettext_noop("it is marked missing"),
    "written_off": gettext_noop("it was written off"),
    "wrong_size": gettext_noop("it is not this picker's size or hand"),
    "stop_use": gettext_noop("a fault stops its use"),
    "mend_overdue": gettext_noop("a fault was not mended in time"),
    "cleaning_due": gettext_noop("it must be cleaned first"),
    "inspection_due": gettext_noop("its inspection is due"),
    "disease_flag": gettext_noop("it may carry a disease"),
}
OFFICER: tuple[str, ...] = ("safety officer",)
STORE: tuple[str, ...] = ("storeman", "safety officer")


def verdict(
    state: ItemState,
    rules: Rules,
    at: datetime,
    to: To,
    traits: Mapping[str, str] | None = None,
    around: Around | None = None,
) -> Verdict:
    """Whether the item may go out at `at` (UTC) to `to`, by `rules` (those in force then).

    `traits` are the item's own size and hand, `around` what its condition depends on beside itself. A size that is
    wrong or a hand that is wrong is said but does not block: at first light a glove one size too big is better than
    none.
    """
    rules = rules or NO_RULES
    custody = against_handing_out(state, to.store or state.store or "", to.from_holder)
    reasons = [Reason(code, WORDS[code]) for code in custody]
    # A cleaning that ends with another picker ends by this very hand-out: it is asked for before.
    asked = state if to.picker is None else taken_up(state, to.picker, to.crew or "", at)
    reasons += against(condition(asked, rules, around or Around()), at)
    if not fits(traits or {}, to.wants):
        reasons.append(Reason("wrong_size", WORDS["wrong_size"], blocks=False))
    return Verdict(fit=not any(reason.blocks for reason in reasons), reasons=tuple(reasons))


def against(found: Condition, at: datetime) -> list[Reason]:
    """What the item's condition says against its going out at `at`, the gravest first; one reason a thing."""
    reasons = [_reason("disease_flag", disease=disease) for disease in found.flags]
    for fault in found.stopping:
        override = () if fault.fault in found.never else OFFICER
        params: dict[str, Any] = {"fault": fault.fault, "since": fault.at, "waits": fault.release}
        reasons.append(_reason("stop_use", override, **params))
    for fault, until in found.mending:
        if until <= at:
            reasons.append(_reason("mend_overdue", STORE, fault=fault.fault, since=until))
    for due in found.cleanings:
        if due.at is not None and due.at <= at:
            by = OFFICER if due.method == "sterilise" else STORE
            why: dict[str, Any] = {"method": due.method, "cause": due.cause, "since": due.at}
            reasons.append(_reason("cleaning_due", by, due.holds, **why))
    for inspection in found.inspections:
        if inspection.at is not None and inspection.at <= at:
            why = {"checklist": inspection.checklist, "since": inspection.at}
            reasons.append(_reason("inspection_due", OFFICER, inspection.holds, **why))
    return reasons


def _reason(code: str, override: tuple[str, ...] = (), blocks: bool = True, **params: Any) -> Reason:
    return Reason(code, WORDS[code], blocks, override, params)


def fits(traits: Mapping[str, str], wants: Mapping[str, str]) -> bool:
    """Whether size and hand match wherever both the item and the person say one."""
    return all(
        not traits.get(trait) or not wanted or traits[trait] == wanted for trait, wanted in wants.items()
    )
