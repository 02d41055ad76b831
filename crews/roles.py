"""The roles that people have, Django groups of these names, and which of them go together."""

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
# Who stands at a counter: the officer comes to let something go.
COUNTER = KEEPERS | {OFFICER}
BATHS = frozenset({STOREMAN, SUPERVISOR, MENDER, OFFICER})
SETTLERS = frozenset({STOREMAN, OFFICER})
TRAINERS = frozenset({OFFICER, MANAGER, SUPERVISOR})
TAKERS = frozenset({STOREMAN, MENDER, OFFICER, MANAGER})
AUDITORS = frozenset({OFFICER, MANAGER})
# Who looks at the pieces of an audit.
LOOKERS = frozenset({STOREMAN, MENDER, OFFICER})
