"""Two people at one stocktake at the same moment: each piece counts once, and one of two choices wins."""

import threading
from collections.abc import Callable
from concurrent.futures import ThreadPoolExecutor
from typing import Any

import pytest
from django.db import connection
from django.utils import timezone

from equipment.actions.stocktake.scan import Scan, take
from equipment.actions.verify_book import verify_book
from equipment.actions.wording import NotDone
from equipment.actions.writing import new_id
from equipment.models import Entry, Stocktake
from tests.cast import Farm
from tests.stocktaking import begun, chosen, hand_out, outcomes, scanned, standing, state, sums

pytestmark = pytest.mark.django_db(transaction=True)


def at_once(*things: Callable[[], Any]) -> list[Any]:
    """What each gives, or the NotDone that it raised; all started at the same moment."""
    together = threading.Barrier(len(things))

    def run(thing: Callable[[], Any]) -> Any:
        together.wait(10)
        try:
            return thing()
        except NotDone as why:
            return why
        finally:
            connection.close()

    with ThreadPoolExecutor(max_workers=len(things)) as hands:
        return [each.result(timeout=60) for each in [hands.submit(run, thing) for thing in things]]


def test_the_same_pieces_scanned_by_two(farm: Farm) -> None:
    tags = farm.gear("bag", 10, days_ago=1)
    own = begun(farm)
    texts = [*tags, "Rented 14"]
    one, other = at_once(
        lambda: scanned(own, farm, *texts), lambda: scanned(own, farm, *reversed(texts), by="mo")
    )
    both = zip(outcomes(one), reversed(outcomes(other)), strict=True)
    assert all(sorted(pair) in (["already", "seen"], ["unknown", "unknown"]) for pair in both)
    assert Entry.objects.filter(act=own.pk).count() == 10 and own.unknown.count() == 1
    assert sums(own)["seen"] == 10 and verify_book().clean


def test_the_same_batch_sent_twice_at_once(farm: Farm) -> None:
    tags = farm.gear("bag", 5, days_ago=1)
    own, now = begun(farm), timezone.now()
    batch = [Scan(new_id(), text, now) for text in (*tags, "Rented 14")]
    one, other = at_once(*[lambda: take(own, batch, farm.users["rosa"], timezone.now())] * 2)
    assert outcomes(one) == outcomes(other) == ["seen"] * 5 + ["unknown"]
    assert Entry.objects.filter(act=own.pk).count() == 5 and own.unknown.count() == 1


def test_two_choices_for_one_piece(farm: Farm) -> None:
    (tag,) = farm.gear("bag", days_ago=1)
    hand_out(farm, tag, minutes_ago=30)
    own = begun(farm)
    scanned(own, farm, tag)
    answers = at_once(
        lambda: chosen(own, farm, tag, "taken_back"),
        lambda: chosen(own, farm, tag, "label_twin", by="olga"),
    )
    assert sum(isinstance(answer, NotDone) for answer in answers) == 1
    assert Entry.objects.filter(act=own.pk, item=state(tag).pk).count() == 2
    assert standing(own, tag) == "settled"


def test_two_begin_in_one_store(farm: Farm) -> None:
    answers = at_once(lambda: begun(farm), lambda: begun(farm, by="frank"))
    assert sum(isinstance(answer, NotDone) for answer in answers) == 1
    assert Stocktake.objects.count() == 1
