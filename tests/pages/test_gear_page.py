"""The list of gear: searched, narrowed, sorted, turned over page by page."""

import re
from datetime import timedelta

import pytest

from crews.models import Picker
from equipment.actions.change_crew import join
from equipment.actions.lend_badge import lend_new
from equipment.domain import codes
from equipment.models import ItemState
from tests.cast import Farm
from tests.farm import Post


@pytest.fixture
def tags_on(client_of):
    """The tags on a page of the list, in order, as `name` sees it."""

    def read(query: str = "", name: str = "rosa") -> list[str]:
        response = client_of(name).get(f"/gear/{query}")
        assert response.status_code == 200
        table = response.content.decode().partition("<tbody>")[2]
        return re.findall(r'href="/gear/([A-Z0-9]+)/"', table)

    return read


def picker(farm: Farm, name: str, number: str, crew: str = "red") -> str:
    """A new picker's badge."""
    made = Picker.objects.create(number=number, name=name)
    (card,) = lend_new([made], farm.pen().at.date())
    join(farm.pen(), [made], farm.crews[crew])
    return card.pk


@pytest.mark.parametrize("name", ["rosa", "olga", "mo", "frank"])
def test_each_role_sees_all_of_it(farm: Farm, tags_on, name):
    tags = farm.gear("bag", 2) + farm.gear("clippers", store="B")
    assert tags_on(name=name) == tags


def test_a_supervisor_sees_what_their_crews_have(farm: Farm, tags_on, post: Post):
    mine, theirs, _resting = farm.gear("bag", 3)
    post(farm.entry("handed_out", item=mine, picker=farm.badges["ana"]))
    post(farm.entry("handed_out", item=theirs, picker=farm.badges["cy"]))
    assert tags_on(name="sam") == [mine]
    assert tags_on(f"?crew={farm.crews['blue'].pk}", name="sam") == [mine]  # no such choice for them
    assert tags_on(f"?q={theirs}", name="sam") == []


def test_it_can_be_searched_by_what_people_know(farm: Farm, tags_on, post: Post):
    bag, other = farm.gear("bag", 2, make="Bäume & Söhne", owner="Quillberg")
    (clippers,) = farm.gear("clippers", make="Snawel", hand="left")
    badge = picker(farm, "Mošibudi Ṱodzi", "M-77")
    post(farm.entry("handed_out", item=clippers, picker=badge))
    post(farm.entry("packed", item=other, detail={"set": codes.make("ST", 1)}))
    cases = {
        bag: [bag],
        bag.lower(): [bag],
        bag[2:6]: [bag, clippers],  # both are number one of their kind
        f"https://elsewhere.example/t/{bag.lower()}": [bag],
        "BAUME": [bag, other],
        "söhne": [bag, other],
        "quill": [bag, other],
        "mosibudi": [clippers],
        "TODZI": [clippers],
        "m-77": [clippers],
        badge: [clippers],
        "red": [clippers],
        "snawel todzi": [clippers],
        "snawel ana": [],
        "clippers": [clippers],
        "picking bags": [bag, other],
    }
    found = {text: tags_on(f"?q={text}") for text in cases}
    assert found == cases


def test_an_old_label_still_finds_it(farm: Farm, tags_on, post: Post):
    (old,) = farm.gear("bag")
    new = codes.make("BG", 900)
    post(farm.entry("retagged", item=old, detail={"tag": new}))
    assert tags_on(f"?q={old}") == tags_on(f"?q={new}") == [new]


def test_it_can_be_narrowed(farm: Farm, tags_on, post: Post):
    bags = farm.gear("bag", 2, owner="Quillberg")
    (clippers,) = farm.gear("clippers", store="B", owner="Dlamuka")
    post(farm.entry("handed_out", item=bags[0], picker=farm.badges["ana"]))
    assert tags_on("?kind=bag") == bags
    assert tags_on("?place=picker") == [bags[0]]
    assert tags_on("?place=store&kind=bag") == [bags[1]]
    assert tags_on(f"?crew={farm.crews['red'].pk}") == [bags[0]]
    assert tags_on("?store=B") == [clippers]
    assert tags_on("?owner=Dlamuka") == [clippers]
    assert tags_on("?kind=bag&q=ana") == [bags[0]]


def test_what_cannot_be_chosen_is_said_and_left_out(farm: Farm, client_of, tags_on):
    tags = farm.gear("bag", 2)
    assert tags_on("?kind=submarine&place=moon&after=%00~x&sort=colour") == tags
    for key in (
        "since&after=0001-01-01T00:00:00%2B14:00~A",
        "since&after=2026-01-01~A",
        "kind&after=x~A",
        "tag&after=%00~%00",
    ):
        assert tags_on(f"?sort={key}") == tags
    assert tags_on("?sort=kind&after=99999999999999999999999~A") == []
    assert "Select a valid choice" in client_of("rosa").get("/gear/?kind=submarine").content.decode()
    assert client_of("rosa").get("/gear/?q=%00").status_code == 200


def test_gear_that_is_gone_shows_only_when_asked_for(farm: Farm, tags_on, post: Post):
    bag, gone = farm.gear("bag", 2)
    post(farm.entry("written_off", item=gone, note="torn", detail={"circumstance": "worn_out"}))
    assert tags_on() == [bag]
    assert tags_on("?place=gone") == tags_on(f"?q={gone}") == [gone]


@pytest.mark.parametrize("sort", ["tag", "kind", "place", "since"])
@pytest.mark.parametrize("down", ["", "-"])
def test_every_page_of_every_sort_comes_once(farm: Farm, client_of, post: Post, sort, down):
    tags = farm.gear("gloves", 70) + farm.gear("bag", 60)
    post(*(farm.entry("handed_out", item=tag, picker=farm.badges["ana"]) for tag in tags[::9]))
    client, seen, url = client_of("rosa"), [], f"/gear/?sort={down}{sort}"
    while url:
        html = client.get(url).content.decode()
        seen += re.findall(r'href="/gear/([A-Z0-9]+)/"', html.partition("<tbody>")[2])
        onward = re.search(r'href="([^"]+)" rel="next"', html)
        url = onward[1].replace("&amp;", "&") if onward else ""
    assert sorted(seen) == sorted(tags)
    if sort == "tag":
        assert seen == sorted(tags, reverse=bool(down))
    if sort == "kind":  # bags come before gloves in the catalogue
        assert seen[0][:2] == ("GL" if down else "BG")


def test_the_sort_is_said_to_those_who_do_not_see_it(farm: Farm, client_of):
    farm.gear("bag")
    html = client_of("rosa").get("/gear/?sort=-since&kind=bag").content.decode()
    assert (
        html.count("aria-sort=") == 1
        and 'aria-sort="descending"><a href="/gear/?sort=since&amp;kind=bag"' in html
    )


def test_the_count_and_the_labels_speak_of_the_same(farm: Farm, client_of):
    farm.gear("bag", 3), farm.gear("clippers", 1)
    html = client_of("rosa").get("/gear/?kind=bag&sort=-tag").content.decode()
    assert "3 pieces" in html and 'href="/labels/?kind=bag"' in html
    assert "print labels" not in client_of("sam").get("/gear/?kind=bag").content.decode()


def test_the_labels_that_are_printed_are_those_of_the_list(farm: Farm, client_of, post: Post):
    mine, other = farm.gear("bag", 2, make="Söhne", owner="Quillberg")
    farm.gear("bag", 1, make="Söhne")
    post(farm.entry("handed_out", item=mine, picker=farm.badges["ana"]))
    for query, tags in {
        "q=sohne&owner=Quillberg": [mine, other],
        "q=ana": [mine],
        "place=store&owner=Quillberg": [other],
    }.items():
        html = client_of("rosa").get(f"/gear/?{query}").content.decode()
        url = re.search(r'href="(/labels/[^"]+)"', html)[1].replace("&amp;", "&")
        table = client_of("rosa").get(url).content.decode().partition("<tbody>")[2]
        assert re.findall(r'href="/gear/([A-Z0-9]+)/"', table) == tags, query


def test_nothing_found_says_what_to_do(farm: Farm, client_of):
    assert "There is no gear to show." in client_of("rosa").get("/gear/").content.decode()
    (bag,) = farm.gear("bag")
    assert "Nothing answers to that." in client_of("rosa").get("/gear/?q=zeppelin").content.decode()
    wrong = bag[:-1] + ("0" if bag[-1] != "0" else "1")
    assert "was misread" in client_of("rosa").get(f"/gear/?q={wrong}").content.decode()


def test_names_are_text_and_nothing_else(farm: Farm, client_of, post: Post):
    evil = "<script>alert(1)</script>"
    (bag,) = farm.gear("bag", make=evil, owner='"><img src=x>')
    post(farm.entry("handed_out", item=bag, picker=picker(farm, evil, "666"), note=evil))
    client = client_of("rosa")
    for path in ("/gear/", f"/gear/?q={evil}", f"/gear/{bag}/", "/still-out/", "/", "/t/<script>"):
        html = client.get(path).content.decode()
        assert evil not in html and "<img" not in html and "<script>" not in html


def test_its_cost_does_not_grow_with_the_gear(farm: Farm, client_of, django_assert_max_num_queries):
    farm.gear("bag", 320)
    client = client_of("rosa")
    with django_assert_max_num_queries(14):
        assert "320 pieces" in client.get("/gear/?q=bag&sort=since").content.decode()


def test_narrowed_by_whether_it_may_go_out_now(ruled_farm: Farm, tags_on, client_of, post: Post):
    """Fit now, kept here now, or with something due now: time counts, and what only warns keeps nothing here."""
    sterile, stale, broken, out = ruled_farm.gear("clippers", 4, days_ago=9)
    (dirty,) = ruled_farm.gear("bag", days_ago=9)
    item = dict(ItemState.objects.values_list("tag", "item"))
    pen = ruled_farm.pen()
    dip = {"method": "sterilise", "recipe": "clippers_alcohol", "seconds": 60}

    def entry(verb: str, tag: str, days: int = 0, **fields):
        return pen.draft(verb, item=item[tag], happened_at=pen.at - timedelta(days=days), **fields)

    pen.record(
        [
            entry("cleaned", sterile, detail=dip),
            entry("cleaned", stale, 4, detail=dip),  # it holds for three days on the shelf
            entry("cleaned", broken, detail=dip),
            entry("fault_found", broken, detail={"fault": "clippers_blunt"}),
            entry("fault_found", dirty, detail={"fault": "dirty"}),
            entry("cleaned", out, 4, detail=dip),
            entry("handed_out", out, 4, crew=ruled_farm.crews["red"].pk, picker=ruled_farm.pickers["ana"].pk),
        ],
        "note",
    )
    assert tags_on("?stand=fit") == [sterile]
    assert tags_on("?stand=stays") == sorted([broken, dirty, stale])
    assert tags_on("?stand=due") == sorted([dirty, out, stale])
    html = client_of("rosa").get("/gear/?stand=stays").content.decode()
    assert "stays here: it must be cleaned first" in " ".join(html.split())
    assert client_of("rosa").get("/labels/?stand=fit").context["count"] == 1
