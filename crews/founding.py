"""What every farm has from the first migrate: the role groups and the server as a device."""

from typing import Any

from crews.policy import ROLES


def found(using: str, **kwargs: Any) -> None:
    from django.contrib.auth.models import Group

    from crews.models import Device
    from crews.models.devices import SERVER_ID

    for role in ROLES:
        Group.objects.using(using).get_or_create(name=role)
    Device.objects.using(using).get_or_create(id=SERVER_ID, defaults={"kind": Device.Kind.SERVER, "name": "server"})
