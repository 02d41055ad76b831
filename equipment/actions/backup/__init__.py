"""A backup of the farm's book: the database (photos are in it), the keys that lie beside it, the settings.

Made while the counters go on, checked before it has its name, and read back. An archive is as secret as the machine:
it holds every name, every password's digest and the keys.
"""

from equipment.actions.backup.archive import BadArchive, read
from equipment.actions.backup.facts import Facts
from equipment.actions.backup.keeping import Keep, newest
from equipment.actions.backup.making import BackedUp, BackupFailed, back_up
from equipment.actions.backup.restoring import Restored, RestoreRefused, restore

__all__ = [
    "BackedUp",
    "BackupFailed",
    "BadArchive",
    "Facts",
    "Keep",
    "RestoreRefused",
    "Restored",
    "back_up",
    "newest",
    "read",
    "restore",
]
