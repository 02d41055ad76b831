"""A long bad day on the line, made up by chance: whatever is answered, each entry is in the book once and in order."""

import random
from collections.abc import Callable
from typing import Any

import pytest
from playwright.sync_api import Page, Route

from equipment.actions.verify_book import verify_book
from equipment.models import Entry
from tests.cast import Farm
from tests.outboxes import DEVICE, Phone, dead, half, html, lost

pytestmark = pytest.mark.django_db(transaction=True)

ROUNDS = 25
PROBLEMS = ("ERR_FAILED", "ERR_CONNECTION_REFUSED", "413", "429", "500")


def small_only(route: Route) -> None:
    if len(route.request.post_data_json["entries"]) > 2:
        return route.fulfill(status=413, json={"code": "too_many", "say": "At most 2"})
    return route.continue_()


def answer(how: Any) -> Callable[[Route], None]:
    return how if callable(how) else lambda route: route.fulfill(**how)


FAULTS = [
    lost, half, dead, small_only, html(200), html(500), {"status": 500, "json": {}}, {"json": {"answers": []}},
    {"status": 429, "headers": {"Retry-After": "0"}}, {"status": 200, "content_type": "application/json", "body": "{"},
]  # fmt: skip


@pytest.mark.every_database
@pytest.mark.parametrize("seed", range(3))
def test_each_entry_arrives_once_and_in_order(
    seed: int, farm: Farm, page: Page, sign_in: Any, watch: Any
) -> None:
    # Which of these happen is chance; that nothing else does is not.
    watch.problems = Forgiving()
    chance = random.Random(seed)
    sign_in(page, farm.users["sam"])
    phone = Phone(farm, page).open()
    faults = chance.choices(FAULTS, k=10_000)
    calm = {"now": False}

    def by_chance(route: Route) -> None:
        if calm["now"] or chance.random() < 0.3:
            return route.continue_()
        return answer(faults.pop())(route)

    phone.answers(by_chance)
    said: list[str] = []
    for _round in range(ROUNDS):
        drafts = [phone.arrival(chance.choice(["N4", "S2"])) for _ in range(chance.randint(1, 4))]
        said += [entry["id"] for entry in phone.record(*drafts)]
        if chance.random() < 0.2:
            phone.open()
        if chance.random() < 0.5:
            phone.flush()
    calm["now"] = True
    phone.flush()
    status = phone.until(unsent=0, line="on")
    stored = Entry.objects.filter(device=DEVICE).order_by("position").values_list("pk", flat=True)
    assert [str(pk) for pk in stored] == said and status["parked"] == 0
    assert [row["id"] for row in phone.rows()] == said
    assert {row["status"] for row in phone.rows()} == {"sent"}
    assert verify_book().clean


class Forgiving(list[str]):
    """Takes no note of the faults that the test makes."""

    def append(self, problem: str) -> None:
        if not any(each in problem for each in PROBLEMS):
            super().append(problem)
