"""What the counter asks of the server besides the book itself."""

from collections.abc import Callable
from datetime import timedelta
from typing import Any

import pytest
from django.test import Client
from django.utils import timezone

from crews.models import Badge, Device, Picker
from equipment.actions.register import Run, register
from equipment.actions.set_rule import set_rule
from equipment.actions.writing import Pen
from equipment.domain import codes
from equipment.models import Kind, Membership
from equipment.models.mornings import ABSENT_AFTER, morning
from tests.cast import Farm, day_card
from tests.farm import Post

SignIn = Callable[[str], Client]


@pytest.fixture
def as_(farm: Farm) -> SignIn:
    def sign_in(name: str) -> Client:
        client = Client()
        client.force_login(farm.users[name], backend="crews.signing_in.RoleBackend")
        return client

    return sign_in


@pytest.fixture
def rosa(as_: SignIn, farm: Farm) -> Client:
    """Rosa at the counter of store A."""
    client = as_("rosa")
    client.post("/counter/here/", {"counter": str(farm.device.pk)})
    return client


def asked(client: Client, path: str, **query: str) -> Any:
    response = client.get(path, query)
    assert response.status_code == 200
    return response.json()


def test_the_first_visit_asks_which_counter_this_is(farm: Farm, as_: SignIn) -> None:
    client = as_("rosa")
    assert client.get("/counter/").headers["Location"] == "/counter/here/"
    client.post("/counter/here/", {"store": "B", "name": "left hatch"})
    made = Device.objects.get(name="left hatch")
    assert (made.kind, made.store_id, made.owner) == ("counter", "B", None)
    assert client.get("/counter/").status_code == 200


def test_any_number_of_counters_and_a_known_one_is_chosen_again(farm: Farm, as_: SignIn) -> None:
    for name in ("one", "two", "three"):
        assert as_("rosa").post("/counter/here/", {"store": "A", "name": name}).status_code == 302
    back = as_("rosa")
    back.post("/counter/here/", {"counter": str(Device.objects.get(name="two").pk)})
    assert back.get("/counter/").context["here"].name == "two"
    assert Device.objects.filter(kind="counter").count() == 4


@pytest.mark.parametrize("typed", [{}, {"store": "A"}, {"name": "x"}, {"store": "no", "name": "x"}])
def test_a_counter_needs_a_store_and_a_name(typed: dict[str, str], farm: Farm, as_: SignIn) -> None:
    answer = as_("rosa").post("/counter/here/", typed)
    assert answer.status_code == 400
    assert "field-wrong" in answer.content.decode()


@pytest.mark.parametrize("spoil", ["forged", "revoked"])
def test_a_forged_or_revoked_counter_is_asked_again(spoil: str, farm: Farm, rosa: Client) -> None:
    if spoil == "forged":
        rosa.cookies["counter"] = f"{farm.device.pk}:forged"
    else:
        Device.objects.filter(pk=farm.device.pk).update(revoked_at=timezone.now())
    assert rosa.get("/counter/").headers["Location"] == "/counter/here/"


@pytest.mark.parametrize("name", ["sam", "mo", "frank"])
def test_only_the_storeman_and_the_officer_stand_at_the_counter(name: str, as_: SignIn) -> None:
    client = as_(name)
    for path in ("/counter/", "/counter/here/", "/counter/sheet/", "/counter/kit/PK0001A/"):
        assert client.get(path).status_code == 403
    assert client.post("/counter/new-picker/", {"name": "X", "crew": "Y"}).status_code == 403


def test_the_officer_lets_go_at_the_counter_and_lends_no_cards(farm: Farm, as_: SignIn) -> None:
    olga = as_("olga")
    olga.post("/counter/here/", {"counter": str(farm.device.pk)})
    page = olga.get("/counter/")
    assert page.status_code == 200 and page.context["script"]["mayLend"] is False
    assert olga.get(f"/counter/crew/{farm.crews['red'].pk}/figures/").status_code == 200
    assert olga.post("/counter/day-card/", {"badge": "X", "picker": "1"}).status_code == 403
    assert (
        as_("rosa").post("/counter/day-card/", {"badge": "X", "picker": farm.pickers["ana"].pk}).status_code
        == 200
    )


def test_the_script_knows_what_can_be_wrong_and_the_tag_of_it(farm: Farm, rosa: Client) -> None:
    faults = rosa.get("/counter/").context["script"]["faults"]
    of_clippers = faults["ofKind"]["clippers"]
    assert of_clippers[0] == "clippers_worn_spring" and of_clippers[8] == "dirty"
    assert of_clippers[-2:] == ["hurt_someone", "tag_unreadable"] and "wet" not in of_clippers
    assert faults["names"]["clippers_worn_spring"] == "Worn spring"
    assert faults["tags"][111] == "clippers_worn_spring"
    assert set(faults["ofKind"]) == set(Kind.objects.values_list("pk", flat=True))


def test_what_stops_the_use_and_what_is_looked_at_daily_go_by_the_rules(
    ruled_farm: Farm, rosa: Client
) -> None:
    def script() -> Any:
        return rosa.get("/counter/").context["script"]

    assert set(script()["checks"]) == {"clippers", "ladder"}
    assert script()["checks"]["clippers"]["checklist"] == "clippers_daily"
    assert set(script()["checks"]["clippers"]["answers"].values()) == {"yes"}
    stops = script()["faults"]["stops"]
    assert "clippers_blunt" in stops and not {"dirty", "clippers_light_rust"} & set(stops)
    now, olga = timezone.now(), ruled_farm.users["olga"]
    set_rule(olga, "fault clippers_blunt", {"severity": "note"}, "honed on the spot", now)
    set_rule(olga, "inspection clippers_daily", {"every_days": 7}, "looked at when dipped", now)
    assert "clippers_blunt" not in script()["faults"]["stops"]
    assert set(script()["checks"]) == {"ladder"}


def test_the_page_of_fault_tags_of_a_kind(farm: Farm, as_: SignIn) -> None:
    for query in ("", "?kind=ladder"):
        answer = as_("rosa").get(f"/cards/fault-tags.pdf{query}")
        assert answer.status_code == 200 and answer.content.startswith(b"%PDF")
    assert as_("rosa").get("/cards/fault-tags.pdf?kind=crown").status_code == 400
    assert as_("sam").get("/cards/fault-tags.pdf").status_code == 403


def test_a_kit_says_what_is_asked_held_missing_and_usual(farm: Farm, rosa: Client, post: Post) -> None:
    farm.plan("red", "N4")
    yesterday = timezone.now() - timedelta(days=1)
    pen = Pen(farm.users["rosa"], "A", yesterday - timedelta(days=1))
    bag, clippers = register(pen, [Run(Kind.objects.get(pk=kind), "A") for kind in ("bag", "clippers")])
    entries = [("handed_out", clippers, -2), ("returned", clippers, -1), ("handed_out", bag, 0)]
    for verb, tag, hours in entries:
        who = {"picker": farm.badges["ana"]} if verb == "handed_out" else {}
        post(farm.entry(verb, item=tag, at=yesterday + timedelta(hours=hours), **who), gate="note")
    kit = asked(rosa, f"/counter/kit/{farm.badges['ana']}/")
    assert (kit["who"], kit["crew"]["name"], kit["complete"]) == ("Ana", "Red crew", False)
    assert {line["kind"] for line in kit["missing"]} == {"clippers", "gloves"}
    for words in (
        "N4 lemon",
        "clipped, tall trees",
        bag,
        f'usually <span class="tag">{clippers}',
        "is out since",
    ):
        assert words in " ".join(kit["html"].split())


def test_the_kit_of_the_one_before_comes_along(farm: Farm, rosa: Client) -> None:
    kit = asked(rosa, f"/counter/kit/{farm.badges['ben']}/", last=farm.badges["ana"])
    assert kit["who"] == "Ben"
    assert kit["last"]["who"] == "Ana" and not kit["last"]["complete"]
    assert "clippers" in {line["kind"] for line in kit["last"]["missing"]}


def test_a_crew_has_a_kit_of_its_own(farm: Farm, rosa: Client, post: Post) -> None:
    farm.plan("red", "N4")
    (box,) = farm.gear("first_aid_kit")
    post(farm.entry("handed_out", item=box, crew=farm.crews["red"].pk))
    kit = asked(rosa, f"/counter/kit/{farm.crews['red'].pk}/")
    assert kit["who"] == "Red crew" and box in kit["html"]
    assert "ladder" in {line["kind"] for line in kit["missing"]}
    assert "first_aid_kit" not in {line["kind"] for line in kit["missing"]}


def test_a_waived_line_says_why(farm: Farm, rosa: Client, post: Post) -> None:
    ana, red = farm.badges["ana"], farm.crews["red"].pk
    post(farm.entry("waived", crew=red, picker=ana, detail={"kind": "clippers"}, note="shares with Ben"))
    kit = asked(rosa, f"/counter/kit/{ana}/")
    assert "Done without: shares with Ben" in kit["html"]
    assert "clippers" not in {line["kind"] for line in kit["missing"]}


def cards(farm: Farm) -> dict[str, str]:
    """One card of each sort that stands for nobody."""
    dead = Badge.objects.create(code=codes.make(codes.BADGE, 8001), died_on=timezone.localdate())
    return {
        "blank_day_card": day_card().pk,
        "dead_card": dead.pk,
        "unknown_picker": codes.make(codes.BADGE, 7777),
        "unknown_crew": codes.make(codes.CREW, 7777),
    }


def test_a_card_that_stands_for_nobody_says_what_it_is(farm: Farm, rosa: Client) -> None:
    for said, code in cards(farm).items():
        assert asked(rosa, f"/counter/kit/{code}/")["code"] == said


def test_what_a_holder_owes_by_badge_by_item_and_by_crew(farm: Farm, rosa: Client, post: Post) -> None:
    (bag, other), (overalls,), (box,) = farm.gear("bag", 2), farm.gear("overalls"), farm.gear("toolbox")
    ana, red = farm.badges["ana"], farm.crews["red"].pk
    post(*(farm.entry("handed_out", item=tag, picker=ana) for tag in (bag, other, overalls)))
    post(farm.entry("handed_out", item=box, crew=red))
    post(farm.entry("returned", item=bag))
    for path in (ana, bag):  # the bag is back, and still tells whose it was
        owes = asked(rosa, f"/counter/owes/{path}/")
        assert (owes["who"], [one["tag"] for one in owes["owes"]]) == ("Ana", [other])
    assert [one["tag"] for one in asked(rosa, f"/counter/owes/{red}/")["owes"]] == [box]
    assert asked(rosa, f"/counter/owes/{farm.gear('bag')[0]}/") == {"code": "nobody"}


def test_an_undone_handout_names_no_holder(farm: Farm, rosa: Client, post: Post) -> None:
    (bag,) = farm.gear("bag")
    first = farm.entry("handed_out", item=bag, picker=farm.badges["ana"])
    post(first)
    post(farm.entry("reversed", item=bag, detail={"entry": first["id"]}))
    assert asked(rosa, f"/counter/owes/{bag}/") == {"code": "nobody"}


def test_a_set_lists_its_pieces(farm: Farm, rosa: Client, post: Post) -> None:
    tags = [*farm.gear("bag"), *farm.gear("clippers")]
    code = codes.make(codes.SET, 1)
    post(*(farm.entry("packed", item=tag, detail={"set": code}) for tag in tags))
    assert asked(rosa, f"/counter/set/{code}/")["pieces"] == tags
    assert asked(rosa, f"/counter/set/{codes.make(codes.SET, 2)}/")["pieces"] == []


def test_the_sheet_holds_what_is_needed_without_the_book(farm: Farm, rosa: Client, post: Post) -> None:
    bag, packed, box = *farm.gear("bag", 2), farm.gear("toolbox")[0]
    code = codes.make(codes.SET, 1)
    post(farm.entry("handed_out", item=bag, picker=farm.badges["ana"]))
    post(farm.entry("handed_out", item=box, crew=farm.crews["red"].pk))
    post(farm.entry("packed", item=packed, detail={"set": code}))
    sheet = asked(rosa, "/counter/sheet/")
    ana = farm.pickers["ana"]
    assert [ana.pk, "1", "Ana", farm.crews["red"].pk, farm.badges["ana"]] in sheet["pickers"]
    assert sheet["cards"][farm.badges["ana"]] == ana.pk
    assert sheet["sets"] == {code: [packed]}
    assert sheet["out"] == {bag: ana.pk, box: farm.crews["red"].pk}


def test_a_blank_day_card_is_lent_once_a_day(farm: Farm, rosa: Client) -> None:
    card = day_card().pk
    lend = {"badge": card, "picker": farm.pickers["ana"].pk}
    assert rosa.post("/counter/day-card/", lend).json() == {"badge": card, "who": "Ana"}
    assert asked(rosa, f"/counter/kit/{card}/")["who"] == "Ana"
    again = rosa.post("/counter/day-card/", {**lend, "picker": farm.pickers["ben"].pk}).json()
    assert again["code"] == "card_not_free" and "Ana" in again["say"]
    assert (
        rosa.post("/counter/day-card/", {**lend, "badge": farm.badges["ben"]}).json()["code"]
        == "card_not_free"
    )
    assert rosa.post("/counter/day-card/", {**lend, "badge": "nonsense"}).json() == {"code": "unknown_card"}
    assert rosa.post("/counter/day-card/", {**lend, "picker": "nobody"}).status_code == 404


def test_someone_new_needs_a_name_and_a_crew_only(farm: Farm, rosa: Client) -> None:
    red = farm.crews["red"].pk
    added = rosa.post("/counter/new-picker/", {"name": "  Xola   Mbeki ", "crew": red}).json()
    picker = Picker.objects.get(pk=added["picker"])
    assert (picker.name, picker.number) == ("Xola Mbeki", "4")
    assert Membership.objects.get(picker=picker).crew_id == red
    for wrong in ({"name": " ", "crew": red}, {"name": "Xola", "crew": "none"}, {}):
        refused = rosa.post("/counter/new-picker/", wrong).json()
        assert refused["code"] == "not_added" and refused["say"]
    assert Picker.objects.count() == 4


def test_a_crew_s_morning_from_the_first_to_the_absent(farm: Farm, post: Post) -> None:
    red, today, now = farm.crews["red"], timezone.localdate(), timezone.now()

    def groups(at: Any) -> tuple[list[str], ...]:
        seen = morning(red, today, at)
        return tuple([kit.picker.name for kit in group] for group in (seen.served, seen.to_come, seen.absent))

    assert groups(now) == ([], ["Ana", "Ben"], [])
    (bag,) = farm.gear("bag")
    entry = farm.entry("handed_out", item=bag, picker=farm.badges["ana"])
    post(entry)
    assert groups(timezone.now()) == (["Ana"], ["Ben"], [])
    assert groups(timezone.now() + ABSENT_AFTER) == (["Ana"], [], ["Ben"])
    post(farm.entry("reversed", item=bag, detail={"entry": entry["id"]}))
    assert groups(timezone.now() + ABSENT_AFTER) == ([], ["Ana", "Ben"], [])


def test_the_crew_page_and_its_parts(farm: Farm, as_: SignIn) -> None:
    red, blue = farm.crews["red"].pk, farm.crews["blue"].pk
    page = as_("rosa").get(f"/counter/crew/{red}/").content.decode()
    assert "Still to come" in page and "Ana" in page and "Cy" not in page
    assert "<html" not in as_("rosa").get(f"/counter/crew/{red}/figures/").content.decode()
    assert as_("sam").get(f"/counter/crew/{red}/").status_code == 200
    assert as_("sam").get(f"/counter/crew/{blue}/").status_code == 404  # not Sam's crew


@pytest.mark.parametrize(
    "path",
    ["/counter/kit/{red}/", "/counter/kit/{ana}/?last={ana}", "/counter/sheet/", "/counter/crew/{red}/"],
)
def test_no_more_queries_for_more_rows(
    path: str, farm: Farm, rosa: Client, post: Post, django_assert_max_num_queries
) -> None:  # type: ignore[no-untyped-def]
    farm.plan("red", "N4")
    path = path.format(red=farm.crews["red"].pk, ana=farm.badges["ana"])

    def hand_out(count: int) -> None:
        post(
            *(
                farm.entry("handed_out", item=tag, picker=farm.badges["ana"])
                for tag in farm.gear("bag", count)
            )
        )
        post(
            *(
                farm.entry("handed_out", item=tag, crew=farm.crews["red"].pk)
                for tag in farm.gear("ladder", count)
            )
        )

    def cost() -> int:
        with django_assert_max_num_queries(40) as seen:
            assert rosa.get(path).status_code == 200
        return len(seen)

    hand_out(1)
    before = cost()
    hand_out(20)
    assert cost() == before
