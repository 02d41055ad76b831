"""A part of the demo farm, small enough to play a season in a few seconds: three crews of eight, and gear for them."""

import csv
import io
from collections.abc import Iterable, Mapping
from datetime import datetime, time, timedelta

from django.utils import timezone

from crews.models import Store, User
from equipment.actions.demo import FOLDER
from equipment.actions.importing import import_list
from equipment.actions.load_catalogue import load_catalogue
from equipment.actions.simulate import Season
from tests import cast

CREWS = ("Hoopoe", "Kingfisher", "Sunbird")
PEOPLE = 8
Row = Mapping[str, str]


def rows(name: str) -> list[dict[str, str]]:
    with (FOLDER / f"{name}.csv").open(encoding="utf-8", newline="") as file:
        return list(csv.DictReader(file))


def found_estate(season: Season) -> None:
    """Import it on the afternoon before the season begins."""
    load_catalogue()
    manager = cast.user("manager", "manager")
    at = timezone.make_aware(datetime.combine(season.first - timedelta(days=1), time(14)))
    take_in("stores", rows("stores"), manager, at)
    for store in Store.objects.all():
        storeman = cast.user(f"storeman {store.pk}", "storeman")
        User.objects.filter(pk=storeman.pk).update(store=store)
    take_in("crews", [row | {"supervisor": ""} for row in rows("crews") if row["name"] in CREWS], manager, at)
    take_in("blocks", rows("blocks"), manager, at)
    people = [row for crew in CREWS for row in rows("pickers") if row["crew"] == crew]
    take_in(
        "pickers", [row for n, row in enumerate(people) if _place_in_crew(people, n) < PEOPLE], manager, at
    )
    take_in("gear", [row | {"count": str(-(-int(row["count"]) // 5))} for row in rows("gear")], manager, at)


def _place_in_crew(people: list[dict[str, str]], number: int) -> int:
    return sum(other["crew"] == people[number]["crew"] for other in people[:number])


def take_in(name: str, table: Iterable[Row], by: User, at: datetime) -> None:
    table = list(table)
    text = io.StringIO()
    writer = csv.DictWriter(text, table[0].keys())
    writer.writeheader()
    writer.writerows(table)
    result = import_list(name, text.getvalue().encode(), by, at)
    assert result.good, result.bad
