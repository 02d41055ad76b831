"""`GET /api/figures/<name>/`: what it answers, and to whom; that answers are as described."""

import json
from typing import Any

import pytest

from tests.api.test_schema import conforms
from tests.cast import Farm
from tests.wearing import Wearing, worn

pytestmark = pytest.mark.django_db
PATH = "/api/figures/{name}/"
NAMES = ("spares", "lifetimes", "lifetimes-clippers", "purchases", "costs")


@pytest.fixture
def story(ruled_farm: Farm) -> Wearing:
    return worn(ruled_farm)


def test_every_figure_as_numbers(story: Wearing, client_of: Any) -> None:
    client = client_of("frank")
    described = json.loads(client.get("/api/schema/?format=json").content)

    def got(name: str, status: int = 200, **asked: str) -> Any:
        response = client.get(f"/api/figures/{name}/", asked)
        assert response.status_code == status
        conforms(response.json(), PATH, described, status=status)
        return response.json()

    for name in NAMES:
        found = got(name)
        assert found["name"] == name and found["level"] == 0.95
        assert all(figure["about"] and figure["results"] for figure in found["figures"]), name
    (lifetimes,) = got("lifetimes")["figures"]
    by_make = {line["make"]: line for line in lifetimes["results"]}
    assert by_make["A"]["advice"] == "change" and by_make["A"]["fault"] == "clippers_worn_spring"
    assert (
        by_make["A"]["weibull_shape"] > 1 and by_make["A"]["change_at_hours"] < by_make["A"]["median_hours"]
    )
    assert by_make["B"]["failures"] == 0 and by_make["B"]["hours_between_high"] is None
    assert any("put right what fails" in said for said in lifetimes["say"])
    (costs,) = got("costs", first="2000-01-01", last="2009-01-01")["figures"]
    assert costs["results"] == []
    assert "comes after" in got("costs", 400, first="2026-02-02", last="2026-01-01")["say"]
    got("costs", 400, first="soon")
    got("nothing", 404)


def test_without_a_history_there_are_no_lines(ruled_farm: Farm, client_of: Any) -> None:
    for name in NAMES:
        figures = client_of("frank").get(f"/api/figures/{name}/").json()["figures"]
        assert [line for figure in figures for line in figure["results"]] == []


def test_who_may_ask(story: Wearing, client_of: Any) -> None:
    assert client_of("mo").get("/api/figures/lifetimes/").status_code == 200
    assert client_of("mo").get("/api/figures/costs/").status_code == 403
    assert client_of("sam").get("/api/figures/lifetimes/").status_code == 403
