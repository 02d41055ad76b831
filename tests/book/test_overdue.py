"""What is out and due: whose, where, why, how long; and what is not told."""

from collections.abc import Sequence
from datetime import timedelta

import pytest
from django.db import connection
from django.utils import timezone

from equipment.models import ItemState
from equipment.models.now import baths_now, crews_now
from equipment.models.overdue import FEW, Fallen, Group, Page, groups, next_dip, pieces, question
from tests.cast import Farm
from tests.mornings import ago, clippers, dipped, handed, hours_up, told


def due(farm: Farm, name: str = "rosa") -> list[Group]:
    return groups(farm.users[name], timezone.now())


def tags_of(found: Sequence[Fallen]) -> list[str]:
    return sorted(tag for each in found for tag in each.tags)


def test_clippers_whose_hours_are_up_stand_under_their_crew(ruled_farm: Farm) -> None:
    tags = hours_up(ruled_farm, 3)
    (group,) = due(ruled_farm)
    assert (group.crew, group.kind, group.method) == (ruled_farm.crews["red"].pk, "clippers", "sterilise")
    assert tags_of(group.overdue) == tags
    assert {each.cause for each in group.overdue} == {"hours"}
    assert timedelta(minutes=35) <= timezone.now() - group.overdue[0].at < timedelta(minutes=36)
    assert group.coming == []


def test_what_falls_due_within_two_hours_is_told_apart(ruled_farm: Farm) -> None:
    hours_up(ruled_farm, 2, late=timedelta(minutes=-75))
    (group,) = due(ruled_farm)
    assert group.overdue == [] and len(tags_of(group.coming)) == 2
    assert timedelta(minutes=74) < group.coming[0].at - timezone.now() <= timedelta(minutes=75)


def test_what_falls_due_later_is_not_told(ruled_farm: Farm) -> None:
    hours_up(ruled_farm, 2, late=timedelta(minutes=-125))
    assert due(ruled_farm) == []


def test_what_lies_in_the_store_is_not_told(ruled_farm: Farm) -> None:
    clippers(ruled_farm, 2)
    assert ItemState.objects.filter(due_at__lt=timezone.now()).count() == 2
    assert due(ruled_farm) == []


def test_a_dip_in_the_orchard_takes_it_off(ruled_farm: Farm) -> None:
    tags = hours_up(ruled_farm, 2)
    dipped(ruled_farm, tags[:1], ago(minutes=1))
    (group,) = due(ruled_farm)
    assert tags_of(group.overdue) == tags[1:]


def test_dirt_wants_a_wash_and_then_a_dip(ruled_farm: Farm) -> None:
    (tag,) = hours_up(ruled_farm, 1, late=timedelta(minutes=-200))
    pen = ruled_farm.pen()
    item = ItemState.objects.get(tag=tag)
    found = pen.draft("fault_found", item=item.item_id, crew=item.crew_id, detail={"fault": "dirty"})
    assert pen.record([found]).outcomes[0].recorded
    assert {(group.method, group.overdue[0].cause) for group in due(ruled_farm)} == {
        ("wash", "dirty"),
        ("sterilise", "dirty"),
    }
    (piece,) = pieces(None, timezone.now(), timedelta(0), Page(9))
    assert piece.first.method == "wash"


def test_what_must_be_sterilised_comes_before_what_must_be_washed(ruled_farm: Farm) -> None:
    handed(ruled_farm, clippers(ruled_farm, 1, "bag"), ago(hours=3))  # never washed, since yesterday
    hours_up(ruled_farm, 1)
    assert [group.method for group in due(ruled_farm)] == ["sterilise", "wash"]


def test_a_supervisor_sees_their_own(ruled_farm: Farm) -> None:
    hours_up(ruled_farm, 1)
    handed(ruled_farm, clippers(ruled_farm, 1), ago(hours=1), "cy", "blue")
    assert len(due(ruled_farm)) == 2
    assert [group.crew for group in due(ruled_farm, "sam")] == [ruled_farm.crews["red"].pk]


def test_pages_by_key_miss_nothing_and_repeat_nothing_where_all_fell_due_together(ruled_farm: Farm) -> None:
    tags = hours_up(ruled_farm, 7)
    assert ItemState.objects.filter(tag__in=tags).values("due_at").distinct().count() == 1
    found, after = [], None
    while page := pieces(None, timezone.now(), timedelta(0), Page(3, after)):
        found += [each.tag for each in page]
        after = page[-1].due_at, ItemState.objects.get(tag=page[-1].tag).item_id
    assert sorted(found) == tags


def test_the_partial_index_serves_it(ruled_farm: Farm) -> None:
    """Where it would not, every item of the farm would be read every few seconds."""
    out = clippers(ruled_farm, 300, "bag")
    ItemState.objects.filter(tag__in=out).update(place="crew", due_at=None)
    hours_up(ruled_farm, 2)
    asked, values = question(FEW, None, timezone.now())
    with connection.cursor() as cursor:
        if connection.vendor == "postgresql":
            # So few pages are read whole whatever the index; ask what it does where that is forbidden.
            cursor.execute("ANALYZE equipment_itemstate, equipment_item")
            cursor.execute("SET LOCAL enable_seqscan = off")
        cursor.execute(f"EXPLAIN {'QUERY PLAN ' if connection.vendor == 'sqlite' else ''}{asked}", values)
        plan = "\n".join(str(row) for row in cursor.fetchall())
    assert "cleanings_due_in_use" in plan, plan


def test_the_next_dip_of_a_crew(ruled_farm: Farm) -> None:
    red = ruled_farm.crews["red"].pk
    assert next_dip(red, timezone.now()) is None
    hours_up(ruled_farm, 2, late=timedelta(minutes=-75))
    dip = next_dip(red, timezone.now())
    assert dip is not None and not dip.overdue and dip.count == 2
    later = next_dip(red, timezone.now() + timedelta(hours=2))
    assert later is not None and later.overdue and later.at == dip.at
    assert next_dip(ruled_farm.crews["blue"].pk, timezone.now()) is None


def test_where_the_crews_are(ruled_farm: Farm) -> None:
    red, blue = (ruled_farm.crews[colour].pk for colour in ("red", "blue"))
    told(ruled_farm, "arrived", ago(hours=2), block="N4")
    told(ruled_farm, "arrived", ago(hours=20), crew="blue", block="S2")  # and nobody said that they left
    found = crews_now(None, timezone.localdate(), timezone.now())
    assert (found[red].block, found[blue].block) == ("N4", None)
    told(ruled_farm, "stopped", ago(hours=1), cause="rain")
    assert crews_now(None, timezone.localdate(), timezone.now())[red].block is None


@pytest.mark.parametrize(("state", "lacking"), [("planned", True), ("stopped", False), ("cancelled", False)])
def test_a_crew_that_picks_without_a_morning_check(ruled_farm: Farm, state: str, lacking: bool) -> None:
    ruled_farm.plan("red", "N4", state=state)
    red = ruled_farm.crews["red"].pk

    def unchecked() -> list[str]:
        found = crews_now(None, timezone.localdate(), timezone.now())
        return [code for code, crew in found.items() if crew.unchecked]

    assert unchecked() == ([red] if lacking else [])
    pen = ruled_farm.pen()
    pen.record([pen.draft("morning_checked", crew=red, detail={"answers": {"present": 2}})])
    assert unchecked() == []


def bath(farm: Farm, minutes_ago: float, **entries: dict) -> None:
    """A bath of daily bleach, good for two hours."""
    pen = farm.pen()
    own = pen.draft("emptied", bath=None, detail={"where": "drain"}).id
    mixed = {"recipe": "clippers_daily_bleach", "litres": 10, "product_ml": 1500, "strength_pct": 3.5}
    drafts = [pen.draft("mixed", bath=own, happened_at=ago(minutes=minutes_ago), detail=mixed)]
    drafts += [pen.draft(verb, bath=own, detail=detail) for verb, detail in entries.items()]
    pen.record(drafts)


STANDING = {
    "fresh": (10, {}, []),
    "ends in a quarter of an hour": (105, {}, [""]),
    "too old": (125, {}, ["too_old"]),
    "too old, and emptied": (125, {"emptied": {"where": "drain"}}, []),
    "failed its test": (10, {"tested": {"ppm": 900}}, ["test_failed"]),
    "passed its test": (10, {"tested": {"ppm": 5000}}, []),
}


@pytest.mark.parametrize(("minutes", "entries", "flaws"), STANDING.values(), ids=STANDING)
def test_baths_that_want_a_hand(ruled_farm: Farm, minutes: float, entries: dict, flaws: list[str]) -> None:
    bath(ruled_farm, minutes, **entries)
    assert [each.flaw for each in baths_now(None, timezone.now())] == flaws


def test_a_bath_of_another_days_is_not_told_of_any_more(ruled_farm: Farm) -> None:
    bath(ruled_farm, 30 * 60)
    assert baths_now(None, timezone.now()) == []
