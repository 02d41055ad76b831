"""What an item's row says of its condition follows its crew's visits, its baths and the rules, whenever they come."""

from datetime import datetime, timedelta
from typing import Any
from uuid import UUID

import pytest
from django.utils import timezone

from equipment.actions.follow_rules import catch_up
from equipment.actions.rebuild_states import rebuild_states
from equipment.actions.rederive import rederive
from equipment.actions.set_rule import set_rule
from equipment.actions.verify_book import verify_book
from equipment.actions.writing import new_id
from equipment.models import ItemState
from tests.cast import Farm
from tests.farm import Post

MORNING = timezone.now().replace(hour=3, minute=30, second=0, microsecond=0) - timedelta(days=1)
BATH = {"recipe": "clippers_daily_bleach", "litres": 10, "product_ml": 1000, "strength_pct": 5}


def at(hours: float) -> datetime:
    """So many hours after yesterday's handout."""
    return MORNING + timedelta(hours=hours)


@pytest.fixture
def note(ruled_farm: Farm, post: Post) -> Any:
    """Send one entry as it happened so many hours after the handout, whenever it arrives."""

    def send(verb: str, hours: float, device: UUID | None = None, **fields: Any) -> dict[str, Any]:
        entry = ruled_farm.entry(verb, at=at(hours), **fields)
        (answer,) = post(entry, gate="note", **({"device": str(device)} if device else {}))
        assert answer["outcome"] == "recorded", answer
        return answer

    return send


@pytest.fixture
def clippers(ruled_farm: Farm, note: Any) -> list[str]:
    """Three sterile pairs, dipped half an hour before Ana, Ben and the store have them."""
    tags = ruled_farm.gear("clippers", 3, days_ago=3)
    for tag in tags:
        detail = {"method": "sterilise", "recipe": "clippers_daily_bleach", "seconds": 700}
        note("cleaned", -0.5, item=tag, detail=detail)
    for tag, name in zip(tags, ("ana", "ben"), strict=False):
        note("handed_out", 0, item=tag, picker=ruled_farm.badges[name])
    return tags


def due(tag: str) -> tuple[datetime | None, str | None]:
    state = ItemState.objects.get(tag=tag)
    (clean,) = [each for each in state.due if each["what"] == "clean"]
    return state.due_at, clean["cause"]


def whole() -> None:
    """The book and its states agree, and rebuilding changes nothing."""
    before = list(ItemState.objects.order_by("pk").values())
    assert verify_book().findings == ()
    rebuild_states()
    assert list(ItemState.objects.order_by("pk").values()) == before


def test_from_handout_until_a_visit_is_known_then_by_the_visits(
    ruled_farm: Farm, note: Any, clippers
) -> None:
    ana, _, spare = clippers
    red = ruled_farm.crews["red"].pk
    assert due(ana) == (at(4), "hours")
    note("arrived", 1, crew=red, block="N4")
    assert due(ana) == (at(5), "hours")
    note("stopped", 3, crew=red, detail={"cause": "break"})
    assert due(ana) == (at(-0.5 + 72 + 2), "rest")
    note("arrived", 3.5, crew=red, block="N4")
    assert due(ana) == (at(5.5), "hours")
    assert due(spare) == (at(-0.5 + 72), "rest")
    whole()


def test_a_late_visit_changes_what_fell_due_yesterday(ruled_farm: Farm, note: Any, clippers) -> None:
    ana, ben, _ = clippers
    red = ruled_farm.crews["red"].pk
    note("arrived", 1, crew=red, block="N4")
    note("left", 9, crew=red)
    for tag in (ana, ben):
        note("returned", 10, item=tag)
    assert due(ana) == due(ben) == (at(5), "hours")
    # A phone that had no network tells at night that they were in another block from the third hour on.
    note("arrived", 3, device=UUID(int=99), crew=red, block="S2")
    assert due(ana) == due(ben) == (at(3), "block")
    whole()


def test_a_visit_taken_back_is_no_visit(ruled_farm: Farm, note: Any, clippers) -> None:
    red = ruled_farm.crews["red"].pk
    arrived = note("arrived", 1, crew=red, block="N4")
    note("reversed", 1.1, crew=red, detail={"entry": arrived["id"]})
    assert due(clippers[0]) == (at(4), "hours")
    whole()


def test_a_failed_test_makes_exactly_the_right_items_due_and_a_late_good_one_restores(
    ruled_farm: Farm, note: Any, clippers
) -> None:
    bath = str(new_id())
    note("mixed", 10, bath=bath, detail=BATH)
    dipped = {"bath": bath, "detail": {"method": "sterilise", "seconds": 660}}
    for tag in clippers[:2]:
        note("returned", 10.1, item=tag)
        note("cleaned", 10.3, item=tag, **dipped)
    note("tested", 10.5, bath=bath, detail={"ppm": 500, "diluted": 10})
    note("cleaned", 10.8, item=clippers[2], **dipped)
    assert {due(tag)[1] for tag in clippers} == {"rest"}
    note("tested", 11, bath=bath, detail={"ppm": 90, "diluted": 10})
    # The first two were dipped before the good test; the last one falls back on the dip of the day before.
    assert [ItemState.objects.get(tag=tag).void != {} for tag in clippers] == [False, False, True]
    assert due(clippers[2]) == (at(-0.5 + 72), "rest")
    whole()
    note("tested", 10.9, bath=bath, detail={"ppm": 520, "diluted": 10})
    assert [ItemState.objects.get(tag=tag).void for tag in clippers] == [{}, {}, {}]
    assert due(clippers[2]) == (at(10.8 + 72), "rest")
    whole()


def test_a_dip_taken_back_makes_room_in_the_bath(ruled_farm: Farm, note: Any, clippers) -> None:
    bath = str(new_id())
    note("mixed", 10, bath=bath, detail=BATH | {"litres": 0.2, "product_ml": 20})
    dipped = {"bath": bath, "detail": {"method": "sterilise", "seconds": 660}}
    answers = [note("cleaned", 10.2 + n / 100, item=tag, **dipped) for n, tag in enumerate(clippers)]
    assert [answer.get("codes", []) for answer in answers] == [[], [], ["spent"]]
    note("reversed", 10.5, item=clippers[0], detail={"entry": answers[0]["id"]})
    assert ItemState.objects.get(tag=clippers[2]).void == {}
    whole()


def test_a_dip_that_comes_before_its_bath_waits_for_it(
    ruled_farm: Farm, post: Post, note: Any, clippers
) -> None:
    bath = str(new_id())
    detail = {"method": "sterilise", "seconds": 660}
    dip = ruled_farm.entry("cleaned", item=clippers[2], bath=bath, at=at(10.5), detail=detail)
    (refused,) = post(dip, gate="note")
    assert (refused["outcome"], refused["code"]) == ("refused", "unknown_bath")
    note("mixed", 10, bath=bath, detail=BATH)
    assert due(clippers[2]) == (at(10.5 + 72), "rest")
    (known,) = post(dip, gate="note")
    assert known["outcome"] == "known"
    whole()


def test_a_rule_that_is_set_works_on_what_is_out(ruled_farm: Farm, clippers) -> None:
    assert due(clippers[0]) == (at(4), "hours")
    now = timezone.now()
    changes = {"hours_in_use": 2}
    set_rule(ruled_farm.users["olga"], "cleaning clippers sterilise", changes, "canker next door", now)
    rederive(now)
    assert due(clippers[0]) == (at(2), "hours")
    whole()


def test_a_ladder_is_not_passed_by_whoever_mended_it(ruled_farm: Farm, post: Post) -> None:
    (ladder,) = ruled_farm.gear("ladder", days_ago=2)
    cracked = {"fault": "ladder_cracked_stile"}
    post(ruled_farm.entry("fault_found", item=ladder, detail=cracked))
    assert ItemState.objects.get(tag=ladder).place == "bench"
    post(
        ruled_farm.entry("mended", item=ladder, detail=cracked | {"method": "new stile", "minutes": 90}),
        name="mo",
    )
    assert ItemState.objects.get(tag=ladder).reasons == ["stop_use"]
    (own,) = post(ruled_farm.entry("released", item=ladder, detail=cracked), name="mo")
    assert own["code"] == "own_mend"
    (passed,) = post(ruled_farm.entry("released", item=ladder, detail=cracked))
    assert passed["outcome"] == "recorded"
    assert ItemState.objects.get(tag=ladder).place == "store"


def test_what_hurt_someone_only_the_officer_lets_go(ruled_farm: Farm, post: Post) -> None:
    (bag,) = ruled_farm.gear("bag", days_ago=2)
    hurt = {"fault": "hurt_someone"}
    post(ruled_farm.entry("fault_found", item=bag, detail=hurt))
    post(ruled_farm.entry("mended", item=bag, detail=hurt | {"method": "buckle filed smooth", "minutes": 5}))
    (storeman,) = post(ruled_farm.entry("released", item=bag, detail=hurt))
    assert storeman["code"] == "no_right"
    (officer,) = post(ruled_farm.entry("released", item=bag, detail=hurt), name="olga")
    assert officer["outcome"] == "recorded"


def test_what_the_server_alone_may_write_is_not_taken_from_anybody(ruled_farm: Farm, post: Post) -> None:
    (tag,) = ruled_farm.gear("clippers", days_ago=2)
    detail = {
        "method": "sterilise",
        "recipe": "clippers_alcohol",
        "seconds": 60,
        "kills": ["exocortis"],
        "ppm": 9,
    }
    post(ruled_farm.entry("flagged", item=tag, detail={"disease": "exocortis"}), name="olga")
    post(ruled_farm.entry("cleaned", item=tag, detail=detail))
    # Alcohol never clears a viroid, whatever the entry says of itself.
    assert ItemState.objects.get(tag=tag).reasons == ["disease_flag"]
    strong = {"method": "sterilise", "recipe": "clippers_viroid_bleach", "seconds": 12}
    post(ruled_farm.entry("cleaned", item=tag, detail=strong))
    assert ItemState.objects.get(tag=tag).reasons == []


def test_a_rule_that_was_set_ahead_is_followed_once_it_begins(ruled_farm: Farm, clippers) -> None:
    now = timezone.now()
    set_rule(
        ruled_farm.users["olga"],
        "cleaning clippers sterilise",
        {"hours_in_use": 2},
        "the wet month begins",
        now,
        now + timedelta(hours=1),
    )
    assert not catch_up(now)
    assert due(clippers[0]) == (at(4), "hours")
    assert catch_up(now + timedelta(hours=2))
    assert due(clippers[0]) == (at(2), "hours")
    assert not catch_up(now + timedelta(hours=2))
