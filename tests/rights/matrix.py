"""The whole policy as a table: every address, who may look there and who may change something."""

from collections.abc import Iterator

from crews import policy
from tests.rights.addresses import ALL

LOOK, CHANGE, BOTH, NONE, ANYBODY = "look", "change", "both", "", "anybody"


def rows() -> Iterator[tuple[str, ...]]:
    """One line an address: its name, then a word for each role in the order of `policy.ROLES`."""
    yield "address", *policy.ROLES
    for name in sorted(ALL):
        yield name, *(word(name, role) for role in policy.ROLES)


def word(name: str, role: str) -> str:
    if name in policy.PUBLIC:
        return ANYBODY
    rule = policy.ENDPOINTS[name]
    return {(True, True): BOTH, (True, False): LOOK, (False, True): CHANGE}.get(
        (role in rule.look, role in rule.change), NONE
    )


def acts() -> Iterator[tuple[str, ...]]:
    """One line an action of the verbs."""
    yield "act", *policy.ROLES
    for action in sorted(policy.ACTIONS):
        yield action, *("may" if role in policy.ACTIONS[action] else NONE for role in policy.ROLES)


def table(lines: Iterator[tuple[str, ...]]) -> str:
    cells = list(lines)
    widths = [max(len(line[column]) for line in cells) for column in range(len(cells[0]))]
    return "\n".join(
        "  ".join(cell.ljust(width) for cell, width in zip(line, widths, strict=True)).rstrip()
        for line in cells
    )
