"""One's own page: an address to be mailed at, and the wish to be."""

import pytest

from crews.models import User
from tests.cast import Farm


def test_a_supervisor_says_where_and_that(farm: Farm, client_of) -> None:
    client = client_of("sam")
    assert 'name="mailed"' in client.get("/me/").content.decode()
    answer = client.post("/me/", {"mailed": "on"})
    assert answer.status_code == 400 and "Write down where to mail it." in answer.content.decode()
    assert client.post("/me/", {"mailed": "on", "email": "sam@farm.example"}).status_code == 302
    sam = User.objects.get(username="sam")
    assert (sam.mailed, sam.email) == (True, "sam@farm.example")


@pytest.mark.parametrize("name", ["olga", "rosa", "mo", "frank"])
def test_others_have_an_address_only(farm: Farm, client_of, name: str) -> None:
    client = client_of(name)
    html = client.get("/me/").content.decode()
    assert 'name="mailed"' not in html and ("you are mailed one digest" in html) is (name == "olga")
    client.post("/me/", {"mailed": "on", "email": f"{name}@farm.example"})
    person = User.objects.get(username=name)
    assert (person.mailed, person.email) == (False, f"{name}@farm.example")


def test_what_is_no_address_is_refused(farm: Farm, client_of) -> None:
    assert client_of("olga").post("/me/", {"email": "olga at the farm"}).status_code == 400
    assert User.objects.get(username="olga").email == ""


def test_the_way_to_it_is_the_name(farm: Farm, client_of) -> None:
    assert '<a href="/me/">rosa</a>' in client_of("rosa").get("/").content.decode()
