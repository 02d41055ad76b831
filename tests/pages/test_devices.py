"""The phones: enrolled by a one-time code, listed with what they last told, renamed, revoked."""

import re
from datetime import timedelta
from html import unescape
from typing import Any
from uuid import UUID

import pytest
from django.utils import timezone

from crews.models import Device, Enrolment
from equipment.actions.enrol import GOOD_FOR, LENGTH, LETTERS, CodeRefused, enrol, look_up, new_code
from tests.cast import Farm
from tests.phones import code_of, enrolled, on_phone


def text(answer: Any) -> str:
    """What is to be read on a page."""
    plain = re.sub(r"<(script|style|svg).*?</\1>|<[^>]+>", " ", answer.content.decode(), flags=re.S)
    return re.sub(r"\s+", " ", unescape(plain))


def made_code(client: Any, store: str = "A") -> Any:
    answer = client.post("/devices/code/", {"store": store}, follow=True)
    assert answer.status_code == 200
    return answer


@pytest.mark.parametrize("who", ["rosa", "olga", "frank"])
def test_a_code_is_made_and_shown_as_picture_and_text(farm: Farm, client_of: Any, who: str) -> None:
    answer = made_code(client_of(who))
    made = Enrolment.objects.get()
    assert (made.store_id, made.made_by.username) == ("A", who)
    assert timedelta(minutes=14) < made.expires_at - timezone.now() <= GOOD_FOR
    assert len(made.code) == LENGTH and set(made.code) <= set(LETTERS)
    assert f"{made.code[:4]} {made.code[4:]}" in text(answer)
    assert f"http://testserver/orchard/enrol/{made.code}" in text(answer)
    assert '<svg class="enrolment-code"' in answer.content.decode()


def test_codes_differ(farm: Farm) -> None:
    assert len({code_of(farm) for _ in range(50)}) == 50


def test_the_address_is_the_one_that_phones_use(farm: Farm, client_of: Any, settings: Any) -> None:
    settings.LABEL_URL_BASE = "https://shed.example/"
    answer = text(made_code(client_of("rosa")))
    assert f"https://shed.example/orchard/enrol/{Enrolment.objects.get().code}" in answer
    assert "not a secure one" not in answer


def test_an_address_that_phones_cannot_use_is_said(farm: Farm, client_of: Any) -> None:
    assert "not a secure one" in text(made_code(client_of("rosa")))
    answer = client_of("rosa").get(f"/devices/code/{Enrolment.objects.get().pk}/", HTTP_HOST="localhost:8000")
    assert "only this computer knows" in text(answer)


def test_the_page_says_what_became_of_the_code(farm: Farm, client_of: Any) -> None:
    office = client_of("rosa")
    made_code(office)
    made = Enrolment.objects.get()
    enrol(made.code, "Sam's phone", timezone.now())
    answer = office.get(f"/devices/code/{made.pk}/")
    assert "Used: Sam's phone is a phone of Store A now." in text(answer) and "svg" not in text(answer)
    assert made.code not in answer.content.decode()
    Enrolment.objects.update(used_at=None, made_at=timezone.now() - 2 * GOOD_FOR, expires_at=timezone.now())
    assert "too old" in text(office.get(f"/devices/code/{made.pk}/"))


def test_the_phone_is_told_what_will_happen_and_asked_for_its_name(farm: Farm, client_of: Any) -> None:
    phone, code = client_of("sam"), code_of(farm)
    asked = phone.get(f"/orchard/enrol/{code}")
    assert asked.status_code == 200
    assert "becomes one of Store A" in text(asked) and "no picker's name" in text(asked)
    assert Enrolment.objects.get().used_at is None and not Device.objects.filter(kind="phone").exists()
    assert phone.post(f"/orchard/enrol/{code}", {"name": "  "}).status_code == 400
    done = phone.post(f"/orchard/enrol/{code}", {"name": "Sam's phone"})
    assert (done.status_code, done["Location"]) == (302, "/orchard/")
    device = Device.objects.get(kind=Device.Kind.PHONE)
    assert (device.name, device.store_id, device.owner) == ("Sam's phone", "A", None)
    assert Enrolment.objects.get().device == device


def test_who_is_not_signed_in_signs_in_first_and_comes_back(farm: Farm) -> None:
    from django.test import Client

    code = code_of(farm)
    answer = Client().get(f"/orchard/enrol/{code}")
    assert (answer.status_code, answer["Location"]) == (302, f"/sign-in/?next=/orchard/enrol/{code}")


def test_a_code_serves_once(farm: Farm, client_of: Any) -> None:
    code = code_of(farm)
    assert client_of("sam").post(f"/orchard/enrol/{code}", {"name": "one"}).status_code == 302
    for answer in (
        client_of("olga").get(f"/orchard/enrol/{code}"),
        client_of("olga").post(f"/orchard/enrol/{code}", {"name": "two"}),
    ):
        assert answer.status_code == 410
        assert "each code enrols one phone" in text(answer) and "Ask the storeman" in text(answer)
    assert Device.objects.filter(kind=Device.Kind.PHONE).count() == 1


def test_of_two_that_scan_at_once_one_gets_it(farm: Farm, monkeypatch: Any) -> None:
    """Both have looked the code up before either has used it."""
    code = code_of(farm)
    seen = look_up(code, timezone.now())
    monkeypatch.setattr("equipment.actions.enrol.look_up", lambda *_: seen)
    enrol(code, "one", timezone.now())
    with pytest.raises(CodeRefused) as refused:
        enrol(code, "two", timezone.now())
    assert refused.value.why == "used"


def test_a_code_is_good_for_a_quarter_of_an_hour(farm: Farm, client_of: Any) -> None:
    at = timezone.now()
    code = new_code(farm.stores["A"], farm.users["rosa"], at).code
    assert look_up(code, at + timedelta(minutes=14, seconds=59))
    with pytest.raises(CodeRefused) as refused:
        look_up(code, at + timedelta(minutes=15))
    assert refused.value.why == "expired"
    Enrolment.objects.update(made_at=at - 2 * GOOD_FOR, expires_at=at - GOOD_FOR)
    answer = client_of("sam").post(f"/orchard/enrol/{code}", {"name": "late"})
    assert answer.status_code == 410 and "good for 15 minutes" in text(answer)


def test_old_codes_are_swept_away(farm: Farm) -> None:
    code_of(farm)
    long_ago = timezone.now() - timedelta(days=31)
    Enrolment.objects.update(made_at=long_ago - GOOD_FOR, expires_at=long_ago)
    code_of(farm)
    assert Enrolment.objects.count() == 1


@pytest.mark.parametrize("code", ["ABCDEFGH", "x", "%00", "..", "'", "é"])
def test_a_code_that_nobody_made(farm: Farm, client_of: Any, code: str) -> None:
    answer = client_of("sam").get(f"/orchard/enrol/{code}")
    assert answer.status_code == 404 and "Was it typed right?" in text(answer)


def test_a_code_can_be_typed_as_it_is_read(farm: Farm, client_of: Any) -> None:
    code = code_of(farm)
    assert "Type the code" in text(client_of("sam").get("/orchard/enrol/"))
    for typed in (f"{code[:4]} {code[4:]}", code.lower(), f" {code[:4]}-{code[4:]} "):
        answer = client_of("sam").get("/orchard/enrol/", {"code": typed}, follow=True)
        assert answer.status_code == 200 and "becomes one of Store A" in text(answer)
    assert client_of("sam").get("/orchard/enrol/", {"code": "//"}, follow=True).status_code == 404


def test_a_phone_that_is_enrolled_again_keeps_its_number(farm: Farm, client_of: Any) -> None:
    """Else what waits on it would belong to a phone that nobody knows any more."""
    client = client_of("sam")
    phone = on_phone(client, farm)
    code = code_of(farm, "B")
    assert "Sam's phone, moves to Store B" in text(client.get(f"/orchard/enrol/{code}"))
    client.post(f"/orchard/enrol/{code}", {"name": "Sam's old phone"})
    phone.refresh_from_db()
    assert (phone.name, phone.store_id) == ("Sam's old phone", "B")
    assert Device.objects.filter(kind=Device.Kind.PHONE).count() == 1
    again = client.get(f"/orchard/enrol/{code}")
    assert again.status_code == 410 and "This phone is enrolled" in text(again)


def test_a_revoked_phone_begins_anew(farm: Farm, client_of: Any) -> None:
    client = client_of("sam")
    old = on_phone(client, farm)
    client_of("rosa").post(f"/devices/{old.pk}/revoke/")
    code = code_of(farm)
    assert "This phone was revoked" in text(client.get(f"/orchard/enrol/{code}"))
    client.post(f"/orchard/enrol/{code}", {"name": "again"})
    assert Device.objects.get(name="again").pk != old.pk
    told = client.get("/orchard/here/").json()
    assert (told["device"]["name"], told["revoked"]) == ("again", False)


def test_the_list_says_when_and_how_much(farm: Farm, client_of: Any) -> None:
    enrolled(farm, "Fresh")
    busy, lost = enrolled(farm, "Busy"), enrolled(farm, "Lost")
    now = timezone.now()
    Device.objects.filter(pk=busy.pk).update(unsent=0)
    Device.objects.filter(pk=lost.pk).update(unsent=12, last_contact=now - timedelta(days=2))
    answer = text(client_of("rosa").get("/devices/"))
    assert answer.index("Busy") < answer.index("Fresh") < answer.index("Lost")
    assert "Busy Store A" in answer and "nothing" in answer
    assert "12 entries, as last told: look for it" in answer and "not told yet" in answer
    assert timezone.localtime(now - timedelta(days=2)).strftime("%H:%M") in answer
    assert "A1" not in answer  # a counter is none of them


def test_what_a_phone_tells_in_the_midst_of_a_day_wants_no_hand(farm: Farm, client_of: Any) -> None:
    phone = enrolled(farm)
    Device.objects.filter(pk=phone.pk).update(unsent=1, last_contact=timezone.now() - timedelta(hours=9))
    answer = text(client_of("rosa").get("/devices/"))
    assert "1 entry, as last told" in answer and "look for it" not in answer


def test_a_phone_is_renamed(farm: Farm, client_of: Any) -> None:
    phone, office = enrolled(farm), client_of("rosa")
    assert "Sam's phone" in text(office.get(f"/devices/{phone.pk}/"))
    assert office.post(f"/devices/{phone.pk}/", {"name": ""}).status_code == 400
    assert office.post(f"/devices/{phone.pk}/", {"name": "Number 7"}).status_code == 302
    phone.refresh_from_db()
    assert phone.name == "Number 7"


def test_a_phone_is_revoked_after_a_question(farm: Farm, client_of: Any) -> None:
    phone, office = enrolled(farm), client_of("olga")
    page = office.get(f"/devices/{phone.pk}/").content.decode()
    assert 'data-module="confirm"' in page and "Revoke Sam&#x27;s phone?" in page
    answer = office.post(f"/devices/{phone.pk}/revoke/", follow=True)
    assert "Sam's phone is revoked" in text(answer) and "revoked " in text(answer).split("Revoked", 1)[1]
    phone.refresh_from_db()
    first = phone.revoked_at
    office.post(f"/devices/{phone.pk}/revoke/")
    phone.refresh_from_db()
    assert first and phone.revoked_at == first
    assert "Revoke this phone" not in text(office.get(f"/devices/{phone.pk}/"))


def test_only_phones_are_here(farm: Farm, client_of: Any) -> None:
    for path in (f"/devices/{farm.device.pk}/", f"/devices/{UUID(int=99)}/", "/devices/code/999/"):
        assert client_of("rosa").get(path).status_code == 404
    assert client_of("rosa").post(f"/devices/{farm.device.pk}/revoke/").status_code == 404
    farm.device.refresh_from_db()
    assert farm.device.revoked_at is None


@pytest.mark.parametrize("store", ["", "Z"])
def test_a_code_is_for_a_store_that_is_there(farm: Farm, client_of: Any, store: str) -> None:
    answer = client_of("rosa").post("/devices/code/", {"store": store}, follow=True)
    assert "Say for which store." in text(answer) and not Enrolment.objects.exists()


def test_the_way_there_is_shown_to_those_who_may(farm: Farm, client_of: Any) -> None:
    for who in farm.users:
        shown = '<a href="/devices/"' in client_of(who).get("/").content.decode()
        assert shown is (who in ("rosa", "olga", "frank"))


def test_its_cost_does_not_grow(farm: Farm, client_of: Any, django_assert_num_queries: Any) -> None:
    """Session, person, phones, and twice the stores: Django's select looks at its first option by itself."""
    office = client_of("rosa")
    for more in (1, 10):
        for number in range(more):
            enrolled(farm, f"Phone {more} {number}")
        with django_assert_num_queries(5):
            office.get("/devices/")
