"""Somebody changes one row of the book past its triggers and leaves all else as it is: that is found, and named.

What cannot be found this way is said in DEVELOPERS.md: a note or a photo that was erased by hand (it may be), and the
bytes of a photo, of which the chain holds the digest of the file as it was taken, not of the small one that is kept.
"""

import re
from collections import Counter
from random import Random
from typing import Any
from uuid import uuid4

import pytest
from django.db import IntegrityError, connection, transaction

from equipment.actions.register import Run, register
from equipment.actions.verify_book import Verified, verify_book
from equipment.domain import codes
from equipment.models import Discrepancy, Kind, triggers
from tests.cast import Farm
from tests.lots import came_in
from tests.tampering import WAYS, Refused, Way

TRIES = 100
pytestmark = pytest.mark.django_db


@pytest.fixture
def book(farm: Farm, post: Any) -> Farm:
    """Two stores' books with something of everything: notes, visits, baths, lots, a contradiction that is settled."""
    bags = farm.gear("bag", 4, days_ago=1, make="Ridge", price="12.50")
    bags += farm.gear("bag", 2, days_ago=1, make="Vale", size="L", price="14.00")
    clippers = farm.gear("clippers", 3, store="B", days_ago=1)
    red, blue = farm.crews["red"].pk, farm.crews["blue"].pk
    post(farm.entry("packed", item=bags[5], detail={"set": codes.make(codes.SET, 1)}))
    post(*(farm.entry("handed_out", item=bag, picker=farm.badges["ana"]) for bag in bags[:3]))
    post(farm.entry("returned", item=bags[0], detail={"wet": True}, act=str(uuid4())))
    post(farm.entry("missed", item=bags[1], note="She says it was stolen."))
    register(farm.pen("frank"), [Run(Kind.objects.get(pk="ladder"), "A")])
    post(farm.entry("fault_found", item=bags[3], detail={"fault": "bag_hole"}, note="On the thorn fence."))
    for picker in ("ben", "cy"):
        post(farm.entry("handed_out", item=bags[2], picker=farm.badges[picker]), gate="note")
    for crew, block in ((red, "N4"), (blue, "S2")):
        post(farm.entry("arrived", crew=crew, block=block), gate="note")
    for recipe in ("clippers_daily_bleach", "canker_quat"):
        mixed = {"recipe": recipe, "litres": 7.5, "product_ml": 118.25, "strength_pct": 3.5}
        post(farm.entry("mixed", bath=str(uuid4()), detail=mixed), gate="note")
    post(farm.entry("stowed", item=clippers[0], block="N4", detail={"block": "N4", "counted": 2}), store="B")
    came_in(farm, quantity=40, days=90)
    came_in(farm, quantity=25)
    assert Discrepancy.objects.exists() and not verify_book().findings
    return farm


def test_every_changed_row_is_found_and_named(book: Farm, times: Any, figure: Any) -> None:
    wanted, random = times(100, 1000), Random(1000)
    done: Counter[str] = Counter()
    refused: Counter[str] = Counter()
    while done.total() < wanted:
        name = min(WAYS, key=lambda way: (done[way], random.random()))
        said = tampered(WAYS[name], random)
        if said is None:
            refused[name] += 1
            assert refused[name] < TRIES * (1 + done[name]), f"{name}: nothing comes of it"
            continue
        words, verified = said
        assert named(words, verified), f"{name} of {words}: {[str(each) for each in verified.findings]}"
        done[name] += 1
    assert set(done) == set(WAYS)
    assert not verify_book().findings, "the book was not put back"
    figure(
        f"{wanted} single rows changed in {len(WAYS)} ways, all found and named; {refused.total()} more the database"
        " refused"
    )


def tampered(way: Way, random: Random) -> tuple[str, Verified] | None:
    """What must be named, and what was found; None where the database's own constraints refused it. All is undone."""
    try:
        with transaction.atomic():
            triggers.drop(connection)
            words = way(random)
            triggers.install(connection)
            verified = verify_book()
            transaction.set_rollback(True)
    except (IntegrityError, Refused):
        return None
    return words, verified


def named(words: str, verified: Verified) -> bool:
    """Whether some finding is of that line (its store and position), store or subject."""
    told = [str(value) for each in verified.findings for value in each.params.values()]
    place = re.compile(rf"(?<!\w){re.escape(words.strip())}(?!\w)")
    return any(place.search(each) for each in told)
