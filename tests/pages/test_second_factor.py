"""A code from one's own phone beside the password: for the safety officer and the manager, as they like.

The phone here is pyotp, another implementation; the sums are held to the test vectors of RFC 6238, appendix B (SHA-1).
"""

import re
from collections.abc import Callable
from typing import Any
from urllib.parse import parse_qs, urlsplit

import pyotp
import pytest
from django.contrib.sessions.models import Session
from django.test import Client
from django_otp.oath import TOTP
from django_otp.plugins.otp_static.models import StaticDevice, StaticToken
from django_otp.plugins.otp_totp.models import TOTPDevice
from rest_framework.authtoken.models import Token

from crews import pins, second_factor
from crews.models import SignIn
from tests.cast import PASSWORD, Farm

VECTORS = {
    59: "94287082",
    1111111109: "07081804",
    1111111111: "14050471",
    1234567890: "89005924",
    2000000000: "69279037",
    20000000000: "65353130",
}
NOON = 1_800_000_000


class Clock:
    """What time it is for the server's codes, and for the phone; both at `now`."""

    now = NOON

    def time(self) -> float:
        return float(self.now)


@pytest.fixture
def clock(monkeypatch: pytest.MonkeyPatch) -> Clock:
    known = Clock()
    monkeypatch.setattr("django_otp.plugins.otp_totp.models.time.time", known.time)
    return known


@pytest.fixture
def phone(farm: Farm, clock: Clock) -> Callable[[], str]:
    """Olga set it up; `phone()` is what it shows now."""
    device = second_factor.begin(farm.users["olga"])
    shows = pyotp.parse_uri(device.config_url)
    assert isinstance(shows, pyotp.TOTP)
    assert second_factor.confirm(farm.users["olga"], shows.at(clock.now))
    clock.now += 60
    return lambda: shows.at(clock.now)


def by_password(client: Client, who: str = "olga", password: str = PASSWORD, **more: Any) -> Any:
    return client.post("/sign-in/", {"username": who, "password": password, "next": "/gear/"}, **more)


def by_code(client: Client, code: str, **more: Any) -> Any:
    return client.post("/sign-in/code/", {"code": code, "next": "/gear/"}, **more)


def is_in(client: Client) -> bool:
    return bool(client.get("/gear/").status_code == 200)


def half_in() -> Client:
    client = Client()
    assert by_password(client)["Location"] == "/sign-in/code/?next=%2Fgear%2F"
    return client


@pytest.mark.parametrize(("at", "code"), VECTORS.items())
def test_the_codes_are_those_of_the_rfc(at: int, code: str) -> None:
    sum_of = TOTP(b"12345678901234567890", step=30, digits=8)
    sum_of.time = at
    assert f"{sum_of.token():08}" == code


def test_a_password_alone_signs_nobody_in_who_gives_a_code(farm: Farm, phone: Any) -> None:
    client = half_in()
    assert not is_in(client) and client.get("/api/items/").status_code in (401, 403)
    assert not SignIn.objects.exists()
    answer = by_code(client, phone())
    assert (answer.status_code, answer["Location"]) == (302, "/gear/")
    assert is_in(client) and SignIn.objects.get().how == "code"
    assert "who=" not in answer["Location"]


def test_who_has_none_signs_in_as_before(farm: Farm, phone: Any) -> None:
    client = Client()
    assert by_password(client, "frank")["Location"] == "/gear/" and is_in(client)


def test_a_code_is_good_once(farm: Farm, phone: Any) -> None:
    code, first, second = phone(), half_in(), half_in()
    assert by_code(first, code).status_code == 302
    assert by_code(second, code).status_code == 400 and not is_in(second)


@pytest.mark.parametrize(("seconds", "status"), [(-60, 400), (-30, 302), (0, 302), (30, 302), (60, 400)])
def test_a_phones_clock_may_be_half_a_minute_wrong(
    farm: Farm, phone: Any, clock: Clock, seconds: int, status: int
) -> None:
    clock.now += 300
    told = clock.now
    clock.now += seconds
    code, clock.now = phone(), told
    assert by_code(half_in(), code).status_code == status


@pytest.mark.parametrize(
    "code", ["", "12345", "1234567", "٠٠٠٠٠٠", "+00000", "a" * 500, "0x1234", "\0\0\0\0\0\0"]
)
def test_what_is_no_code_fits_nothing(farm: Farm, phone: Any, code: str) -> None:
    client = half_in()
    assert by_code(client, code).status_code == 400 and not is_in(client)


def test_after_a_wrong_code_the_right_one_has_to_wait(farm: Farm, phone: Any) -> None:
    """django-otp's own throttle: one second after the first wrong try, twice as long after each more."""
    client = half_in()
    by_code(client, "000000")
    assert TOTPDevice.objects.get().throttling_failure_count == 1
    assert by_code(client, phone()).status_code == 400
    TOTPDevice.objects.update(throttling_failure_timestamp="2020-01-01T00:00:00Z")
    assert by_code(client, phone()).status_code == 302


def test_tries_are_counted_by_user_and_address_together(farm: Farm, phone: Any, settings: Any) -> None:
    client = half_in()
    for _ in range(settings.AXES_FAILURE_LIMIT):
        wrong = by_code(client, "000000")
    assert wrong.status_code == 429
    TOTPDevice.objects.update(throttling_failure_count=0, throttling_failure_timestamp=None)
    assert by_code(client, phone()).status_code == 429, "locked out here, the right code does not help"
    assert by_password(Client(), "frank").status_code == 302, "the others at this address work on"
    elsewhere = Client(REMOTE_ADDR="192.0.2.7")
    by_password(elsewhere)
    assert by_code(elsewhere, phone()).status_code == 302


def test_the_code_of_a_wrong_try_is_kept_nowhere(farm: Farm, phone: Any) -> None:
    from axes.models import AccessAttempt

    by_code(half_in(), "918273")
    rows = list(AccessAttempt.objects.values())
    assert rows and "918273" not in str(rows)


@pytest.mark.parametrize("what", ["five minutes", "another password", "shut out", "no password"])
def test_the_second_step_needs_the_first_one(farm: Farm, phone: Any, monkeypatch: Any, what: str) -> None:
    client = Client() if what == "no password" else half_in()
    olga = farm.users["olga"]
    if what == "five minutes":
        monkeypatch.setattr(second_factor, "HALF_SECONDS", 0)
    elif what == "another password":
        olga.set_password("a wet ladder slips")
    elif what == "shut out":
        olga.is_active = False
    olga.save()
    assert by_code(client, phone())["Location"] == "/sign-in/" and not is_in(client)


def test_the_session_has_a_new_number_after_each_step(farm: Farm, phone: Any) -> None:
    client = Client()
    client.get("/sign-in/")
    client.session.save()
    by_password(client)
    half = client.cookies["sessionid"].value
    by_code(client, phone())
    assert client.cookies["sessionid"].value != half
    assert not Session.objects.filter(pk=half).exists()


def enrol(client: Client) -> tuple[pyotp.TOTP, str]:
    """Asked for on one's own page: what the phone makes of the secret in letters, and the page of recovery codes."""
    assert client.post("/me/code/", {"password": PASSWORD, "new": "1"})["Location"] == "/me/code/"
    page = client.get("/me/code/").content.decode()
    secret = re.search(r'<span class="code">([A-Z2-7 ]+)</span>', page)
    assert secret and 'src="/me/code.svg"' in page
    shows = pyotp.TOTP(secret[1].replace(" ", ""))
    return shows, client.post("/me/code/", {"code": shows.now()}).content.decode()


def test_it_is_set_up_on_ones_own_page(farm: Farm) -> None:
    elsewhere, client = Client(), Client()
    by_password(elsewhere)
    by_password(client)
    _shows, kept = enrol(client)
    codes = re.findall(r'<li class="code">([a-z2-9]{4}-[a-z2-9]{4})</li>', kept)
    assert len(set(codes)) == second_factor.RECOVERY_CODES
    assert is_in(client) and not is_in(elsewhere), (
        "where a password alone had let them in, they are signed out"
    )
    again = client.get("/me/code/").content.decode()
    assert "10 recovery codes are left" in again and not any(code in again for code in codes), "shown once"
    assert client.get("/me/code.svg").status_code == 404
    stored = set(StaticToken.objects.values_list("token", flat=True))
    assert not stored & {code.replace("-", "") for code in codes}, "what is stored opens nothing"


def test_the_picture_is_the_secret_for_the_phone(farm: Farm, client_of: Any) -> None:
    """Read back by zxing, another program than that which drew it."""
    import zxingcpp

    from tests.pictures import drawn_svg

    client = client_of("olga")
    client.post("/me/code/", {"password": PASSWORD, "new": "1"})
    answer = client.get("/me/code.svg")
    assert (answer["Content-Type"], "no-store" in answer["Cache-Control"]) == ("image/svg+xml", True)
    (read,) = zxingcpp.read_barcodes(drawn_svg(answer.content))
    said = parse_qs(urlsplit(read.text).query)
    assert pyotp.TOTP(said["secret"][0]).secret in client.get("/me/code/").content.decode().replace(" ", "")


def test_without_the_password_nobody_sets_it_up_or_sees_the_secret(farm: Farm, client_of: Any) -> None:
    client = client_of("olga")
    assert client.post("/me/code/", {"password": "wrong", "new": "1"}).status_code == 400
    second_factor.begin(farm.users["olga"])
    assert client.get("/me/code.svg").status_code == 404
    assert "secret" not in client.get("/me/code/").content.decode()


def test_a_secret_that_was_not_confirmed_changes_nothing(farm: Farm, client_of: Any) -> None:
    client = client_of("olga")
    client.post("/me/code/", {"password": PASSWORD, "new": "1"})
    assert client.post("/me/code/", {"code": "000000"}).status_code == 400
    assert by_password(Client())["Location"] == "/gear/"


def test_a_recovery_code_lets_in_once(farm: Farm) -> None:
    client = Client()
    by_password(client)
    code = re.findall(r'<li class="code">(.*?)</li>', enrol(client)[1])[3]
    assert by_code(half_in(), code.upper().replace("-", " ")).status_code == 302
    assert by_code(half_in(), code).status_code == 400
    assert StaticDevice.objects.get().token_set.count() == second_factor.RECOVERY_CODES - 1


def test_it_is_switched_off_with_the_password(farm: Farm) -> None:
    client = Client()
    by_password(client)
    enrol(client)
    assert client.post("/me/code/", {"password": "wrong", "forget": "1"}).status_code == 400
    assert second_factor.has(farm.users["olga"])
    assert client.post("/me/code/", {"password": PASSWORD, "forget": "1"})["Location"] == "/me/"
    assert by_password(Client())["Location"] == "/gear/" and not StaticToken.objects.exists()


def test_a_starting_password_does_not_do_away_with_it(farm: Farm, phone: Any, client_of: Any) -> None:
    page = client_of("frank").post(f"/users/{farm.users['olga'].pk}/password/").content.decode()
    (password,) = re.findall(r'class="code starting">([^<]+)<', page)
    client = Client()
    assert by_password(client, password=password)["Location"].startswith("/sign-in/code/") and not is_in(
        client
    )
    by_code(client, phone())
    assert client.get("/")["Location"] == "/me/password/"


def test_another_manager_switches_it_off_and_nobody_else(farm: Farm, phone: Any, client_of: Any) -> None:
    olga, client = farm.users["olga"], half_in()
    by_code(client, phone())
    assert client_of("rosa").post(f"/users/{olga.pk}/code/").status_code == 403
    assert client.post(f"/users/{olga.pk}/code/").status_code == 403
    frank = client_of("frank")
    assert "gives a code" in frank.get("/users/").content.decode()
    frank.post(f"/users/{olga.pk}/code/")
    assert not second_factor.has(olga) and not is_in(client)
    assert "gives a code" not in frank.get("/users/").content.decode()
    second_factor.begin(farm.users["frank"])
    TOTPDevice.objects.update(confirmed=True)
    frank.post(f"/users/{farm.users['frank'].pk}/code/")
    assert second_factor.has(farm.users["frank"]), "not oneself, from there"


@pytest.mark.parametrize("name", ["rosa", "sam", "mo"])
def test_nobody_else_has_one_and_a_pin_never_asks_for_it(farm: Farm, client_of: Any, name: str) -> None:
    assert client_of(name).get("/me/code/").status_code == 403
    assert "/me/code/" not in client_of(name).get("/me/").content.decode()
    assert not (pins.may_have(farm.users[name]) and second_factor.may_have(farm.users[name]))


def test_a_session_without_a_code_cannot_set_up_another_phone(farm: Farm, phone: Any, client_of: Any) -> None:
    answer = client_of("olga").post("/me/code/", {"password": PASSWORD, "new": "1"})
    assert answer.status_code == 403 and TOTPDevice.objects.count() == 1


def test_where_it_is_demanded_it_is_set_up_before_anything_else(farm: Farm, settings: Any) -> None:
    settings.SECOND_FACTOR = "demanded"
    client = Client()
    by_password(client)
    for page in ("/gear/", "/users/", "/me/"):
        answer = client.get(page)
        assert answer.status_code in (302, 403) and answer.get("Location", "/me/code/") == "/me/code/"
    assert client.get("/api/items/").status_code == 403
    assert client.get("/orchard/here/").status_code == 403
    assert "Set it up first" in client.get("/me/code/").content.decode()
    enrol(client)
    assert is_in(client) and client.get("/api/items/").status_code == 200


def test_where_it_is_demanded_the_others_and_tokens_work_as_before(farm: Farm, settings: Any) -> None:
    """A token is made at the server's own command line, for a program."""
    settings.SECOND_FACTOR = "demanded"
    client = Client()
    by_password(client, "rosa")
    assert is_in(client)
    token = Token.objects.create(user=farm.users["olga"]).key
    assert Client(headers={"Authorization": f"Token {token}"}).get("/api/items/").status_code == 200
