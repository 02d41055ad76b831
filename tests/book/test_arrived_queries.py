"""A crew comes into a block with its gear: one transaction, and as many questions for sixty pieces as for six."""

import pytest
from django.db import connection
from django.test.utils import CaptureQueriesContext
from django.utils import timezone

from equipment.actions.visit import arrive
from equipment.actions.writing import Pen
from equipment.models import ItemState
from tests.cast import Farm, found_farm
from tests.mornings import ago, clippers, dipped, handed

BEGIN, END, STATES = "BEGIN", "COMMIT", "UPDATE equipment_itemstate"
# Beside those: what stands around the pieces is read; the line, the crew, the visit are written. PostgreSQL locks the
# crew besides.
QUESTIONS = {"sqlite": 9, "postgresql": 10}


def arrived(farm: Farm) -> list[str]:
    """The statements of one arrival, told a quarter of an hour late."""
    pen = Pen(farm.users["sam"], "A", timezone.now())
    with CaptureQueriesContext(connection) as captured:
        assert arrive(pen, farm.crews["red"].pk, "N4", ago(minutes=15)).recorded
    return [query["sql"] for query in captured]


def out(farm: Farm, count: int) -> list[str]:
    tags = clippers(farm, count)
    dipped(farm, tags, ago(hours=3))
    handed(farm, tags, ago(hours=2))
    return tags


@pytest.mark.parametrize("count", [6, 60])
def test_the_same_questions_however_much_is_out(transactional_db: None, count: int) -> None:
    farm = found_farm(rules=True)
    tags = out(farm, count)
    before = set(ItemState.objects.filter(tag__in=tags).values_list("due_at", flat=True))
    asked = arrived(farm)
    after = set(ItemState.objects.filter(tag__in=tags).values_list("due_at", flat=True))
    assert before != after and len(after) == 1  # all were derived anew: their hours count from the arrival
    others = [sql for sql in asked if not sql.startswith((BEGIN, END)) and STATES not in sql]
    assert len(others) == QUESTIONS[connection.vendor]
    assert sum(sql.startswith(BEGIN) for sql in asked) == 1
    assert sum(STATES in sql for sql in asked) == 1
