"""Phones of the small farm: one that is enrolled, and a browser that is it."""

from typing import Any

from django.utils import timezone

from crews.models import Device
from equipment.actions.enrol import enrol, new_code
from equipment.pages.devices.phone import COOKIE
from tests.cast import Farm


def code_of(farm: Farm, store: str = "A") -> str:
    """An open code, made by Rosa just now."""
    return new_code(farm.stores[store], farm.users["rosa"], timezone.now()).code


def enrolled(farm: Farm, name: str = "Sam's phone", store: str = "A") -> Device:
    return enrol(code_of(farm, store), name, timezone.now())


def on_phone(client: Any, farm: Farm, name: str = "Sam's phone", store: str = "A") -> Device:
    """`client` becomes the browser of an enrolled phone, by the page."""
    answer = client.post(f"/orchard/enrol/{code_of(farm, store)}", {"name": name})
    assert answer.status_code == 302, answer.content
    assert client.cookies[COOKIE]["httponly"]
    return Device.objects.get(kind=Device.Kind.PHONE, name=name)
