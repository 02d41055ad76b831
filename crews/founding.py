"""What every farm has from the first migrate: the role groups and, as devices, the server and paper."""

from typing import Any

from crews.policy import ROLES


def found(using: str, **kwargs: Any) -> None:
    from django.contrib.auth.models import Group

    from crews.models import Device
    from crews.models.devices import PAPER_ID, SERVER_ID

    for role in ROLES:
        Group.objects.using(using).get_or_create(name=role)
    for device, kind in ((SERVER_ID, Device.Kind.SERVER), (PAPER_ID, Device.Kind.PAPER)):
        Device.objects.using(using).get_or_create(id=device, defaults={"kind": kind, "name": kind.value})
