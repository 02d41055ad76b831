"""A farm's database taken back to its first migrations and forward again: `python -m tests.upgrading`, step by step, or
each app `--in-one`.

The database that DATABASE_URL names is empty. Prints one line a step; ends with an error where anything of the book
changed on the way, or a trigger was not put back.
"""

import hashlib
import os
import sys
from datetime import timedelta
from typing import Any

import django
from django.core.management import call_command

APPS = ("equipment", "crews")
COLUMNS = "id, v, store_id, position, verb, detail, happened_at, recorded_at, digest"


def main() -> None:
    os.environ.setdefault("DJANGO_SETTINGS_MODULE", "config.settings")
    django.setup()
    call_command("migrate", verbosity=0)
    farm = found()
    book = sealed()
    back = [step for app in APPS for step in reversed(steps(app)[:-1])]
    if "--in-one" in sys.argv:
        back = [steps(app)[0] for app in APPS]
    for app, name in back:
        call_command("migrate", app, name, verbosity=0)
        check(book, f"back to {app} {name}")
    call_command("migrate", verbosity=0)
    check(book, "forward to the newest")
    upgrade()
    refuse_to_lose(farm)


def found() -> Any:
    """A farm with some pieces, out and back, of verbs that every Shedbook knew."""
    from django.utils import timezone

    from equipment.models import ItemState
    from tests.cast import found_farm

    farm = found_farm(rules=True)
    tags = farm.gear("bag", 12, days_ago=3)
    pen = farm.pen()
    at = timezone.now() - timedelta(days=2)
    crew, ana = farm.crews["red"].pk, farm.pickers["ana"].pk
    items = list(ItemState.objects.filter(tag__in=tags).values_list("item", flat=True))
    pen.record(
        [pen.draft("handed_out", item=i, crew=crew, picker=ana, happened_at=at) for i in items], "note"
    )
    pen.record(
        [pen.draft("returned", item=i, happened_at=at + timedelta(hours=9)) for i in items[:8]], "note"
    )
    return farm


def refuse_to_lose(farm: Any) -> None:
    """Once there is a line that an earlier Shedbook has no room for, it is not gone back to, and nothing is lost."""
    from django.db import DatabaseError

    from tests.lots import came_in

    came_in(farm)
    book = sealed()
    try:
        call_command("migrate", "equipment", "0008", verbosity=0)
    except DatabaseError as refused:
        print(f"refused: {type(refused).__name__}")
    else:
        sys.exit("A line of the book was lost on the way back.")
    call_command("migrate", verbosity=0)
    check(book, "forward after a refusal")
    upgrade()


def upgrade() -> None:
    """What follows a migration, as the README has it."""
    for command in ("load_catalogue", "rebuild_states", "verify_book"):
        call_command(command)


def steps(app: str) -> list[tuple[str, str]]:
    from django.db import connection
    from django.db.migrations.loader import MigrationLoader

    return sorted(key for key in MigrationLoader(connection).applied_migrations if key[0] == app)


def sealed() -> tuple[int, str]:
    """How many lines the book has, and one digest over all of them as they lie in the table."""
    from django.db import connection

    with connection.cursor() as cursor:
        cursor.execute(f"SELECT {COLUMNS} FROM equipment_entry ORDER BY store_id, position")
        rows = cursor.fetchall()
    return len(rows), hashlib.sha256(repr(rows).encode()).hexdigest()


def check(book: tuple[int, str], step: str) -> None:
    from django.db import connection

    from equipment.models import triggers

    if sealed() != book:
        sys.exit(f"{step}: the book is not what it was.")
    if missing := triggers.absent(connection):
        sys.exit(f"{step}: without {missing}")
    print(f"{step}: {book[0]} lines, as they were")


if __name__ == "__main__":
    main()
