"""The gate: may this item go out now, and if not, why?

People read "may go out" or "stays here". A verdict is worked out from the item's state alone and what it is asked for;
it changes nothing.
"""

from collections.abc import Mapping
from dataclasses import dataclass, field
from datetime import datetime
from typing import Any

from equipment.domain.custody import against_handing_out
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
    "missing": gettext_noop("it is marked missing"),
    "written_off": gettext_noop("it was written off"),
    "wrong_size": gettext_noop("it is not this picker's size or hand"),
}


def verdict(
    state: ItemState, rules: Mapping[str, Any], at: datetime, to: To, traits: Mapping[str, str] | None = None
) -> Verdict:
    """Whether the item may go out at `at` (UTC) to `to`, by `rules` (the version in force then).

    `traits` are the item's own size and hand. A size that is wrong or a hand that is wrong is said but does not
    block: at first light a glove one size too big is better than none.
    """
    custody = against_handing_out(state, to.store or state.store or "", to.from_holder)
    reasons = [Reason(code, WORDS[code]) for code in custody]
    if not fits(traits or {}, to.wants):
        reasons.append(Reason("wrong_size", WORDS["wrong_size"], blocks=False))
    return Verdict(fit=not any(reason.blocks for reason in reasons), reasons=tuple(reasons))


def fits(traits: Mapping[str, str], wants: Mapping[str, str]) -> bool:
    """Whether size and hand match wherever both the item and the person say one."""
    return all(
        not traits.get(trait) or not wanted or traits[trait] == wanted for trait, wanted in wants.items()
    )
