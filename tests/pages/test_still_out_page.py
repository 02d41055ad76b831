"""What should have come back: by crew and holder, with its age; and the season's list."""

import re
from datetime import timedelta

import pytest
from django.utils import timezone
from pypdf import PdfReader

from equipment.actions.writing import Pen
from equipment.models import ItemState
from tests.cast import Farm
from tests.farm import Post


def text_of(response) -> str:
    """The page's words, markup away and blanks made single."""
    return " ".join(re.sub(r"<[^>]+>", " ", response.content.decode()).split())


def pdf_text(response) -> str:
    from io import BytesIO

    return "\n".join(page.extract_text() for page in PdfReader(BytesIO(response.content)).pages)


def test_only_what_comes_back_tonight_is_listed(farm: Farm, client_of, post: Post):
    (bag,), (overalls,), (resting,) = farm.gear("bag"), farm.gear("overalls"), farm.gear("clippers")
    post(*(farm.entry("handed_out", item=tag, picker=farm.badges["ana"]) for tag in (bag, overalls)))
    words = text_of(client_of("rosa").get("/still-out/"))
    assert bag in words and "1 piece is out" in words
    assert overalls not in words and resting not in words


def test_it_stands_by_crew_and_holder_with_badge_and_age(farm: Farm, client_of, post: Post):
    late, new, shared, blue = farm.gear("bag", 2, days_ago=9) + farm.gear("ladder") + farm.gear("gloves")
    before = timezone.now() - timedelta(days=2)
    post(farm.entry("handed_out", item=late, picker=farm.badges["ben"], at=before), gate="note")
    post(farm.entry("handed_out", item=new, picker=farm.badges["ana"]))
    post(farm.entry("handed_out", item=shared, crew=farm.crews["red"].pk))
    post(farm.entry("handed_out", item=blue, picker=farm.badges["cy"]))
    words = text_of(client_of("rosa").get("/still-out/"))
    in_order = [
        "Blue crew",
        "Cy",
        blue,
        "Red crew",
        "Ana",
        farm.badges["ana"],
        new,
        "Ben",
        late,
        "2 nights",
    ]
    places = [words.index(word, words.index("are out")) for word in [*in_order, "the crew together", shared]]
    assert places == sorted(places)
    assert "4 pieces are out" in words and "1 of them since an earlier day" in words
    assert re.search(r"Picking bags 2 .*Ladders 1 .*Pairs of gloves 1 .*All kinds 4", words)


def test_it_can_be_narrowed(farm: Farm, client_of, post: Post):
    red, blue = farm.gear("bag", 1) + farm.gear("bag", 1, store="B")
    post(farm.entry("handed_out", item=red, picker=farm.badges["ana"]))
    post(farm.entry("handed_out", item=blue, picker=farm.badges["cy"]), store="B")
    client = client_of("rosa")
    assert blue not in text_of(client.get(f"/still-out/?crew={farm.crews['red'].pk}"))
    assert red not in text_of(client.get("/still-out/?store=B"))
    assert client.get("/still-out/?crew=nobody&store=%00").status_code == 200


def test_a_supervisor_sees_their_own_crews(farm: Farm, client_of, post: Post):
    red, blue = farm.gear("bag", 2)
    post(farm.entry("handed_out", item=red, picker=farm.badges["ana"]))
    post(farm.entry("handed_out", item=blue, picker=farm.badges["cy"]))
    words = text_of(client_of("sam").get(f"/still-out/?crew={farm.crews['blue'].pk}"))
    assert red in words and blue not in words and "Blue crew" not in words


def test_what_stays_in_the_orchard_is_accounted_for(farm: Farm, client_of, post: Post):
    (ladder,), (lost,) = farm.gear("ladder"), farm.gear("bag")
    post(farm.entry("handed_out", item=ladder, crew=farm.crews["red"].pk))
    post(farm.entry("stowed", item=ladder, block="N4", detail={"counted": 1}))
    post(farm.entry("missed", item=lost))
    words = text_of(client_of("rosa").get("/still-out/"))
    assert "Everything is back." in words
    assert "1 piece stays in the orchard tonight" in words and "1 piece is marked missing." in words


def test_nothing_out_says_that_all_is_back(farm: Farm, client_of):
    assert "Everything is back." in text_of(client_of("rosa").get("/still-out/"))
    assert "There is nothing to collect." in text_of(client_of("rosa").get("/still-out/season/"))
    assert "There is nothing to collect." in text_of(client_of("rosa").get("/still-out/season.pdf"))


def test_the_season_has_its_own_list_and_paper(farm: Farm, client_of, post: Post):
    (overalls,), (bag,), (blue,) = farm.gear("overalls"), farm.gear("bag"), farm.gear("gumboots")
    post(*(farm.entry("handed_out", item=tag, picker=farm.badges["ana"]) for tag in (overalls, bag)))
    post(farm.entry("handed_out", item=blue, picker=farm.badges["cy"]))
    page = text_of(client_of("rosa").get("/still-out/season/"))
    assert overalls in page and bag not in page and "2 pieces to collect" in page
    paper = client_of("rosa").get("/still-out/season.pdf")
    assert paper.headers["Content-Type"] == "application/pdf"
    words = pdf_text(paper)
    assert overalls in words and blue in words and "Red crew" in words and "Ana" in words and bag not in words
    own = pdf_text(client_of("sam").get("/still-out/season.pdf"))
    assert overalls in own and blue not in own


@pytest.mark.parametrize("name", ["rosa", "sam", "olga", "mo", "frank"])
def test_each_role_may_look(farm: Farm, client_of, name):
    for path in ("/still-out/", "/still-out/season/", "/still-out/season.pdf"):
        assert client_of(name).get(path).status_code == 200


def test_its_cost_does_not_grow_with_what_is_out(farm: Farm, client_of, django_assert_max_num_queries):
    tags = farm.gear("bag", 320)
    pen = Pen(farm.users["rosa"], "A", timezone.now())
    items = ItemState.objects.filter(tag__in=tags).values_list("item", flat=True)
    crew, picker = farm.crews["red"].pk, farm.pickers["ana"].pk
    pen.record([pen.draft("handed_out", item=item, crew=crew, picker=picker) for item in items])
    client = client_of("rosa")
    with django_assert_max_num_queries(12):
        assert "320 pieces are out" in text_of(client.get("/still-out/"))
