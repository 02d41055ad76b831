"""`GET /api/plan/<date>/`: what it answers, that it is as described, and days that it cannot plan."""

import json
from datetime import timedelta
from typing import Any

import pytest
from django.utils import timezone

from equipment.actions.report_fault import report_fault
from tests.api.test_schema import conforms
from tests.cast import Farm
from tests.washing import mixed, states

pytestmark = pytest.mark.django_db
PATH = "/api/plan/{day}/"


def test_need_tasks_and_what_stays_short(ruled_farm: Farm, client_of: Any) -> None:
    client = client_of("mo")
    described = json.loads(client.get("/api/schema/?format=json").content)
    ruled_farm.plan("red", "S2", days=1)
    (bag,), (clippers,) = ruled_farm.gear("bag", days_ago=1), ruled_farm.gear("clippers", days_ago=1)
    report_fault(ruled_farm.pen(), states(bag)[0], "bag_hole")
    ruled_farm.gear("bag", store="B", days_ago=1)
    bath = mixed(ruled_farm)

    def got(days: int) -> Any:
        response = client.get(PATH.format(day=timezone.localdate() + timedelta(days=days)))
        conforms(response.json(), PATH, described, status=response.status_code)
        return response.json()

    found = got(1)
    (store,) = found["stores"]
    assert [(task["tag"], task["minutes"], task["bath"]) for task in store["tasks"]] == [
        (bag, 20, None),
        (clippers, 1, str(bath)),
    ]
    assert (store["minutes"], store["fewer_pickers"]) == (21, 1)
    bags = next(sort for sort in store["gear"] if sort["kind"] == "bag")
    assert (bags["required"], bags["advised"], bags["fit"], bags["stays_short"]) == (2, 1, 0, 2)
    assert bags["lends"] == {"B": 1}
    (crew,) = found["crews"]
    assert (crew["pickers"], crew["blocks"]) == (2, ["S2"])
    ruled_farm.plan("red", "S2", days=-2)
    past = got(-2)
    assert past["over"] and past["stores"][0]["tasks"] == []
    assert got(5)["crews"] == got(5)["stores"] == []


@pytest.mark.parametrize("day", ["0001-01-01", "9999-12-31"])
def test_the_first_and_the_last_day_of_all(farm: Farm, client_of: Any, day: str) -> None:
    assert client_of("rosa").get(PATH.format(day=day)).json()["crews"] == []
    assert client_of("rosa").get(f"/plan/?day={day}").status_code == 200


@pytest.mark.parametrize("day", ["soon", "2026-02-30", "20260603x"])
def test_a_day_that_is_none(farm: Farm, client_of: Any, day: str) -> None:
    response = client_of("rosa").get(PATH.format(day=day))
    assert response.status_code == 400 and "2026-06-03" in response.json()["say"]
