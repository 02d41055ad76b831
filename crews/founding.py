"""What every farm has from the first migrate: the role groups and, as devices, the server and paper."""

from typing import Any

from django.apps import apps as of_today
from django.apps.registry import Apps

from crews.policy import ROLES


def found(using: str, apps: Apps = of_today, **kwargs: Any) -> None:
    """`apps` are the models of the database as it was migrated, which may be back to an earlier Shedbook's."""
    from crews.models.devices import PAPER_ID, SERVER_ID, Device

    try:
        group, device = apps.get_model("auth", "Group"), apps.get_model("crews", "Device")
    except LookupError:
        return  # back to before there was anything
    for role in ROLES:
        group.objects.using(using).get_or_create(name=role)
    for own, kind in ((SERVER_ID, Device.Kind.SERVER), (PAPER_ID, Device.Kind.PAPER)):
        device.objects.using(using).get_or_create(id=own, defaults={"kind": kind, "name": kind.value})
