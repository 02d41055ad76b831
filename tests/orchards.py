"""A phone in the orchard and the page that settles what it told, for tests of both."""

import html
from datetime import datetime, timedelta
from typing import Any
from uuid import UUID

from django.test import Client
from django.utils import timezone

from crews.models import Device
from equipment.models import Discrepancy, Entry, ItemState
from tests.cast import Farm
from tests.farm import Post


def a_phone(name: str = "Phone 1", **fields: Any) -> Device:
    return Device.objects.create(kind=Device.Kind.PHONE, name=name, store_id="A", **fields)


def signed_in(farm: Farm, name: str) -> Client:
    client = Client()
    client.force_login(farm.users[name], backend="crews.signing_in.RoleBackend")
    return client


def text(response: Any) -> str:
    assert response.status_code == 200, response.status_code
    return " ".join(html.unescape(response.content.decode()).split())


def page(farm: Farm, query: str = "", name: str = "rosa") -> str:
    return text(signed_in(farm, name).get(f"/settle/{query}"))


def settle(farm: Farm, choice: str, name: str = "rosa", note: str = "", **found: Any) -> str:
    """Settle the one discrepancy that answers to `found`; what the page says afterwards."""
    one = Discrepancy.objects.get(settled=False, **found)
    sent = {"choice": choice, "note": note, "back": "/settle/?list=open"}
    answer = signed_in(farm, name).post(f"/settle/told/{one.code}/{one.entry_id}/", sent, follow=True)
    return text(answer)


def choices(farm: Farm, name: str = "rosa") -> list[str]:
    """The ways that the page offers, in its order."""
    shown = signed_in(farm, name).get("/settle/?list=open")
    return [way.name for line in shown.context["lines"] for way in line.ways]


def waiting() -> list[str]:
    return sorted(Discrepancy.objects.filter(settled=False).values_list("code", flat=True))


def where(tag: str) -> tuple[str, int | None, str | None]:
    state = ItemState.objects.get(tag=tag)
    return state.place, state.picker_id, state.crew_id


def told(farm: Farm, post: Post, *entries: Any, name: str = "sam", **fields: Any) -> list[str]:
    """Send notes; what became of each: its code, or its outcome."""
    answers = post(*entries, name=name, gate="note", **fields)
    return [answer.get("code", answer["outcome"]) for answer in answers]


def swap(farm: Farm, broken: str, spare: str, who: str, at: datetime, first: int = 1) -> list[dict[str, Any]]:
    """What a phone sends when a piece is broken and a spare is handed over: one act of three lines."""
    red, badge, act = farm.crews["red"].pk, farm.badges[who], str(UUID(int=at.microsecond + first))
    own = {"at": at, "act": act}
    return [
        farm.entry("fault_found", item=broken, detail={"fault": "bag_hole"}, device_seq=first, **own),
        farm.entry("handed_out", item=broken, crew=red, detail={"from": badge}, device_seq=first + 1, **own),
        farm.entry("handed_out", item=spare, picker=badge, detail={"from": red}, device_seq=first + 2, **own),
    ]


def acts_of(entry: str | UUID) -> list[str]:
    """The verbs of the act that settled it, in the order they were written."""
    rows = Entry.objects.filter(verb="settled", detail__key__endswith=str(entry))
    act = rows.latest("position").act
    return list(Entry.objects.filter(act=act).order_by("position").values_list("verb", flat=True))


def hours(count: float) -> datetime:
    return timezone.now() - timedelta(hours=count)
