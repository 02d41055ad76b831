"""The pages of crews, pickers, blocks and stores: who sees and does what, and what each act leaves behind."""

from collections.abc import Callable
from datetime import timedelta

import pytest
from django.test import Client
from django.utils import timezone

from crews.models import Badge, BadgeLoan, Block, Crew, Picker, Store
from equipment.models import Entry, Membership
from tests.cast import Farm
from tests.farm import Post

SignIn = Callable[[str], Client]


@pytest.fixture
def as_(farm: Farm) -> SignIn:
    """A browser signed in as one of the cast."""

    def sign_in(name: str) -> Client:
        client = Client()
        client.force_login(farm.users[name], backend="crews.signing_in.RoleBackend")
        return client

    return sign_in


def urls(farm: Farm) -> dict[str, str]:
    red, ana = farm.crews["red"].pk, farm.pickers["ana"].pk
    return {
        "crews": "/crews/",
        "crew": f"/crews/{red}/",
        "pickers": "/pickers/",
        "picker": f"/pickers/{ana}/",
        "blocks": "/blocks/",
        "block": "/blocks/N4/",
        "plans": "/plans/",
        "plan_new": "/plans/new/",
        "stores": "/stores/",
        "store": "/stores/A/",
        "import": "/import/",
    }


EVERYBODY = {"rosa", "sam", "olga", "mo", "frank"}
LOOK = {
    "crews": {"rosa", "sam", "olga", "frank"},
    "crew": {"rosa", "sam", "olga", "frank"},
    "pickers": {"rosa", "sam", "olga", "frank"},
    "picker": {"rosa", "sam", "olga", "frank"},
    "blocks": EVERYBODY,
    "block": EVERYBODY,
    "plans": EVERYBODY,
    "plan_new": {"frank"},
    "stores": {"rosa", "olga", "frank"},
    "store": {"frank"},
    "import": {"rosa", "frank"},
}
CHANGE = {name: {"frank"} for name in LOOK} | {"picker": {"rosa", "frank"}, "import": {"rosa", "frank"}}
CHANGE["pickers"] = CHANGE["plans"] = set()


@pytest.mark.parametrize("page", sorted(LOOK))
def test_who_may_look_and_who_may_change(page: str, farm: Farm, as_: SignIn) -> None:
    address = urls(farm)[page]
    assert {name for name in EVERYBODY if as_(name).get(address).status_code == 200} == LOOK[page]
    assert {name for name in EVERYBODY if as_(name).post(address).status_code != 403} == CHANGE[page]
    assert Client().get(address).status_code == 302


@pytest.mark.parametrize(
    "address",
    [
        "/pickers/move/",
        "/pickers/{ana}/card/",
        "/crews/{red}/new-picker/",
        "/blocks/N4/delete/",
        "/plans/copy/",
    ],
)
def test_what_changes_is_never_a_link(address: str, farm: Farm, as_: SignIn) -> None:
    filled = address.format(ana=farm.pickers["ana"].pk, red=farm.crews["red"].pk)
    for name in EVERYBODY:
        assert as_(name).get(filled).status_code == 403
    for name in ("sam", "olga", "mo"):
        assert as_(name).post(filled).status_code == 403


def test_a_supervisor_meets_only_their_own_crews(farm: Farm, as_: SignIn) -> None:
    sam = as_("sam")
    assert b"Blue crew" not in sam.get("/crews/").content
    assert sam.get(f"/crews/{farm.crews['blue'].pk}/").status_code == 404
    assert sam.get(f"/pickers/{farm.pickers['cy'].pk}/").status_code == 404
    assert b"Cy" not in sam.get("/pickers/").content
    page = sam.get(f"/crews/{farm.crews['red'].pk}/").content
    assert b"Ana" in page
    assert b'name="do"' not in page


class TestCrews:
    def test_a_new_crew_gets_the_next_free_code(self, farm: Farm, as_: SignIn) -> None:
        answer = as_("frank").post(
            "/crews/", {"name": "Green  crew", "store": "A", "supervisor": farm.users["sam"].pk}
        )
        crew = Crew.objects.get(name="Green crew")
        assert answer.url == f"/crews/{crew.pk}/"
        assert crew.pk not in {farm.crews["red"].pk, farm.crews["blue"].pk}

    def test_a_crew_with_pickers_cannot_be_put_to_rest(self, farm: Farm, as_: SignIn) -> None:
        red = farm.crews["red"]
        answer = as_("frank").post(f"/crews/{red.pk}/", {"name": "Red crew", "store": "A", "supervisor": ""})
        assert "Move them to another crew first" in answer.content.decode()
        red.refresh_from_db()
        assert red.active

    def test_today_and_heads_are_shown(self, farm: Farm, as_: SignIn) -> None:
        farm.plan("red", "N4")
        page = as_("rosa").get("/crews/").content.decode()
        assert "block N4, whole day, clipped" in page
        assert '<td class="n" data-label="Pickers">2</td>' in page

    def test_what_they_hold_is_shown(self, farm: Farm, as_: SignIn, post: Post) -> None:
        (bag,) = farm.gear("bag")
        post(farm.entry("handed_out", item=bag, picker=farm.badges["ana"]))
        assert bag in as_("sam").get(f"/crews/{farm.crews['red'].pk}/").content.decode()

    def test_a_picker_is_added_with_a_card(self, farm: Farm, as_: SignIn) -> None:
        as_("rosa").post(f"/crews/{farm.crews['red'].pk}/new-picker/", {"name": "Dan", "card": "on"})
        dan = Picker.objects.get(name="Dan")
        assert Membership.objects.get(picker=dan).crew == farm.crews["red"]
        assert BadgeLoan.objects.on(timezone.localdate()).filter(picker=dan).count() == 1
        as_("rosa").post(f"/crews/{farm.crews['red'].pk}/new-picker/", {"name": "Eve"})
        assert not BadgeLoan.objects.filter(picker__name="Eve").exists()

    def test_a_picker_without_a_name_is_not_added(self, farm: Farm, as_: SignIn) -> None:
        answer = as_("rosa").post(f"/crews/{farm.crews['red'].pk}/new-picker/", {"name": "  \0 "})
        assert answer.status_code == 200
        assert Picker.objects.count() == 3


class TestMoving:
    def move(self, client: Client, farm: Farm, do: str, *names: str, **more: str) -> str:
        chosen = [farm.pickers[name].pk for name in names]
        sent = {"picker": chosen, "do": do, "from": farm.crews["red"].pk, **more}
        return client.post("/pickers/move/", sent, follow=True).content.decode()

    def test_to_another_crew(self, farm: Farm, as_: SignIn) -> None:
        page = self.move(as_("rosa"), farm, "move", "ana", "ben", to=farm.crews["blue"].pk)
        assert "2 pickers are in Blue crew now." in page
        assert Membership.objects.filter(crew=farm.crews["blue"]).count() == 3
        assert list(Entry.objects.filter(verb="parted").values_list("by__username", flat=True)) == [
            "rosa",
            "rosa",
        ]

    def test_leaving_asks_first_and_says_what_they_hold(self, farm: Farm, as_: SignIn, post: Post) -> None:
        (bag,) = farm.gear("bag")
        post(farm.entry("handed_out", item=bag, picker=farm.badges["ana"]))
        asked = self.move(as_("rosa"), farm, "leave", "ana", "ben")
        assert bag in asked
        assert f"/pickers/{farm.pickers['ana'].pk}/clearance/" in asked
        assert Membership.objects.count() == 3
        told = self.move(as_("rosa"), farm, "leave-now", "ana", "ben")
        assert f"Ana still holds {bag}." in told
        assert list(Membership.objects.values_list("picker__name", flat=True)) == ["Cy"]
        assert (
            "has left and still holds 1 piece"
            in as_("rosa").get(f"/pickers/{farm.pickers['ana'].pk}/").content.decode()
        )

    @pytest.mark.parametrize(
        ("do", "names", "more", "says"),
        [
            ("move", [], {}, "Nobody was chosen"),
            ("move", ["ana"], {}, "No crew was chosen"),
            ("move", ["ana"], {"to": "CW9999"}, "No crew was chosen"),
            ("dance", ["ana"], {"to": ""}, "No crew was chosen"),
        ],
    )
    def test_half_a_wish_changes_nothing(  # type: ignore[no-untyped-def]
        self, do, names, more, says, farm: Farm, as_: SignIn
    ) -> None:
        assert says in self.move(as_("rosa"), farm, do, *names, **more)
        assert not Entry.objects.filter(verb="parted").exists()

    def test_ids_that_are_none_are_passed_over(self, farm: Farm, as_: SignIn) -> None:
        sent = {"picker": ["x", "٣", "9" * 30, "-1"], "do": "leave-now"}
        assert as_("rosa").post("/pickers/move/", sent, follow=True).status_code == 200
        assert Membership.objects.count() == 3


class TestCards:
    def test_a_reissue_kills_the_old_card_at_once(self, farm: Farm, as_: SignIn, post: Post) -> None:
        ana, old = farm.pickers["ana"], farm.badges["ana"]
        (bag,) = farm.gear("bag")
        page = (
            as_("rosa").post(f"/pickers/{ana.pk}/card/", {"why": "lost in N4"}, follow=True).content.decode()
        )
        (loan,) = BadgeLoan.objects.on(timezone.localdate()).filter(picker=ana)
        dead = Badge.objects.get(pk=old)
        assert (dead.died_on, dead.why, "lost in N4" in page) == (timezone.localdate(), "lost in N4", True)
        (answer,) = post(farm.entry("handed_out", item=bag, picker=old))
        assert (answer["outcome"], answer["code"]) == ("refused", "unknown_picker")
        (answer,) = post(farm.entry("handed_out", item=bag, picker=loan.badge_id))
        assert answer["outcome"] == "recorded"

    def test_no_why_no_new_card(self, farm: Farm, as_: SignIn) -> None:
        answer = as_("rosa").post(f"/pickers/{farm.pickers['ana'].pk}/card/", {"why": " "})
        assert answer.status_code == 200
        assert (Badge.objects.count(), Badge.objects.filter(died_on=None).count()) == (3, 3)

    def test_who_has_none_gets_one_without_a_why(self, farm: Farm, as_: SignIn) -> None:
        ana = farm.pickers["ana"]
        BadgeLoan.objects.filter(picker=ana).update(to_day=timezone.localdate() - timedelta(days=1))
        as_("rosa").post(f"/pickers/{ana.pk}/card/", {})
        assert BadgeLoan.objects.on(timezone.localdate()).filter(picker=ana).count() == 1
        assert not Badge.objects.exclude(died_on=None).exists()


class TestPickers:
    @pytest.mark.parametrize(
        ("query", "found"),
        [
            ("q=AN", {"Ana"}),
            ("q=2", {"Ben"}),
            ("q={badge}", {"Cy"}),
            ("q=https://x/t/{badge}", {"Cy"}),
            ("crew={red}", {"Ana", "Ben"}),
            ("crew=-", {"Gone"}),
            ("crew=-&q=Ana", set()),
            ("crew=nonsense", {"Ana", "Ben", "Cy", "Gone"}),
            ("q=%00", {"Ana", "Ben", "Cy", "Gone"}),
            ("after=9999999999999999999999", {"Ana", "Ben", "Cy", "Gone"}),
        ],
    )
    def test_they_are_found(self, query: str, found: set[str], farm: Farm, as_: SignIn) -> None:
        Picker.objects.create(number="77", name="Gone")
        filled = query.format(badge=farm.badges["cy"], red=farm.crews["red"].pk)
        people = as_("rosa").get(f"/pickers/?{filled}").context["people"]
        assert {person["picker"].name for person in people} == found

    def test_pages_follow_each_other_without_a_gap(self, farm: Farm, as_: SignIn) -> None:
        Picker.objects.bulk_create(Picker(number=f"x{n}", name="Same Name") for n in range(120))
        seen: list[str] = []
        url: str | None = "/pickers/"
        while url:
            context = as_("rosa").get(url).context
            seen += [person["picker"].number for person in context["people"]]
            url = context["next_url"] and f"/pickers/{context['next_url']}"
        assert sorted(seen) == sorted(Picker.objects.values_list("number", flat=True))

    def test_details_are_changed_and_a_number_is_one_persons(self, farm: Farm, as_: SignIn) -> None:
        address = f"/pickers/{farm.pickers['ana'].pk}/"
        as_("rosa").post(address, {"name": " Ana  Maria ", "number": "1", "hand": "left", "glove_size": "M"})
        ana = Picker.objects.get(number="1")
        assert (ana.name, ana.hand, ana.glove_size) == ("Ana Maria", "left", "M")
        answer = as_("rosa").post(address, {"name": "Ana", "number": "2"})
        assert answer.status_code == 200
        assert answer.context["picker"].name == "Ana Maria"

    def test_their_gear_and_what_became_of_it(self, farm: Farm, as_: SignIn, post: Post) -> None:
        bag, other = farm.gear("bag", 2)
        for verb, fields in (
            ("handed_out", {"item": bag, "picker": farm.badges["ana"]}),
            ("returned", {"item": bag}),
            ("handed_out", {"item": bag, "picker": farm.badges["ben"]}),
            ("handed_out", {"item": other, "picker": farm.badges["ana"]}),
        ):
            (answer,) = post(farm.entry(verb, **fields))
            assert answer["outcome"] == "recorded"
        context = as_("sam").get(f"/pickers/{farm.pickers['ana'].pk}/").context
        assert [state.tag for state in context["held"]] == [other]
        assert [(line["tag"], line["icon"]) for line in context["lines"]] == [
            (other, "out"),
            (bag, "back"),
            (bag, "out"),
            ("", "crew"),
        ]
        assert [state.tag for state in context["usual"]] == [bag]


class TestBlocksAndStores:
    def test_a_block_is_added_in_capitals_once(self, farm: Farm, as_: SignIn) -> None:
        sent = {"code": " r1 ", "crop": "lemon", "tall_trees": "on", "hectares": "6.5"}
        as_("frank").post("/blocks/", sent)
        assert Block.objects.get(pk="R1").tall_trees
        assert "R1 already" in as_("frank").post("/blocks/", sent).content.decode()
        assert "letters and digits" in as_("frank").post("/blocks/", {**sent, "code": "a/b"}).content.decode()

    def test_a_block_in_use_stays(self, farm: Farm, as_: SignIn) -> None:
        farm.plan("red", "N4")
        page = as_("frank").post("/blocks/N4/delete/", follow=True).content.decode()
        assert "Block N4 is in use" in page
        as_("frank").post("/blocks/S2/delete/")
        assert list(Block.objects.values_list("pk", flat=True)) == ["N4"]

    def test_a_block_changes_but_for_its_code(self, farm: Farm, as_: SignIn) -> None:
        as_("frank").post("/blocks/n4/", {"code": "X9", "crop": "lemon", "name": "Skuinsrug"})
        assert Block.objects.get(pk="N4").name == "Skuinsrug"
        assert not Block.objects.filter(pk="X9").exists()

    def test_a_store_is_added_and_renamed(self, farm: Farm, as_: SignIn) -> None:
        as_("frank").post("/stores/", {"code": "c", "name": "Third"})
        as_("frank").post("/stores/C/", {"name": "River shed"})
        assert Store.objects.get(pk="C").name == "River shed"


@pytest.mark.parametrize("page", ["crews", "crew", "pickers", "picker", "blocks", "plans", "stores"])
def test_more_rows_take_no_more_queries(  # type: ignore[no-untyped-def]
    page: str, farm: Farm, as_: SignIn, post: Post, django_assert_max_num_queries
) -> None:
    for number in range(10, 30):
        picker = Picker.objects.create(number=str(number), name=f"P {number}")
        crew = Crew.objects.create(code=f"CW{number}", name=f"C {number}", store=farm.stores["A"])
        Membership.objects.create(picker=picker, crew=farm.crews["red"], since=timezone.now())
        Block.objects.create(code=f"B{number}", crop="lemon")
        farm.crews[str(number)] = crew
        farm.plan(str(number), f"B{number}")
        farm.plan("red", "N4", days=number)
    post(*(farm.entry("handed_out", item=tag, picker=farm.badges["ana"]) for tag in farm.gear("bag", 20)))
    client = as_("frank")
    with django_assert_max_num_queries(22):
        assert client.get(urls(farm)[page]).status_code == 200
