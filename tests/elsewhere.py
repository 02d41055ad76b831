"""Another SQLite file in the place of the test's database for a while."""

from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path

from django.db import connection

from equipment.models import rules


@contextmanager
def instead(database: Path) -> Iterator[None]:
    """Within, Django's connection is one to that file, and so are those of processes that are started."""
    usual = connection.settings_dict["NAME"]
    connection.close()
    connection.settings_dict["NAME"] = str(database)
    rules.forget()
    try:
        yield
    finally:
        connection.close()
        connection.settings_dict["NAME"] = usual
        rules.forget()
