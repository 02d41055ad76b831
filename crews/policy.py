"""Who may do what: a table for the verbs' actions, one for the registers, and one for the endpoints beside this file.

Whatever is not named is refused; a test fails on any verb, register or endpoint that is missing.
"""

from collections.abc import Iterable
from typing import Any

from crews.endpoints import ENDPOINTS, PUBLIC
from crews.roles import (
    ALL,
    BATHS,
    MANAGER,
    MENDER,
    NOBODY,
    OFFICE,
    OFFICER,
    ROLES,
    SETTLERS,
    STOREMAN,
    SUPERVISOR,
    TAKERS,
    TRAINERS,
)

__all__ = [
    "ACTIONS", "ALL", "ENDPOINTS", "MANAGER", "MENDER", "OFFICER", "PUBLIC", "REGISTERS", "ROLES",
    "STOREMAN", "SUPERVISOR", "may_act", "may_open", "may_print", "only_own_crews",
]  # fmt: skip

# What a verb's action needs. A supervisor acts for their own crews only, see `only_own_crews`.
ACTIONS: dict[str, frozenset[str]] = {
    "register": OFFICE,
    "retag": frozenset({STOREMAN, MENDER, OFFICER, MANAGER}),
    "pack": frozenset({STOREMAN, MENDER}),
    # The officer, who takes it upon themselves to let something go out, hands it out.
    "hand_out": frozenset({STOREMAN, SUPERVISOR, OFFICER}),
    "take_back": frozenset({STOREMAN, SUPERVISOR}),
    "waive": frozenset({STOREMAN, SUPERVISOR}),
    "stow": frozenset({STOREMAN, SUPERVISOR}),
    "move": frozenset({STOREMAN, MANAGER}),
    "miss": frozenset({STOREMAN, SUPERVISOR}),
    "find": frozenset({STOREMAN, SUPERVISOR, MENDER}),
    "write_off": frozenset({STOREMAN, MENDER, OFFICER, MANAGER}),
    "report_fault": ALL,
    "mend": frozenset({MENDER, STOREMAN, SUPERVISOR}),
    # What only the officer may let go, `equipment.actions.rights` says.
    "release": frozenset({MENDER, STOREMAN, OFFICER}),
    "inspect": frozenset({STOREMAN, SUPERVISOR, OFFICER, MENDER}),
    "clean": frozenset({STOREMAN, SUPERVISOR, MENDER, OFFICER}),
    "flag": frozenset({OFFICER, MANAGER}),
    "mix_bath": BATHS,
    "test_bath": BATHS,
    "empty_bath": BATHS,
    "visit": frozenset({SUPERVISOR, STOREMAN}),
    "check_morning": frozenset({SUPERVISOR, STOREMAN}),
    "take_over": frozenset({SUPERVISOR}),
    "change_plan": frozenset({SUPERVISOR, MANAGER, STOREMAN}),
    "change_crew": frozenset({STOREMAN, SUPERVISOR, MANAGER}),
    "take_stock": TAKERS,
    # What a picker says of a piece that is gone.
    "hear": frozenset({STOREMAN, SUPERVISOR, OFFICER, MANAGER}),
    "train": TRAINERS,
    "receive_goods": OFFICE,
    "give_goods": frozenset({STOREMAN, OFFICER}),
    "use_goods": frozenset({STOREMAN, MENDER, OFFICER, SUPERVISOR}),
    "count_goods": frozenset({STOREMAN, OFFICER, MANAGER}),
    "reverse": ALL,
    "settle": SETTLERS,
}

# Who may print which register, by its name. A supervisor prints those of their own crews.
REGISTERS: dict[str, frozenset[str]] = {
    "handout": OFFICE | {SUPERVISOR},
    "inspections": OFFICE | {MENDER},
    "sanitation": OFFICE | {MENDER},
    "faults": OFFICE | {MENDER},
    "losses": frozenset({OFFICER, MANAGER}),
    "overrides": frozenset({OFFICER, MANAGER}),
    "morning-checks": OFFICE | {SUPERVISOR},
    "training": OFFICE | {SUPERVISOR},
    "gear-card": OFFICE | {SUPERVISOR},
    "item-life": OFFICE | {MENDER},
}


def may_act(user: Any, action: str) -> bool:
    """Whether the roles of `user` grant `action`, the `action` of a verb. Unknown actions are refused."""
    return bool(user.is_superuser or user.roles & ACTIONS.get(action, NOBODY))


def may_open(user: Any, endpoint: str, method: str) -> bool:
    """Whether `user` may use the URL named `endpoint` by HTTP `method`. Undeclared endpoints are refused to all."""
    rule = ENDPOINTS.get(endpoint)
    if rule is None:
        return False
    allowed = rule.look if method in ("GET", "HEAD", "OPTIONS") else rule.change
    return bool(user.is_superuser or user.roles & allowed)


def may_print(user: Any, register: str) -> bool:
    """Whether `user` may print the register of that name. Undeclared registers are refused to all."""
    return bool(user.is_superuser or user.roles & REGISTERS.get(register, NOBODY))


def only_own_crews(user: Any, granted: Iterable[str] = ALL) -> bool:
    """Whether what `user` sees and does is limited to the crews they supervise.

    `granted` are the roles that the act in question is open to: a supervisor who is the storeman as well is not
    limited where the storeman is not.
    """
    return not user.is_superuser and user.roles & frozenset(granted) <= {SUPERVISOR}
