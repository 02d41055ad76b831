"""The door: passwords and PINs, throttled by name and address; sessions that end by time, by hand, with a device."""

import re
from pathlib import Path
from time import time
from typing import Any

import pytest
from axes.models import AccessAttempt
from django.conf import settings
from django.contrib.auth.models import Group
from django.contrib.sessions.models import Session
from django.db import connection
from django.test import Client
from django.test.utils import CaptureQueriesContext
from django.utils import timezone

from crews import pins, policy, sessions
from crews.models import Device, Pin, SignIn, User
from equipment.actions.enrol import revoke
from tests.cast import PASSWORD, Farm, user
from tests.phones import on_phone

TEMPLATES = Path(settings.BASE_DIR) / "templates"
SELF_ASKED = re.compile(r"""data-refresh-url="{% url '(\w+)'""")
PIN, OTHER = "407192", "815063"


@pytest.fixture
def counter(farm: Farm, client_of: Any) -> Client:
    """The browser of counter A1 with nobody signed in; Rosa has a PIN."""
    pins.set_pin(farm.users["rosa"], PIN, timezone.now())
    browser = client_of("rosa")
    browser.post("/counter/here/", {"counter": farm.device.pk})
    browser.post("/sign-out/")
    return browser


def by_pin(client: Client, who: str, pin: str, **more: Any) -> Any:
    return client.post("/sign-in/pin/", {"who": who, "pin": pin, "next": "/counter/"}, **more)


def by_password(client: Client, who: str, password: str = PASSWORD, **more: Any) -> Any:
    return client.post("/sign-in/", {"username": who, "password": password}, **more)


def who_is_in(client: Client) -> str:
    found = re.search(r'<a href="/me/">(.*?)</a>', client.get("/", follow=True).content.decode())
    return found[1] if found else ""


def test_a_storeman_signs_in_by_touching_the_name_and_six_digits(farm: Farm, counter: Client) -> None:
    assert counter.get("/counter/").status_code == 302
    door = counter.get("/sign-in/?next=/counter/").content.decode()
    assert "Who stands here?" in door and f'who={farm.users["rosa"].pk}&amp;next=/counter/"' in door
    assert all(f"who={who.pk}&" not in door for name, who in farm.users.items() if name != "rosa")
    touched = counter.get(f"/sign-in/?who={farm.users['rosa'].pk}&next=/counter/").content.decode()
    assert 'inputmode="numeric"' in touched
    answer = by_pin(counter, "rosa", PIN)
    assert (answer.status_code, answer["Location"]) == (302, "/counter/")
    assert counter.get("/counter/").status_code == 200 and who_is_in(counter) == "rosa"
    assert SignIn.objects.get(user=farm.users["rosa"], how="pin").device == farm.device


def test_one_touch_changes_the_storeman(farm: Farm, counter: Client) -> None:
    pia = user("pia", "storeman")
    pins.set_pin(pia, OTHER, timezone.now())
    by_pin(counter, "rosa", PIN)
    page = counter.get("/counter/").content.decode()
    (way,) = re.findall(r'href="(/sign-in/[^"]*)">change storeman', page)
    door = counter.get(way.replace("&amp;", "&")).content.decode()
    assert f"who={pia.pk}&" in door and "does not include that page" not in door
    assert by_pin(counter, "pia", OTHER).status_code == 302 and who_is_in(counter) == "pia"
    assert list(SignIn.objects.values_list("user", "how")) == [(pia.pk, "pin")]


def test_a_pin_opens_nothing_elsewhere(farm: Farm, counter: Client) -> None:
    assert by_pin(Client(), "rosa", PIN)["Location"] == "/sign-in/"
    farm.device.revoked_at = timezone.now()
    farm.device.save()
    assert by_pin(counter, "rosa", PIN)["Location"] == "/sign-in/"
    assert not SignIn.objects.exists()


def test_a_supervisor_at_a_phone_writes_the_name_and_a_lost_phone_names_nobody(
    farm: Farm, client_of: Any
) -> None:
    pins.set_pin(farm.users["sam"], PIN, timezone.now())
    phone = client_of("sam")
    device = on_phone(phone, farm)
    phone.post("/sign-out/")
    door = phone.get("/sign-in/?next=/orchard/").content.decode()
    assert 'name="who"' in door and "sam" not in door.replace("same", "").lower().split("<main")[1]
    assert phone.get("/orchard/here/").status_code == 401
    assert by_pin(phone, "sam", PIN).status_code == 302
    assert phone.get("/orchard/here/").json()["user"]["id"] == farm.users["sam"].pk
    revoke(device, timezone.now())
    assert phone.get("/orchard/here/").status_code == 401, "who signed in on it is signed out"
    assert by_pin(phone, "sam", PIN)["Location"] == "/sign-in/"


@pytest.mark.parametrize("name", ["olga", "frank", "mo"])
def test_officer_manager_and_mender_have_passwords_only(
    farm: Farm, client_of: Any, counter: Client, name: str
) -> None:
    assert client_of(name).get("/me/pin/").status_code == 403
    assert "/me/pin/" not in client_of(name).get("/me/").content.decode()
    with pytest.raises(ValueError, match="by password only"):
        pins.set_pin(farm.users[name], PIN, timezone.now())
    Pin.objects.create(user=farm.users[name], digest=Pin.objects.get().digest, set_at=timezone.now())
    assert by_pin(counter, name, PIN).status_code == 400


def test_who_becomes_an_officer_has_no_pin_any_more(farm: Farm, counter: Client) -> None:
    farm.users["rosa"].groups.add(Group.objects.get(name="safety officer"))
    assert "who=" not in counter.get("/sign-in/").content.decode()
    assert by_pin(counter, "rosa", PIN).status_code == 400


def test_the_pin_is_set_on_ones_own_page_after_the_password(
    farm: Farm, client_of: Any, counter: Client
) -> None:
    rosa = client_of("rosa")

    def asked(**other: str) -> Any:
        return rosa.post("/me/pin/", {"password": PASSWORD, "pin": OTHER, "again": OTHER} | other)

    assert "That is not your password." in asked(password="wrong").content.decode()
    assert "not the same" in asked(again=PIN).content.decode()
    for weak in ("123456", "987654", "111111", "121212", "407407", "12345", "１２３４５６"):
        assert asked(pin=weak, again=weak).status_code == 400, weak
    assert by_pin(counter, "rosa", OTHER).status_code == 400
    assert asked().status_code == 302
    assert by_pin(counter, "rosa", OTHER).status_code == 302
    assert rosa.post("/me/pin/", {"forget": "1"}).status_code == 302 and not Pin.objects.exists()


def test_a_pin_is_kept_by_argon2_with_a_key_from_elsewhere(farm: Farm, settings: Any) -> None:
    rosa = farm.users["rosa"]
    pins.set_pin(rosa, PIN, timezone.now())
    digest = Pin.objects.get().digest
    assert digest.startswith("argon2$argon2id$") and PIN not in digest
    assert pins.fits(rosa, PIN)
    settings.SECRET_KEY = "another key"
    assert not pins.fits(rosa, PIN), "the digests alone are worth nothing"


def test_twenty_failures_of_one_leave_the_others_at_the_address_working(farm: Farm, counter: Client) -> None:
    pins.set_pin(farm.users["sam"], OTHER, timezone.now())
    codes = [by_pin(counter, "rosa", "000000").status_code for _ in range(20)]
    assert codes[0] == 400 and codes[-1] == 429
    locked = by_pin(counter, "rosa", PIN)
    assert locked.status_code == 429 and "Too many tries" in locked.content.decode()
    assert by_password(counter, "rosa").status_code == 429, (
        "tries by PIN and by password are counted together"
    )
    assert by_pin(counter, "sam", OTHER).status_code == 302
    assert by_password(Client(), "olga").status_code == 302
    assert by_password(Client(), "rosa", REMOTE_ADDR="10.0.0.9").status_code == 302, "from elsewhere she may"
    assert all("000000" not in tried.post_data for tried in AccessAttempt.objects.all())


def test_a_pin_that_was_tried_too_often_is_dead_from_everywhere(farm: Farm, counter: Client) -> None:
    Pin.objects.update(wrong=pins.MOST_WRONG - 1)
    assert by_pin(counter, "rosa", OTHER).status_code == 400
    assert by_pin(counter, "rosa", PIN).status_code == 400
    pins.set_pin(farm.users["rosa"], PIN, timezone.now())
    assert by_pin(counter, "rosa", PIN).status_code == 302


@pytest.mark.parametrize(
    ("setting", "value", "spell"), [("SESSION_IDLE_MINUTES", 30, 1801), ("SESSION_HOURS", 2, 7201)]
)
def test_a_session_ends_by_time(
    farm: Farm, client_of: Any, settings: Any, monkeypatch: Any, setting: str, value: int, spell: int
) -> None:
    settings.SESSION_IDLE_MINUTES = settings.SESSION_HOURS = 0
    setattr(settings, setting, value)
    now = time()
    rosa = client_of("rosa")
    for later, signed_in in (
        (spell - 60, True),
        (spell, setting == "SESSION_IDLE_MINUTES"),
        (2 * spell + 1, False),
    ):
        monkeypatch.setattr("crews.sessions.time", lambda later=later: now + later)
        assert rosa.get("/api/board/").status_code == (200 if signed_in else 401), later
    assert not SignIn.objects.exists() and not Session.objects.exists()


def test_a_request_writes_no_session_but_each_few_minutes(
    farm: Farm, client_of: Any, monkeypatch: Any
) -> None:
    rosa, now = client_of("rosa"), time()

    def written() -> list[str]:
        with CaptureQueriesContext(connection) as seen:
            rosa.get("/api/board/")
        return [
            query["sql"] for query in seen.captured_queries if query["sql"].startswith(("UPDATE", "INSERT"))
        ]

    assert written() == []
    monkeypatch.setattr("crews.sessions.time", lambda: now + sessions.FRESHEN + 1)
    assert len(written()) == 1 and written() == []


def test_what_a_page_asks_by_itself_keeps_nobody_signed_in(
    farm: Farm, client_of: Any, monkeypatch: Any
) -> None:
    asked = {name for file in TEMPLATES.rglob("*.html") for name in SELF_ASKED.findall(file.read_text())}
    assert asked and asked <= sessions.BY_ITSELF <= set(policy.ENDPOINTS)
    rosa, now = client_of("rosa"), time()
    for hours, path, code in (
        (7, "/board/lines/", 200),
        (11, "/orchard/here/", 200),
        (13, "/board/lines/", 302),
    ):
        monkeypatch.setattr("crews.sessions.time", lambda hours=hours: now + hours * 3600)
        assert rosa.get(path).status_code == code, hours


def test_a_session_from_before_begins_now_and_can_be_ended(farm: Farm, client_of: Any) -> None:
    rosa = client_of("rosa")
    SignIn.objects.all().delete()
    session = rosa.session
    del session[sessions.BEGUN], session[sessions.USED]
    session.save()
    assert who_is_in(rosa) == "rosa" and sessions.BEGUN in rosa.session
    assert sessions.end_of(farm.users["rosa"]) == 1 and who_is_in(rosa) == ""


def test_a_new_password_signs_one_out_everywhere_else(farm: Farm, client_of: Any) -> None:
    here, there = client_of("rosa"), client_of("rosa")
    asked = {
        "old_password": PASSWORD,
        "new_password1": "a wet ladder slips",
        "new_password2": "a wet ladder slips",
    }
    assert here.post("/me/password/", asked | {"old_password": "x"}).status_code == 400
    assert here.post("/me/password/", asked).status_code == 302
    assert (who_is_in(here), who_is_in(there)) == ("rosa", "")
    assert SignIn.objects.count() == 1 and Session.objects.count() == 1
    assert here.post("/me/password/", asked).status_code == 400
    assert by_password(Client(), "rosa", "a wet ladder slips").status_code == 302


def test_the_manager_ends_sessions_and_shuts_out(farm: Farm, client_of: Any, counter: Client) -> None:
    frank, rosa = client_of("frank"), farm.users["rosa"]
    by_pin(counter, "rosa", PIN)
    page = frank.get("/users/").content.decode()
    assert "A1, PIN" in page and "another browser, password" in page
    assert frank.post(f"/users/{rosa.pk}/end/").status_code == 302
    assert who_is_in(counter) == "" and who_is_in(frank) == "frank"
    by_pin(counter, "rosa", PIN)
    assert frank.post(f"/users/{rosa.pk}/disable/").status_code == 302
    assert who_is_in(counter) == "" and not SignIn.objects.filter(user=rosa).exists()
    assert by_pin(counter, "rosa", PIN).status_code == 400 and by_password(counter, "rosa").status_code == 200
    frank.post(f"/users/{rosa.pk}/enable/")
    assert who_is_in(counter) == "" and by_password(counter, "rosa").status_code == 302
    frank.post(f"/users/{farm.users['frank'].pk}/disable/")
    assert User.objects.get(username="frank").is_active, "not oneself"


def test_no_more_queries_for_more_users(
    farm: Farm, client_of: Any, django_assert_max_num_queries: Any
) -> None:
    frank = client_of("frank")
    with django_assert_max_num_queries(20) as seen:
        frank.get("/users/")
    for number in range(5):
        Client().force_login(user(f"pia{number}", "storeman"), backend="crews.signing_in.RoleBackend")
    with django_assert_max_num_queries(len(seen.captured_queries)):
        frank.get("/users/")


def test_signing_in_is_no_open_door_to_other_sites(farm: Farm, counter: Client) -> None:
    answer = counter.post("/sign-in/pin/", {"who": "rosa", "pin": PIN, "next": "https://elsewhere.example/"})
    assert answer["Location"] == "/"
    assert Device.objects.filter(kind="counter").count() == 1
