"""Who may do what: one table for the verbs' actions, one for the endpoints.

Roles are Django groups of these names. Whatever is not named here is refused; a test fails on any verb or endpoint
that is missing.
"""

from collections.abc import Iterable
from dataclasses import dataclass
from typing import Any

STOREMAN = "storeman"
SUPERVISOR = "supervisor"
OFFICER = "safety officer"
MENDER = "mender"
MANAGER = "manager"
ROLES = (STOREMAN, SUPERVISOR, OFFICER, MENDER, MANAGER)

ALL = frozenset(ROLES)
NOBODY: frozenset[str] = frozenset()
OFFICE = frozenset({STOREMAN, OFFICER, MANAGER})
MANAGERS = frozenset({MANAGER})
# Who keeps the pickers' names, cards and crews.
PEOPLE = frozenset({STOREMAN, MANAGER})
KEEPERS = frozenset({STOREMAN})

# What a verb's action needs. A supervisor acts for their own crews only, see `only_own_crews`.
ACTIONS: dict[str, frozenset[str]] = {
    "register": OFFICE,
    "retag": frozenset({STOREMAN, MENDER, OFFICER, MANAGER}),
    "pack": frozenset({STOREMAN, MENDER}),
    "hand_out": frozenset({STOREMAN, SUPERVISOR}),
    "take_back": frozenset({STOREMAN, SUPERVISOR}),
    "waive": frozenset({STOREMAN, SUPERVISOR}),
    "stow": frozenset({STOREMAN, SUPERVISOR}),
    "move": frozenset({STOREMAN, MANAGER}),
    "miss": frozenset({STOREMAN, SUPERVISOR}),
    "find": frozenset({STOREMAN, SUPERVISOR, MENDER}),
    "write_off": frozenset({STOREMAN, MENDER, OFFICER, MANAGER}),
    "change_crew": frozenset({STOREMAN, SUPERVISOR, MANAGER}),
    "reverse": ALL,
    "settle": frozenset({STOREMAN, OFFICER}),
}


@dataclass(frozen=True)
class Endpoint:
    """Roles that may look (GET, HEAD, OPTIONS) and roles that may change (every other method)."""

    look: frozenset[str]
    change: frozenset[str] = NOBODY


# Reachable without signing in.
PUBLIC = frozenset({"login", "logout", "set_language", "favicon"})

# By the name of the URL, with its namespace.
ENDPOINTS: dict[str, Endpoint] = {
    "api:entries": Endpoint(NOBODY, ALL),
    "api:items": Endpoint(ALL),
    "api:item": Endpoint(ALL),
    "api:pickers": Endpoint(ALL),
    "api:kit": Endpoint(ALL),
    "api:crews": Endpoint(ALL),
    "api:blocks": Endpoint(ALL),
    "api:stores": Endpoint(ALL),
    "api:board": Endpoint(ALL),
    "api:schema": Endpoint(ALL),
    "api:docs": Endpoint(ALL),
    # The counter
    "counter": Endpoint(KEEPERS),
    "counter_here": Endpoint(KEEPERS, KEEPERS),
    "counter_kit": Endpoint(KEEPERS),
    "counter_owes": Endpoint(KEEPERS),
    "counter_set": Endpoint(KEEPERS),
    "counter_sheet": Endpoint(KEEPERS),
    "counter_day_card": Endpoint(NOBODY, KEEPERS),
    "counter_new_picker": Endpoint(NOBODY, KEEPERS),
    "counter_crew": Endpoint(frozenset({STOREMAN, SUPERVISOR, MANAGER})),
    "counter_figures": Endpoint(frozenset({STOREMAN, SUPERVISOR, MANAGER})),
    "counter_names": Endpoint(frozenset({STOREMAN, SUPERVISOR, MANAGER})),
    # Labels, cards and paper
    "registering": Endpoint(OFFICE, OFFICE),
    "labels": Endpoint(OFFICE | {MENDER}),
    "cards": Endpoint(OFFICE),
    "badges_pdf": Endpoint(OFFICE),
    "day_cards_pdf": Endpoint(OFFICE),
    "set_tags_pdf": Endpoint(OFFICE),
    "crew_tags_pdf": Endpoint(OFFICE),
    "counter_tags_pdf": Endpoint(OFFICE),
    "new_cards": Endpoint(NOBODY, frozenset({STOREMAN, MANAGER})),
    "sets": Endpoint(frozenset({STOREMAN, MENDER, MANAGER})),
    "set": Endpoint(frozenset({STOREMAN, MENDER, MANAGER}), frozenset({STOREMAN, MENDER})),
    "unpack": Endpoint(NOBODY, frozenset({STOREMAN, MENDER})),
    "paper": Endpoint(OFFICE | {SUPERVISOR}),
    "crew_pages_pdf": Endpoint(OFFICE | {SUPERVISOR}),
    "enter_paper": Endpoint(frozenset({STOREMAN, SUPERVISOR}), frozenset({STOREMAN, SUPERVISOR})),
    # The board, the gear and what is still out; what may be done with an item, its verb's action says.
    "board": Endpoint(ALL),
    "board_lines": Endpoint(ALL),
    "gear": Endpoint(ALL),
    "item": Endpoint(ALL),
    "item_act": Endpoint(ALL, ALL),
    "still_out": Endpoint(ALL),
    "season_end": Endpoint(ALL),
    "season_end_pdf": Endpoint(ALL),
    "clearance": Endpoint(OFFICE | {SUPERVISOR}),
    "tag": Endpoint(ALL),
    # Crews, pickers, blocks, plans, stores, and lists to import
    "crews": Endpoint(OFFICE | {SUPERVISOR}, MANAGERS),
    "crew": Endpoint(OFFICE | {SUPERVISOR}, MANAGERS),
    "crew_new_picker": Endpoint(NOBODY, PEOPLE),
    "pickers": Endpoint(OFFICE | {SUPERVISOR}),
    "picker": Endpoint(OFFICE | {SUPERVISOR}, PEOPLE),
    "picker_card": Endpoint(NOBODY, PEOPLE),
    "picker_move": Endpoint(NOBODY, PEOPLE),
    "blocks": Endpoint(ALL, MANAGERS),
    "block": Endpoint(ALL, MANAGERS),
    "block_delete": Endpoint(NOBODY, MANAGERS),
    "plans": Endpoint(ALL),
    "plan": Endpoint(ALL, MANAGERS | {SUPERVISOR}),
    "plan_new": Endpoint(MANAGERS, MANAGERS),
    "plans_copy": Endpoint(NOBODY, MANAGERS),
    "stores": Endpoint(OFFICE, MANAGERS),
    "store": Endpoint(MANAGERS, MANAGERS),
    "import": Endpoint(PEOPLE, PEOPLE),
    "import_confirm": Endpoint(PEOPLE, PEOPLE),
    "import_header": Endpoint(PEOPLE),
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


def only_own_crews(user: Any, granted: Iterable[str] = ALL) -> bool:
    """Whether what `user` sees and does is limited to the crews they supervise.

    `granted` are the roles that the act in question is open to: a supervisor who is the storeman as well is not
    limited where the storeman is not.
    """
    return not user.is_superuser and user.roles & frozenset(granted) <= {SUPERVISOR}
