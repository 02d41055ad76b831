"""Where a phone's own camera lands: any code of the farm leads to its page, and what leads nowhere says why."""

import pytest

from equipment.actions.retag import retag
from equipment.domain import codes
from equipment.models import ItemState
from tests.cast import Farm
from tests.farm import Post


def test_a_label_leads_to_its_item(farm: Farm, client_of):
    (tag,) = farm.gear("bag")
    new = retag(farm.pen(), ItemState.objects.get(tag=tag)).state.tag
    for text in (tag, tag.lower(), new, f"https://farm.example/t/{new}"):
        answer = client_of("rosa").get(f"/t/{text}")
        assert (answer.status_code, answer.headers.get("Location")) == (302, f"/gear/{new}/"), text


def test_a_badge_and_a_crew_tag_lead_to_who_they_are(farm: Farm, client_of, post: Post):
    (tag,) = farm.gear("bag")
    post(farm.entry("handed_out", item=tag, picker=farm.badges["ana"]))
    for code in (farm.badges["ana"], farm.crews["red"].pk):
        answer = client_of("rosa").get(f"/t/{code.lower()}", follow=True)
        assert answer.status_code == 200 and answer.redirect_chain


def test_a_set_leads_to_what_is_packed_in_it(farm: Farm, client_of, post: Post):
    (tag,) = farm.gear("bag")
    crate = codes.make("ST", 1)
    post(farm.entry("packed", item=tag, detail={"set": crate}))
    answer = client_of("rosa").get(f"/t/{crate}", follow=True)
    assert answer.status_code == 200 and tag in answer.content.decode()


@pytest.mark.parametrize(
    ("text", "why"),
    [
        ("CL0001A", "was misread"),
        ("hello", "is not a code"),
        (codes.make("CL", 4711), "No item has the code"),
        (codes.make("PK", 4711), "No badge has the code"),
        (codes.make("CW", 4711), "No crew of yours has the code"),
        (codes.make("ST", 4711), "No set has the code"),
        (codes.make("CT", 1), "scan it at a counter"),
        ("x" * 3000, "is not a code"),
    ],
)
def test_what_leads_nowhere_says_why_and_what_to_do(farm: Farm, client_of, text, why):
    answer = client_of("rosa").get(f"/t/{text}")
    assert answer.status_code == 404
    assert why in answer.content.decode() and 'action="/find/gear/"' in answer.content.decode()
    assert client_of("rosa").get(f"/gear/{text}/").status_code == 404


def test_only_those_who_may_register_are_told_to(farm: Farm, client_of):
    assert "/gear/register/" in client_of("rosa").get("/t/hello").content.decode()
    assert "/gear/register/" not in client_of("mo").get("/t/hello").content.decode()


def test_a_stranger_signs_in_first_and_comes_back(client, db):
    answer = client.get("/t/CL0001K")
    assert answer.headers["Location"] == "/sign-in/?next=/t/CL0001K"


def test_a_supervisor_is_told_that_it_is_elsewhere(farm: Farm, client_of):
    (tag,) = farm.gear("bag")
    html = client_of("sam").get(f"/t/{tag}").content.decode()
    assert "is not with one of your crews now" in html and "Nothing has this code" not in html
    assert client_of("sam").get(f"/t/{farm.crews['blue'].pk}").status_code == 404
