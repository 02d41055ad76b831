"""`GET /api/crews/<code>/sheet/`: what a phone takes along, all of it and no name."""

import json
from datetime import UTC, datetime, timedelta
from hashlib import sha256
from typing import Any
from uuid import UUID

import pytest
from django.utils import timezone

from crews.models import Crew, Picker
from equipment.actions.writing import Pen, new_id
from equipment.domain import condition as domain
from equipment.domain.kit import Rule
from equipment.domain.rules import CleaningRule, FaultRule
from equipment.models import ItemState, deriving, projections
from equipment.models.sheet import gear, trade
from tests.api.test_schema import conforms
from tests.cast import Farm
from tests.mornings import ago, clippers, dipped, handed, hours_up, pickers, told

CANARY = "Zebedee Canarybird"


def sheet_of(client: Any, farm: Farm, crew: str = "red", **headers: str) -> dict[str, Any]:
    answer = client.get(f"/api/crews/{farm.crews[crew].pk}/sheet/", **headers)
    assert answer.status_code == 200, answer.content
    return answer.json()


def test_it_is_as_described(ruled_farm: Farm, client_of: Any) -> None:
    ruled_farm.plan("red", "N4")
    hours_up(ruled_farm, 2)
    described = client_of("sam").get("/api/schema/?format=json").json()
    conforms(sheet_of(client_of("sam"), ruled_farm), "/api/crews/{code}/sheet/", described)


def test_who_is_in_the_crew_and_whose_crew_it_is(farm: Farm, client_of: Any) -> None:
    Crew.objects.create(code="CW0003Y", name="Amber crew", store=farm.stores["A"])
    found = sheet_of(client_of("sam"), farm)
    red = {"code": farm.crews["red"].pk, "name": "Red crew", "own": True}
    assert found["crew"] == red
    assert found["crews"] == [red, {"code": "CW0003Y", "name": "Amber crew", "own": False}]
    ana, ben = (farm.pickers[name].pk for name in ("ana", "ben"))
    assert [(each["picker"], each["badge"], each["number"]) for each in found["members"]] == [
        (ana, farm.badges["ana"], "1"),
        (ben, farm.badges["ben"], "2"),
    ]
    assert set(found["state"]["members"]) == {str(ana), str(ben)}
    assert found["other_pickers"] == []
    assert (found["store"], found["day"], found["v"]) == ("A", timezone.localdate().isoformat(), 1)


def test_a_crew_that_was_taken_over_is_ones_own_until_another_takes_it(farm: Farm, client_of: Any) -> None:
    blue = farm.crews["blue"].pk
    Crew.objects.filter(pk=blue).update(store="A")

    def own() -> dict[str, bool]:
        return {each["code"]: each["own"] for each in sheet_of(client_of("sam"), farm, "blue")["crews"]}

    assert own()[blue] is False
    for who, expected in (("sam", True), ("olga", False)):
        pen = farm.pen(who)
        pen.record([pen.draft("taken_over", crew=blue)])
        assert own() == {farm.crews["red"].pk: True, blue: expected}
        assert client_of("sam").get("/orchard/here/").json()["crews"][1]["own"] is expected


def test_the_pickers_of_the_stores_other_crews_can_be_lent(farm: Farm, client_of: Any) -> None:
    Crew.objects.filter(pk=farm.crews["blue"].pk).update(store="A")
    found = sheet_of(client_of("sam"), farm)
    cy = {"picker": farm.pickers["cy"].pk, "badge": farm.badges["cy"], "number": "3"}
    assert found["other_pickers"] == [{**cy, "crew": farm.crews["blue"].pk}]
    assert farm.pickers["cy"].pk not in [each["picker"] for each in found["members"]]


def test_who_joined_another_crew_is_no_member_here(farm: Farm, client_of: Any) -> None:
    Crew.objects.filter(pk=farm.crews["blue"].pk).update(store="A")
    pen = Pen(farm.users["rosa"], "A", timezone.now())
    ben = farm.pickers["ben"].pk
    pen.record([pen.draft("joined", crew=farm.crews["blue"].pk, picker=ben)])
    found = sheet_of(client_of("sam"), farm)
    assert [each["picker"] for each in found["members"]] == [farm.pickers["ana"].pk]
    assert str(ben) not in found["state"]["members"]
    assert {each["picker"] for each in found["other_pickers"]} == {ben, farm.pickers["cy"].pk}


def test_gear_of_the_crew_of_its_pickers_and_of_today(ruled_farm: Farm, client_of: Any) -> None:
    spare, anas, back, never, cys = clippers(ruled_farm, 5)
    handed(ruled_farm, [spare], ago(hours=3), who=None)
    handed(ruled_farm, [anas, back], ago(hours=3))
    handed(ruled_farm, [cys], ago(hours=3), "cy", "blue")
    pen = Pen(ruled_farm.users["rosa"], "A", timezone.now())
    item = ItemState.objects.get(tag=back).item_id
    pen.record([pen.draft("returned", item=item, crew=ruled_farm.crews["red"].pk)], "note")
    found = {each["tag"]: each for each in sheet_of(client_of("sam"), ruled_farm)["items"]}
    assert set(found) == {spare, anas, back}
    assert never not in found
    row = ItemState.objects.select_related("item").get(tag=anas)
    assert found[anas]["id"] == str(row.pk)
    assert (found[anas]["state"]["place"], found[anas]["state"]["picker"]) == (
        "picker",
        ruled_farm.pickers["ana"].pk,
    )
    assert found[back]["state"]["place"] == "store"


def test_a_state_is_a_fold_with_the_fields_of_the_values(ruled_farm: Farm, client_of: Any) -> None:
    """Reading it back gives the very fold of the book."""
    (tag,) = hours_up(ruled_farm, 1)
    found = sheet_of(client_of("sam"), ruled_farm)
    (item,) = found["items"]
    row = ItemState.objects.get(tag=tag)
    kept = projections.folded_item(row)
    read = projections.ITEM.validate_python({"state": item["state"]})
    assert read.state == kept.state
    assert item["void"] == row.void
    (visit,) = found["state"]["visits"]
    assert (visit["block"], visit["until"]) == ("N4", None)


def test_what_is_due_can_be_worked_out_from_it_alone(ruled_farm: Farm, client_of: Any) -> None:
    """Gear with a past in two crews, blocks and baths: from the sheet's JSON comes what stands in the book's rows."""
    hours_up(ruled_farm, 2)
    (passed_on,) = clippers(ruled_farm, 1)
    dipped(ruled_farm, [passed_on], ago(hours=3))
    handed(ruled_farm, [passed_on], ago(hours=2, minutes=30), "cy", "blue")
    told(ruled_farm, "arrived", ago(hours=2), crew="blue", block="S2")
    handed(ruled_farm, [passed_on], ago(hours=1))
    mixed_and_dipped(ruled_farm, 2)
    for tag in ItemState.objects.filter(place="store").values_list("tag", flat=True):
        handed(ruled_farm, [tag], ago(minutes=5))
    found = sheet_of(client_of("sam"), ruled_farm)
    crew = projections.CREW.validate_python({"state": found["state"]}).state
    visits = {ruled_farm.crews["red"].pk: crew.visits, **gear.VISITS.validate_python(found["other_visits"])}
    rules = trade.RULES.validate_python(found["rules"])
    rows = ItemState.objects.in_bulk([each["id"] for each in found["items"]])
    assert len(rows) == 5 and any(row.due for row in rows.values())
    for each in found["items"]:
        state = gear.ITEM.validate_python(each["state"])
        void = {UUID(entry): why for entry, why in each["void"].items()}
        condition = domain.condition(state, rules, domain.Around(visits, void))
        told_anew = deriving.columns(state, condition, void)
        row = rows[UUID(each["id"])]
        assert {name: told_anew[name] for name in ("due", "due_at", "holds_at", "place")} == {
            "due": row.due,
            "due_at": row.due_at,
            "holds_at": row.holds_at,
            "place": row.place,
        }


def test_its_times_are_utc_however_they_were_written_down(ruled_farm: Farm, client_of: Any) -> None:
    (tag,) = clippers(ruled_farm, 1)
    at = ago(hours=2).astimezone(timezone.get_fixed_timezone(120))
    handed(ruled_farm, [tag], at)
    (item,) = sheet_of(client_of("sam"), ruled_farm)["items"]
    assert item["state"]["since"] == at.astimezone(UTC).strftime("%Y-%m-%dT%H:%M:%S.%fZ")
    assert "+02:00" not in json.dumps(sheet_of(client_of("sam"), ruled_farm))


def test_visits_go_back_as_far_as_a_clock_counts(ruled_farm: Farm, client_of: Any) -> None:
    """A bag's wash holds for 45 hours in the orchard, over more days than a sheet would need otherwise."""
    for days in (9, 6, 4):
        told(ruled_farm, "arrived", ago(days=days), block="N4")
        told(ruled_farm, "left", ago(days=days, hours=-8))
    found = sheet_of(client_of("sam"), ruled_farm)
    assert found["state"]["visits"] == []
    (bag,) = ruled_farm.gear("bag", days_ago=20)
    pen = Pen(ruled_farm.users["rosa"], "A", timezone.now())
    item = ItemState.objects.get(tag=bag).item_id
    way = {"method": "wash", "recipe": "bags_wash"}
    pen.record([pen.draft("cleaned", item=item, happened_at=ago(days=7), detail=way)], "note")
    handed(ruled_farm, [bag], ago(days=6, hours=1))
    found = sheet_of(client_of("sam"), ruled_farm)
    assert len(found["state"]["visits"]) == 2


def test_visits_of_another_crew_that_had_the_gear(ruled_farm: Farm, client_of: Any) -> None:
    (tag,) = clippers(ruled_farm, 1)
    dipped(ruled_farm, [tag], ago(hours=6))
    handed(ruled_farm, [tag], ago(hours=5), "cy", "blue")
    told(ruled_farm, "arrived", ago(hours=4), crew="blue", block="S2")
    handed(ruled_farm, [tag], ago(hours=1))
    found = sheet_of(client_of("sam"), ruled_farm)
    ((crew, (visit,)),) = found["other_visits"].items()
    assert (crew, visit["block"]) == (ruled_farm.crews["blue"].pk, "S2")


def mixed_and_dipped(farm: Farm, count: int) -> UUID:
    """A bath mixed today and another four days ago; so many pieces dipped in the new one."""
    pen = Pen(farm.users["rosa"], "A", timezone.now())
    bath, old = new_id(), new_id()
    detail = {"recipe": "clippers_daily_bleach", "litres": 10, "product_ml": 1430, "strength_pct": 3.5}
    for own, at in ((bath, ago(minutes=50)), (old, ago(days=4))):
        pen.record([pen.draft("mixed", bath=own, happened_at=at, detail=detail)], "note")
    way = {"method": "sterilise", "recipe": "clippers_daily_bleach", "seconds": 600}
    items = ItemState.objects.filter(tag__in=clippers(farm, count)).values_list("pk", flat=True)
    pen.record([pen.draft("cleaned", item=item, bath=bath, detail=way) for item in items], "note")
    return bath


def test_a_bath_that_stands_and_how_many_were_in_it(ruled_farm: Farm, client_of: Any) -> None:
    bath = mixed_and_dipped(ruled_farm, 2)
    (found,) = sheet_of(client_of("sam"), ruled_farm)["baths"]
    assert (found["bath"], found["dipped"]) == (str(bath), 2)
    assert found["state"]["recipe"] == "clippers_daily_bleach"


def test_plans_of_today_and_tomorrow_and_the_blocks(farm: Farm, client_of: Any) -> None:
    farm.plan("red", "N4", part="morning", clipped=False)
    farm.plan("red", "S2", days=1)
    farm.plan("red", "S2", days=2)
    farm.plan("blue", "S2")
    found = sheet_of(client_of("sam"), farm)
    today = timezone.localdate().isoformat()
    assert [(each["block"], each["clipped"]) for each in found["plans"]] == [("N4", False), ("S2", True)]
    assert {name: found["plans"][0][name] for name in ("date", "part", "state")} == {
        "date": today,
        "part": "morning",
        "state": "planned",
    }
    assert {"code": "N4", "name": "", "crop": "lemon", "tall_trees": True} in found["blocks"]


def test_what_a_piece_stood_in_for_today(farm: Farm, client_of: Any, post: Any) -> None:
    glove, bag = farm.gear("glove", days_ago=1) + farm.gear("bag", days_ago=1)
    ana, at = farm.badges["ana"], timezone.now()
    answers = post(
        farm.entry("handed_out", item=glove, picker=ana, at=at, detail={"waived": "gloves"}),
        farm.entry("handed_out", item=bag, picker=ana),
    )
    assert [answer["outcome"] for answer in answers] == ["recorded", "recorded"]
    ((picker, kind, when),) = sheet_of(client_of("sam"), farm)["stood_in"]
    assert (picker, kind) == (farm.pickers["ana"].pk, "gloves")
    assert abs(datetime.fromisoformat(when) - at) < timedelta(seconds=1)


def test_the_rules_and_the_words_of_the_trade(ruled_farm: Farm, client_of: Any) -> None:
    found = sheet_of(client_of("sam"), ruled_farm)
    rule = FaultRule(**found["rules"]["faults"]["bag_hole"])
    assert rule.severity in ("stop_use", "mend_by")
    assert [CleaningRule(**each).method for each in found["rules"]["cleaning"]["clippers"]] == ["sterilise"]
    assert found["rules"]["version"] > 0
    assert {Rule(**each).holder for each in found["kit"]} == {"picker", "crew"}
    fault = next(each for each in found["faults"] if each["code"] == "bag_hole")
    assert {"name", "look", "mend", "never_mend", "severity", "released_by"} <= set(fault)
    recipe = next(each for each in found["recipes"] if each["code"] == "clippers_daily_bleach")
    assert recipe["cautions"] and recipe["contact_seconds"] and recipe["after"]
    assert {each["code"] for each in found["kinds"]} >= {"bag", "clippers", "ladder"}
    assert any(point["ask"] for each in found["checklists"] for point in each["points"])


@pytest.mark.parametrize("who", ["rosa", "sam", "olga", "mo", "frank"])
def test_every_role_may_read_it(farm: Farm, client_of: Any, who: str) -> None:
    assert sheet_of(client_of(who), farm)["crew"]["own"] == (who == "sam")


def test_a_supervisor_reads_the_crews_of_their_store_only(farm: Farm, client_of: Any) -> None:
    blue = f"/api/crews/{farm.crews['blue'].pk}/sheet/"
    assert client_of("sam").get(blue).status_code == 404
    Crew.objects.filter(pk=farm.crews["blue"].pk).update(store="A")
    assert client_of("sam").get(blue).status_code == 200


def test_a_supervisor_of_no_store_reads_none(farm: Farm, client_of: Any) -> None:
    Crew.objects.update(supervisor=None)
    for crew in farm.crews.values():
        assert client_of("sam").get(f"/api/crews/{crew.pk}/sheet/").status_code == 404


@pytest.mark.parametrize("code", ["CW0777X", "nonsense", "%00", "BG0001A"])
def test_a_crew_that_is_nowhere_is_404(farm: Farm, client_of: Any, code: str) -> None:
    answer = client_of("sam").get(f"/api/crews/{code}/sheet/")
    assert (answer.status_code, answer.json()["code"]) == (404, "not_found")


def test_its_etag_is_the_digest_of_its_body(farm: Farm, client_of: Any) -> None:
    address = f"/api/crews/{farm.crews['red'].pk}/sheet/"
    first = client_of("sam").get(address)
    assert first["ETag"] == f'"{sha256(first.content).hexdigest()}"'
    assert first["Cache-Control"] == "private, no-store"
    again = client_of("sam").get(address)
    assert (again["ETag"], again.content) == (first["ETag"], first.content)
    for known in (first["ETag"], "W/" + first["ETag"], f'"other", {first["ETag"]}'):
        unchanged = client_of("sam").get(address, HTTP_IF_NONE_MATCH=known)
        assert (unchanged.status_code, unchanged.content) == (304, b"")
        assert (unchanged["ETag"], unchanged["Cache-Control"]) == (first["ETag"], first["Cache-Control"])
    assert client_of("sam").get(address, HTTP_IF_NONE_MATCH='"other"').status_code == 200


def test_what_happens_changes_the_etag(farm: Farm, client_of: Any) -> None:
    address = f"/api/crews/{farm.crews['red'].pk}/sheet/"
    before = client_of("sam").get(address)["ETag"]
    handed(farm, clippers(farm, 1), ago(minutes=5))
    assert client_of("sam").get(address, HTTP_IF_NONE_MATCH=before).status_code == 200


def test_no_pickers_name_is_in_it(ruled_farm: Farm, client_of: Any) -> None:
    """A planted name, of a picker of every crew who has gear, is nowhere in the sheet."""
    Crew.objects.update(store="A")
    Picker.objects.update(name=CANARY)
    hours_up(ruled_farm, 1)
    handed(ruled_farm, clippers(ruled_farm, 1), ago(hours=1), "cy", "blue")
    for crew in ("red", "blue"):
        plain = json.dumps(sheet_of(client_of("sam"), ruled_farm, crew))
        assert ruled_farm.badges["ana"] in plain and ruled_farm.badges["cy"] in plain
        assert CANARY not in plain and "Canarybird" not in plain


def test_its_cost_does_not_grow(ruled_farm: Farm, client_of: Any, django_assert_num_queries: Any) -> None:
    """Session and person, the crew, and a fixed number for each part of the sheet."""
    client = client_of("sam")
    pickers(ruled_farm, 20)
    for more in (2, 30):
        hours_up(ruled_farm, more)
        mixed_and_dipped(ruled_farm, more)
        ruled_farm.plan("red", "N4", days=more % 3)
        with django_assert_num_queries(28):
            sheet_of(client, ruled_farm)
