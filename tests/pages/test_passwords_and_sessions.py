"""Which passwords are taken, and what a session's number is worth, before and after.

What a password may be is chapter V6.2 of OWASP ASVS 5.0.0 and NIST SP 800-63B, 5.1.1: length and no rules of
composition, none that everybody tries first; of a session, V7.2 and V7.4.
"""

import math
import re
from pathlib import Path
from typing import Any

import pytest
from django.conf import settings
from django.contrib.sessions.models import Session
from django.test import Client

from crews.models import Pin, User
from tests.cast import PASSWORD, Farm

SCRIPTS = Path(settings.BASE_DIR) / "equipment" / "static" / "equipment" / "js"


def change(client: Client, new: str, old: str = PASSWORD) -> int:
    sent = {"old_password": old, "new_password1": new, "new_password2": new}
    return int(client.post("/me/password/", sent).status_code)


def sign_in(who: str, password: str) -> tuple[Client, int]:
    client = Client()
    return client, client.post("/sign-in/", {"username": who, "password": password}).status_code


@pytest.mark.parametrize("short", ["", "ladder", "ladder-12"])
def test_less_than_ten_signs_are_refused(farm: Farm, client_of: Any, short: str) -> None:
    assert change(client_of("rosa"), short) == 400
    assert sign_in("rosa", PASSWORD)[1] == 302


@pytest.mark.parametrize("known", ["1234567890", "basketball", "qwertyuiop", "Password123"])
def test_what_everybody_tries_first_is_refused(farm: Farm, client_of: Any, known: str) -> None:
    """Of the list of 20,000 that Django has; the first three stand in most lists of the commonest (common practice)."""
    assert change(client_of("rosa"), known) == 400


@pytest.mark.parametrize(
    "new",
    ["mmmuvvaqzpk", "ELEVEN LADDERS", "73914628064", "  a  b  c  d ", "лестница сухая", "x" * 64 + "y" * 64],
)
def test_any_signs_and_any_length_will_do(farm: Farm, client_of: Any, new: str) -> None:
    assert change(client_of("rosa"), new) == 302
    assert sign_in("rosa", new)[1] == 302


def test_a_password_is_taken_as_it_is_written(farm: Farm, client_of: Any) -> None:
    new = " Wet Ladders slip " + "é" * 60
    assert change(client_of("rosa"), new) == 302
    for other in (new.strip(), new.lower(), new[:-1], new[:72], new + " "):
        assert sign_in("rosa", other)[1] == 200, other
    assert sign_in("rosa", new)[1] == 302


@pytest.mark.parametrize(
    ("new", "fits"),
    [
        ("shedbook-2026", False),
        ("RedCrew RedCrew", False),
        ("Safety Officer 1", False),
        ("rosa store A 26", False),
        ("Quillberg2026!", False),
        ("red boots by the fig tree", True),
        ("a dry ladder stands there", True),
    ],
)
def test_what_is_made_of_the_farms_own_words_is_refused(
    farm: Farm, client_of: Any, settings: Any, new: str, fits: bool
) -> None:
    settings.FARM_NAME = "Quillberg Citrus"
    form = {"old_password": PASSWORD, "new_password1": new, "new_password2": new}
    answer = client_of("rosa").post("/me/password/", form)
    assert (answer.status_code == 302) is fits
    assert fits or "everybody on the farm knows" in answer.content.decode()


def test_an_old_password_goes_on_until_somebody_changes_it(farm: Farm) -> None:
    User.objects.update(date_joined="2001-01-01T00:00:00Z", last_login="2001-01-01T00:00:00Z")
    client, status = sign_in("rosa", PASSWORD)
    assert status == 302 and client.get("/").status_code == 200


@pytest.mark.parametrize("page", ["/sign-in/", "/me/password/", "/me/pin/"])
def test_fields_of_passwords_hide_them_and_let_a_keeper_of_passwords_fill_them(
    farm: Farm, client_of: Any, page: str
) -> None:
    client = Client() if page == "/sign-in/" else client_of("rosa")
    fields = re.findall(r"<input[^>]*password[^>]*>", client.get(page).content.decode())
    assert fields and all('type="password"' in field for field in fields)
    keepers = [field for field in fields if 'name="pin"' not in field and 'name="again"' not in field]
    assert all(re.search(r'autocomplete="(current|new)-password"', field) for field in keepers)


def test_no_script_stands_in_the_way_of_pasting() -> None:
    texts = {path: path.read_text() for path in SCRIPTS.rglob("*.js")}
    assert len(texts) > 50
    assert [
        path.name for path, text in texts.items() if re.search(r"""['"](paste|beforepaste)['"]""", text)
    ] == []


@pytest.mark.django_db
def test_a_new_book_has_no_user() -> None:
    assert not User.objects.exists() and not Pin.objects.exists()


@pytest.mark.django_db
def test_nobody_is_asked_a_secret_question_or_given_a_hint() -> None:
    words = {field.name for field in User._meta.get_fields()}
    assert "password" in words and not {word for word in words if re.search("hint|question|answer", word)}


def test_a_session_has_a_number_that_nobody_guesses_and_a_new_one_after_signing_in(farm: Farm) -> None:
    client = Client()
    planted = client.session
    planted["x"] = 1
    planted.save()
    client.cookies[settings.SESSION_COOKIE_NAME] = planted.session_key
    assert client.post("/sign-in/", {"username": "rosa", "password": PASSWORD}).status_code == 302
    number = client.cookies[settings.SESSION_COOKIE_NAME].value
    assert number != planted.session_key and not Session.objects.filter(pk=planted.session_key).exists()
    # Django draws each sign of it by `secrets`, out of small letters and figures.
    assert re.fullmatch("[a-z0-9]{32}", number) and 32 * math.log2(36) >= 128


def test_a_session_that_was_ended_opens_nothing(farm: Farm, client_of: Any) -> None:
    rosa = client_of("rosa")
    number = rosa.cookies[settings.SESSION_COOKIE_NAME].value
    assert 'action="/sign-out/"' in rosa.get("/").content.decode(), "the way out is on each page"
    assert rosa.post("/sign-out/").status_code == 302
    again = Client()
    again.cookies[settings.SESSION_COOKIE_NAME] = number
    assert again.get("/api/board/").status_code == 401 and not Session.objects.exists()
