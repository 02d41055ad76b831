"""The manager makes users, changes their work, and hands over starting passwords, which open one door only."""

import re
from datetime import timedelta
from typing import Any

import pytest
from django.test import Client
from django.utils import timezone
from rest_framework.authtoken.models import Token

from crews import pins, starting
from crews.models import Pin, SignIn, User
from tests.cast import PASSWORD, Farm

OWN = "a ladder has two feet"
NEW = {"username": "Zola", "first_name": "Zola", "last_name": "Bruin", "roles": ["storeman"], "store": "A"}


def handed_over(answer: Any) -> str:
    """The password on the page."""
    assert answer.status_code == 200 and "no-store" in answer["Cache-Control"]
    found = re.search(r'class="code starting">([a-z0-9-]+)<', answer.content.decode())
    assert found
    return found.group(1)


def sign_in(who: str, password: str) -> tuple[Client, int]:
    client = Client()
    return client, client.post("/sign-in/", {"username": who, "password": password}).status_code


def test_a_new_storeman_comes_in_and_chooses_a_password(farm: Farm, client_of: Any) -> None:
    frank = client_of("frank")
    assert 'href="/users/new/"' in frank.get("/users/").content.decode()
    password = handed_over(frank.post("/users/new/", NEW))
    zola = User.objects.get(username="zola")
    assert (zola.get_full_name(), zola.store_id, zola.roles) == ("Zola Bruin", "A", {"storeman"})
    assert zola.check_password(password)
    page = frank.get("/users/").content.decode()
    assert "still to choose a password" in page and password not in page

    client, status = sign_in("zola", password)
    assert status == 302
    for address in ("/", "/counter/", "/me/", "/me/pin/"):
        assert client.get(address)["Location"] == "/me/password/"
    assert client.get("/orchard/here/").status_code == client.get("/api/board/").status_code == 403
    assert client.post("/api/entries/", {}, "application/json").status_code == 403
    assert "Choose one of your own" in client.get("/me/password/").content.decode()
    form = {"old_password": password, "new_password1": OWN, "new_password2": OWN}
    assert client.post("/me/password/", form)["Location"] == "/"
    assert client.get("/counter/here/").status_code == 200
    assert sign_in("zola", password)[1] == 200 and sign_in("zola", OWN)[1] == 302
    assert "still to choose" not in frank.get("/users/").content.decode()


def test_it_does_not_stay_the_password(farm: Farm, client_of: Any) -> None:
    password = handed_over(client_of("frank").post("/users/new/", NEW))
    client, _ = sign_in("zola", password)
    form = {"old_password": password, "new_password1": password, "new_password2": password}
    answer = client.post("/me/password/", form)
    assert answer.status_code == 400 and "another" in answer.content.decode()
    assert client.get("/")["Location"] == "/me/password/"


def test_after_three_days_it_opens_nothing(farm: Farm, client_of: Any) -> None:
    password = handed_over(client_of("frank").post("/users/new/", NEW))
    client, status = sign_in("zola", password)
    assert status == 302
    assert timedelta(days=3) == starting.GOOD_FOR
    User.objects.filter(username="zola").update(starting_until=timezone.now() - timedelta(seconds=1))
    assert client.get("/me/password/").status_code == 302 and "sign-in" in client.get("/")["Location"]
    assert sign_in("zola", password)[1] == 200


def test_a_password_from_the_shell_is_none_of_these(farm: Farm) -> None:
    rosa = farm.users["rosa"]
    starting.give(rosa, timezone.now() - timedelta(days=9))
    assert sign_in("rosa", PASSWORD)[1] == 200
    rosa.set_password(OWN)
    rosa.save()
    client, status = sign_in("rosa", OWN)
    assert status == 302 and client.get("/").status_code == 200


def test_each_is_another_of_78_bits(farm: Farm) -> None:
    made = {starting.give(farm.users["rosa"], timezone.now()) for _ in range(50)}
    assert len(made) == 50 and all(re.fullmatch(r"([a-z2-9]{4}-){3}[a-z2-9]{4}", each) for each in made)
    assert not set("".join(made)) & set("ilo01") and len(starting.LETTERS) ** 16 > 2**78


def test_who_forgot_the_password_is_signed_out_and_let_in_again(farm: Farm, client_of: Any) -> None:
    rosa = client_of("rosa")
    token = Token.objects.create(user=farm.users["rosa"]).key
    pins.set_pin(farm.users["rosa"], "407192", timezone.now())
    for _ in range(12):
        sign_in("rosa", "not this one")
    assert sign_in("rosa", PASSWORD)[1] == 429
    own = farm.users["rosa"].pk
    password = handed_over(client_of("frank").post(f"/users/{own}/password/"))
    assert rosa.get("/")["Location"].startswith("/sign-in/") and not Pin.objects.exists()
    assert not SignIn.objects.filter(user=own).exists()
    assert sign_in("rosa", PASSWORD)[1] == 200 and sign_in("rosa", password)[1] == 302
    # A program's token was made by whoever runs the server.
    assert Client(headers={"Authorization": f"Token {token}"}).get("/api/board/").status_code == 200


def test_other_work_holds_from_the_next_page(farm: Farm, client_of: Any) -> None:
    mo, own = client_of("mo"), farm.users["mo"].pk
    assert mo.get("/counter/here/").status_code == 403
    form = {"first_name": "Mo", "last_name": "", "roles": ["mender", "storeman"], "store": "B"}
    assert client_of("frank").post(f"/users/{own}/", form).status_code == 302
    assert mo.get("/counter/here/").status_code == 200
    assert User.objects.get(pk=own).store_id == "B"


@pytest.mark.parametrize(
    ("wrong", "said"),
    [
        ({"username": "ROSA"}, "Somebody signs in as rosa already."),
        ({"username": ""}, "This field is required."),
        ({"username": "zo la"}, "Enter a valid username."),
        ({"roles": []}, "Say what their work is"),
        ({"roles": ["king"]}, "Select a valid choice."),
        ({"store": "Z"}, "Select a valid choice."),
        ({"email": "zola"}, "Enter a valid email address."),
    ],
)
def test_what_cannot_be_is_said_and_nobody_is_made(
    farm: Farm, client_of: Any, wrong: dict[str, Any], said: str
) -> None:
    answer = client_of("frank").post("/users/new/", NEW | wrong)
    assert answer.status_code == 400 and said in answer.content.decode()
    assert User.objects.count() == len(farm.users)


def test_a_manager_does_not_lock_themselves_out(farm: Farm, client_of: Any) -> None:
    frank, own = client_of("frank"), farm.users["frank"].pk
    answer = frank.post(f"/users/{own}/", {"roles": ["mender"]})
    assert answer.status_code == 400 and "another manager must" in answer.content.decode()
    assert "Make a starting password" not in frank.get(f"/users/{own}/").content.decode()
    assert frank.post(f"/users/{own}/password/")["Location"] == f"/users/{own}/"
    assert sign_in("frank", PASSWORD)[1] == 302


def test_who_may_do_all_is_in_the_hands_of_their_like_only(farm: Farm, client_of: Any) -> None:
    chief = User.objects.create_superuser("chief", password=PASSWORD)
    frank = client_of("frank")
    assert frank.get(f"/users/{chief.pk}/").status_code == 403
    for address in ("", "password/", "end/", "disable/", "enable/", "code/"):
        assert frank.post(f"/users/{chief.pk}/{address}").status_code == 403
    assert f"/users/{chief.pk}/" not in frank.get("/users/").content.decode()
    assert User.objects.get(pk=chief.pk).is_active
    other = User.objects.create_superuser("deputy", password=PASSWORD)
    client = Client()
    client.force_login(other, backend="crews.signing_in.RoleBackend")
    assert client.get(f"/users/{chief.pk}/").status_code == 200


@pytest.mark.parametrize("name", ["rosa", "sam", "olga", "mo"])
def test_nobody_else_makes_users(farm: Farm, client_of: Any, name: str) -> None:
    client = client_of(name)
    assert client.get("/users/new/").status_code != 200
    assert client.post("/users/new/", NEW).status_code == 403
    assert client.post(f"/users/{farm.users['olga'].pk}/password/").status_code == 403
    assert User.objects.count() == len(farm.users)
