"""A leaver's slip: what is still out in their name, what came back, and that it proves no debt."""

from datetime import timedelta
from io import BytesIO

import pytest
from django.utils import timezone
from pypdf import PdfReader

from equipment.models.reading import pickers
from equipment.pages.clearance import slip_of
from tests.cast import Farm
from tests.farm import Post


def slip(farm: Farm, name: str = "ana"):
    day = timezone.localdate()
    return slip_of(pickers(day, farm.users["rosa"]).get(pk=farm.pickers[name].pk), day)


def tags(pieces) -> list[str]:
    return [piece.tag for piece in pieces]


def test_it_tells_what_is_out_and_what_came_back(farm: Farm, post: Post):
    kept, back, passed, lost, gone = farm.gear("bag", 5)
    ana, ben = farm.badges["ana"], farm.badges["ben"]
    for tag in (kept, back, passed, lost, gone):
        post(farm.entry("handed_out", item=tag, picker=ana))
    post(farm.entry("returned", item=back))
    post(farm.entry("handed_out", item=passed, picker=ben, detail={"from": ana}))
    post(farm.entry("missed", item=lost))
    post(farm.entry("written_off", item=gone, note="burnt", detail={"circumstance": "broken"}))
    told = slip(farm)
    assert (told.picker, told.badge, told.crew) == ("Ana", ana, "Red crew")
    assert tags(told.out) == sorted([kept, lost])
    assert [piece.kind for piece in told.out if piece.tag == lost] == ["Picking bag (missing)"]
    assert sorted(tags(told.back)) == sorted([back, passed])
    assert tags(slip(farm, "ben").out) == [passed]


def test_what_was_taken_back_never_happened(farm: Farm, post: Post):
    (tag,) = farm.gear("bag")
    (out,) = post(farm.entry("handed_out", item=tag, picker=farm.badges["ana"]))
    post(farm.entry("reversed", item=tag, detail={"entry": out["id"]}))
    assert slip(farm).out == slip(farm).back == ()


def test_a_piece_that_came_and_went_stands_once_with_its_last_day(farm: Farm, post: Post):
    (tag,) = farm.gear("bag", days_ago=9)
    day = timezone.now() - timedelta(days=4)
    for number in range(3):
        at = day + timedelta(days=number)
        post(farm.entry("handed_out", item=tag, picker=farm.badges["ana"], at=at), gate="note")
        post(farm.entry("returned", item=tag, at=at + timedelta(hours=1)), gate="note")
    (piece,) = slip(farm).back
    assert (piece.tag, piece.day) == (tag, timezone.localdate(day + timedelta(days=2, hours=1)))


def test_the_paper_says_what_it_is_not(farm: Farm, client_of, post: Post):
    (tag,) = farm.gear("bag")
    post(farm.entry("handed_out", item=tag, picker=farm.badges["ana"]))
    answer = client_of("rosa").get(f"/pickers/{farm.pickers['ana'].pk}/clearance/")
    assert answer.headers["Content-Type"] == "application/pdf"
    words = " ".join(PdfReader(BytesIO(answer.content)).pages[0].extract_text().split())
    assert tag in words and "not proof of a debt" in words


@pytest.mark.parametrize(
    ("name", "status"), [("rosa", 200), ("olga", 200), ("frank", 200), ("sam", 200), ("mo", 403)]
)
def test_it_is_for_those_who_let_people_go(farm: Farm, client_of, name, status):
    assert client_of(name).get(f"/pickers/{farm.pickers['ana'].pk}/clearance/").status_code == status


def test_a_supervisor_gets_none_of_another_crew(farm: Farm, client_of):
    assert client_of("sam").get(f"/pickers/{farm.pickers['cy'].pk}/clearance/").status_code == 404
    assert client_of("rosa").get("/pickers/999999/clearance/").status_code == 404


def test_its_cost_does_not_grow_with_the_season(
    farm: Farm, client_of, post: Post, django_assert_max_num_queries
):
    gear = farm.gear("bag", 60)
    post(*(farm.entry("handed_out", item=tag, picker=farm.badges["ana"]) for tag in gear))
    client = client_of("rosa")
    with django_assert_max_num_queries(8):
        client.get(f"/pickers/{farm.pickers['ana'].pk}/clearance/")
