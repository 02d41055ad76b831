"""The roles that people have, Django groups of these names, and which of them go together."""

from django.utils.translation import gettext_noop

STOREMAN = gettext_noop("storeman")
SUPERVISOR = gettext_noop("supervisor")
OFFICER = gettext_noop("safety officer")
MENDER = gettext_noop("mender")
MANAGER = gettext_noop("manager")
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
