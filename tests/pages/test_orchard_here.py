"""`/orchard/here/`: who is signed in, on which phone, for which store."""

from datetime import timedelta
from time import time
from types import SimpleNamespace
from typing import Any

import pytest
from django.test import Client
from django.utils import timezone

from crews.models import Crew, Device, Picker, Store, User
from equipment.pages.devices.phone import COOKIE
from tests.cast import PASSWORD, Farm
from tests.phones import on_phone

HERE = "/orchard/here/"


def test_who_and_which_crews(farm: Farm, client_of: Any) -> None:
    Crew.objects.create(code="CW0003Y", name="Amber crew", store=farm.stores["A"])
    User.objects.filter(username="sam").update(first_name="Sam", last_name="Leader")
    answer = client_of("sam").get(HERE)
    told = answer.json()
    assert answer["Cache-Control"] == "private, no-store"
    assert told.pop("csrf") and told.pop("build")
    assert told == {
        "user": {"id": farm.users["sam"].pk, "name": "Sam Leader", "initials": "S. L."},
        "store": "A",
        "device": None,
        "revoked": False,
        "crews": [
            {"code": farm.crews["red"].pk, "name": "Red crew", "own": True},
            {"code": "CW0003Y", "name": "Amber crew", "own": False},
        ],
    }


def test_every_sheet_it_names_can_be_fetched(farm: Farm, client_of: Any) -> None:
    Crew.objects.update(store="A")
    client = client_of("sam")
    crews = client.get(HERE).json()["crews"]
    assert len(crews) == 2
    for crew in crews:
        assert client.get(f"/api/crews/{crew['code']}/sheet/").status_code == 200


def test_the_phone_says_for_which_store(farm: Farm, client_of: Any) -> None:
    client = client_of("rosa")
    phone = on_phone(client, farm, "Store B's", "B")
    told = client.get(HERE).json()
    assert told["device"] == {"id": str(phone.pk), "name": "Store B's"}
    assert (told["store"], [crew["code"] for crew in told["crews"]]) == ("B", [farm.crews["blue"].pk])


def test_a_supervisor_keeps_their_own_crew_on_the_phone_of_another_store(farm: Farm, client_of: Any) -> None:
    client = client_of("sam")
    on_phone(client, farm, "Store B's", "B")
    assert [crew["code"] for crew in client.get(HERE).json()["crews"]] == [farm.crews["red"].pk]


def test_a_revoked_phone_is_told_so_and_keeps_its_number(farm: Farm, client_of: Any) -> None:
    client = client_of("sam")
    phone = on_phone(client, farm)
    Device.objects.filter(pk=phone.pk).update(revoked_at=timezone.now())
    told = client.get(HERE).json()
    assert (told["revoked"], told["device"]["id"]) == (True, str(phone.pk))


def test_whoever_is_signed_in_uses_the_same_phone(farm: Farm) -> None:
    browser = Client()
    assert browser.post("/sign-in/", {"username": "sam", "password": PASSWORD}).status_code == 302
    phone = on_phone(browser, farm)
    browser.post("/sign-out/")
    assert browser.get(HERE).status_code == 401
    assert browser.post("/sign-in/", {"username": "olga", "password": PASSWORD}).status_code == 302
    told = browser.get(HERE).json()
    assert (told["user"]["name"], told["device"]["id"]) == ("olga", str(phone.pk))


def test_its_token_lets_it_write(farm: Farm) -> None:
    browser = Client(enforce_csrf_checks=True)
    browser.force_login(farm.users["sam"], backend="crews.signing_in.RoleBackend")
    token = browser.get(HERE).json()["csrf"]
    batch, kind = farm.batch([], "note"), "application/json"
    assert browser.post("/api/entries/", batch, content_type=kind).status_code == 403
    written = browser.post("/api/entries/", batch, content_type=kind, HTTP_X_CSRFTOKEN=token)
    assert written.status_code == 200


def test_who_is_not_signed_in_is_told_so_and_never_sent_elsewhere(db: None) -> None:
    answer = Client().get(HERE)
    assert (answer.status_code, answer.json()["code"]) == (401, "not_signed_in")


def test_who_has_no_role_may_not(farm: Farm) -> None:
    browser = Client()
    User.objects.create_user("nobody", password=PASSWORD)
    browser.post("/sign-in/", {"username": "nobody", "password": PASSWORD})
    answer = browser.get(HERE)
    assert (answer.status_code, answer.json()["code"]) == (403, "no_right")


@pytest.mark.parametrize("cookie", ["x", "", "00000000-0000-7000-8000-000000000007"])
def test_a_made_up_cookie_is_no_phone(farm: Farm, client_of: Any, cookie: str) -> None:
    client = client_of("sam")
    client.cookies[COOKIE] = cookie
    assert client.get(HERE).json()["device"] is None


@pytest.mark.parametrize(("days", "known"), [(731, True), (733, False)])
def test_a_cookie_is_good_for_two_years_whatever_the_browser_keeps(
    farm: Farm, client_of: Any, monkeypatch: Any, days: int, known: bool
) -> None:
    client = client_of("sam")
    on_phone(client, farm)
    later = time() + days * 86_400
    monkeypatch.setattr("django.core.signing.time", SimpleNamespace(time=lambda: later))
    assert (client.get(HERE).json()["device"] is not None) == known


def test_asking_counts_as_a_contact(farm: Farm, client_of: Any) -> None:
    client = client_of("sam")
    phone = on_phone(client, farm)
    Device.objects.filter(pk=phone.pk).update(last_contact=timezone.now() - timedelta(hours=3))
    client.get(HERE, HTTP_X_UNSENT="8")
    phone.refresh_from_db()
    assert phone.unsent == 8
    assert phone.last_contact and timezone.now() - phone.last_contact < timedelta(minutes=1)


def test_a_farm_with_two_stores_does_not_guess(farm: Farm, client_of: Any) -> None:
    client = client_of("frank")
    assert (client.get(HERE).json()["store"], client.get(HERE).json()["crews"]) == (None, [])
    Crew.objects.update(store="A")
    Device.objects.update(store=None)
    Store.objects.filter(pk="B").delete()
    assert client.get(HERE).json()["store"] == "A"


def test_no_pickers_name_is_in_it(farm: Farm, client_of: Any) -> None:
    Picker.objects.update(name="Zebedee Canarybird")
    assert b"Canarybird" not in client_of("sam").get(HERE).content
