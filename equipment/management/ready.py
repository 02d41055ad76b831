"""Whether this installation may serve at all: what `serve` looks at before it takes a port."""

import os
from pathlib import Path

from django.conf import settings
from django.core.management.base import CommandError
from django.db import DatabaseError, connection
from django.db.migrations.executor import MigrationExecutor
from django.utils.translation import gettext as _


def look() -> None:
    """CommandError, with what to do, where the database is not there, not of this Shedbook, or cannot be written to."""
    for place in _places():
        if not os.access(place, os.W_OK):
            raise CommandError(_("Shedbook may not write to %s: let who runs it own that folder.") % place)
    try:
        executor = MigrationExecutor(connection)
        lacking = executor.migration_plan(executor.loader.graph.leaf_nodes())
    except DatabaseError as error:
        raise CommandError(_("The database does not answer: %s") % str(error).strip()) from None
    if lacking:
        raise CommandError(
            _("The database is not that of this Shedbook (%(n)s steps behind). Run backup, then migrate.")
            % {"n": len(lacking)}
        )


def _places() -> list[Path]:
    places = [Path(settings.DATA_DIR)]
    if connection.vendor == "sqlite":
        places.append(Path(connection.settings_dict["NAME"]).parent)
    return [place for place in places if place.exists()]
