"""A phone that sends is heard of: when, and how much it said it still has. Others cost nothing."""

from datetime import timedelta
from typing import Any

import pytest
from django.db import connection
from django.test.utils import CaptureQueriesContext
from django.utils import timezone

from crews.models import Device
from equipment.actions.hear_phone import hear
from tests.cast import Farm
from tests.phones import enrolled


@pytest.fixture
def phone(farm: Farm) -> Device:
    """Heard of an hour ago, with 40 entries still to send."""
    phone = enrolled(farm)
    at = timezone.now() - timedelta(hours=1)
    Device.objects.filter(pk=phone.pk).update(last_contact=at, unsent=40)
    phone.refresh_from_db()
    return phone


def sent(farm: Farm, client: Any, device: Device, unsent: str | None = None) -> None:
    headers = {} if unsent is None else {"HTTP_X_UNSENT": unsent}
    batch = farm.batch([], "note", device=str(device.pk))
    assert client.post("/api/entries/", batch, format="json", **headers).status_code == 200


def test_a_batch_says_when_and_how_much(farm: Farm, client_of: Any, phone: Device) -> None:
    before = timezone.now()
    sent(farm, client_of("sam"), phone, "12")
    phone.refresh_from_db()
    assert phone.unsent == 12
    assert phone.last_contact and before <= phone.last_contact <= timezone.now()


def test_a_phone_that_does_not_say_keeps_what_it_said(farm: Farm, client_of: Any, phone: Device) -> None:
    sent(farm, client_of("sam"), phone)
    phone.refresh_from_db()
    assert phone.unsent == 40
    assert phone.last_contact and timezone.now() - phone.last_contact < timedelta(minutes=1)


@pytest.mark.parametrize("told", ["", "-1", "many", "1.5", "٣", "9" * 40])
def test_nonsense_is_not_written_down(farm: Farm, client_of: Any, phone: Device, told: str) -> None:
    hear(phone, told, timezone.now())
    phone.refresh_from_db()
    assert phone.unsent == 40


def test_once_a_minute_is_enough(farm: Farm, phone: Device) -> None:
    first = timezone.now()
    for seconds, unsent in ((0, 30), (20, 20), (59, 10)):
        hear(phone, str(unsent), first + timedelta(seconds=seconds))
        phone.refresh_from_db()
        assert (phone.last_contact, phone.unsent) == (first, 30)
    hear(phone, "5", first + timedelta(seconds=60))
    phone.refresh_from_db()
    assert (phone.last_contact, phone.unsent) == (first + timedelta(seconds=60), 5)


def test_that_all_is_sent_is_written_at_once(farm: Farm, phone: Device) -> None:
    first = timezone.now()
    hear(phone, "30", first)
    phone.refresh_from_db()
    hear(phone, "0", first + timedelta(seconds=1))
    phone.refresh_from_db()
    assert phone.unsent == 0


def test_it_costs_one_write_a_minute(farm: Farm, phone: Device, client_of: Any) -> None:
    client = client_of("sam")
    counted = []
    for _ in range(2):
        with CaptureQueriesContext(connection) as seen:
            sent(farm, client, phone, "3")
        counted.append([each["sql"] for each in seen if each["sql"].startswith("UPDATE")])
    assert [len(each) for each in counted] == [1, 0]
    assert "crews_device" in counted[0][0]


def test_a_counter_costs_nothing(farm: Farm, client_of: Any) -> None:
    """The same batch with and without what a phone says: the same queries, and nothing written."""
    client, counted = client_of("rosa"), []
    for unsent in (None, "7"):
        with CaptureQueriesContext(connection) as seen:
            sent(farm, client, farm.device, unsent)
        counted.append(len(seen))
        assert not [each for each in seen if "UPDATE" in each["sql"]]
    assert counted[0] == counted[1]
    farm.device.refresh_from_db()
    assert (farm.device.last_contact, farm.device.unsent) == (None, None)


def test_a_revoked_phone_is_heard_of_too(farm: Farm, client_of: Any, phone: Device) -> None:
    Device.objects.filter(pk=phone.pk).update(revoked_at=timezone.now())
    sent(farm, client_of("sam"), phone, "2")
    phone.refresh_from_db()
    assert phone.unsent == 2
