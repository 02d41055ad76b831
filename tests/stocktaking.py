"""A stocktake for tests: begun in store A, scanned, and what a piece is at it."""

import json
from collections.abc import Callable
from datetime import datetime, timedelta
from typing import Any

from django.test import Client
from django.urls import reverse
from django.utils import timezone

from equipment.actions.stocktake.begin import begin, pen
from equipment.actions.stocktake.correct import Said
from equipment.actions.stocktake.scan import Scan, Taken, take
from equipment.actions.stocktake.settle import settle
from equipment.actions.writing import new_id
from equipment.models import ItemState, Stocktake, stocktaking
from tests.cast import Farm
from tests.documents import reading

SignedIn = Callable[[str], Client]


def begun(farm: Farm, *kinds: str, store: str = "A", by: str = "rosa") -> Stocktake:
    return begin(farm.stores[store], kinds, farm.users[by], timezone.now())


def scanned(
    own: Stocktake, farm: Farm, *texts: str, by: str = "rosa", at: datetime | None = None
) -> list[Taken]:
    now = timezone.now()
    return take(own, [Scan(new_id(), text, at or now) for text in texts], farm.users[by], now)


def outcomes(taken: list[Taken]) -> list[str]:
    return [each.outcome for each in taken]


def state(tag: str) -> ItemState:
    return ItemState.objects.get(item__labels__code=tag)


def standing(own: Stocktake, tag: str) -> str:
    line = stocktaking.count(Stocktake.objects.get(pk=own.pk)).lines.get(state(tag).pk)
    return line.standing if line else ""


def sums(own: Stocktake) -> dict[str, int]:
    return dict(stocktaking.count(Stocktake.objects.get(pk=own.pk)).sums)


def chosen(own: Stocktake, farm: Farm, tag: str, choice: str, by: str = "rosa", **said: Any) -> None:
    settle(own, pen(own, farm.users[by], timezone.now()), state(tag).pk, choice, Said(**said))


def hand_out(farm: Farm, tag: str, who: str = "ana", minutes_ago: int = 0) -> None:
    own = farm.pen()
    at = own.at - timedelta(minutes=minutes_ago)
    crew = farm.crews["blue" if who == "cy" else "red"].pk
    draft = own.draft(
        "handed_out", item=state(tag).pk, crew=crew, picker=farm.pickers[who].pk, happened_at=at
    )
    assert own.record([draft]).outcomes[0].recorded


def told(farm: Farm, piece: str, verb: str, store: str = "A", **detail: Any) -> None:
    """Another line of the piece, as its page writes it."""
    own = farm.pen(store=store)
    assert own.record([own.draft(verb, item=state(piece).pk, detail=detail)]).outcomes[0].recorded


def at(name: str, own: Stocktake, *more: Any) -> str:
    return reverse(name, args=[own.pk, *more])


def text_of(pdf: bytes) -> str:
    return " ".join(reading.words(pdf))


def page(client: Client, address: str) -> str:
    answer = client.get(address)
    assert answer.status_code == 200, answer.status_code
    return answer.content.decode()


def send(client: Client, own: Stocktake, *texts: str, **fields: Any) -> list[dict[str, Any]]:
    now = timezone.now().isoformat()
    scans = [{"id": str(new_id()), "text": text, "at": now, **fields} for text in texts]
    body = json.dumps({"sent_at": now, "scans": scans})
    answer = client.post(at("stocktake_scans", own), body, content_type="application/json")
    assert answer.status_code == 200, answer.content
    return answer.json()["answers"]
