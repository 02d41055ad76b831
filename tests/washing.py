"""A wash place for tests: baths mixed so many minutes ago, pieces dipped in them, what a page says."""

import re
from datetime import timedelta
from html import unescape
from typing import Any
from uuid import UUID

from django.utils import timezone

from equipment.actions import bathing
from equipment.actions.bathing import Mixing
from equipment.actions.clean import Way, clean
from equipment.actions.writing import Pen
from equipment.models import ItemState
from tests.cast import Farm

DAILY = Mixing("clippers_daily_bleach", litres=20, product_ml=2000, strength_pct=5)


def pen(farm: Farm, ago: float = 0, name: str = "rosa", store: str = "A") -> Pen:
    """Writes `ago` minutes ago."""
    return Pen(farm.users[name], store, timezone.now() - timedelta(minutes=ago))


def mixed(farm: Farm, ago: float = 30, mixing: Mixing = DAILY, store: str = "A") -> UUID:
    own, outcome = bathing.mix(pen(farm, ago, store=store), mixing)
    assert outcome.recorded
    return own


def dipped(farm: Farm, bath: UUID, tags: list[str], ago: float = 0, **how: Any) -> None:
    way = Way("sterilise", bath, **{"seconds": 600, **how})
    outcomes = clean(pen(farm, ago), states(*tags), way)
    assert all(outcome.recorded for outcome in outcomes)


def states(*tags: str) -> list[ItemState]:
    by_tag = {row.tag: row for row in ItemState.objects.filter(tag__in=tags).select_related("item")}
    return [by_tag[tag] for tag in tags]


def sterile(tag: str) -> bool:
    """Whether no sterilising of it is due now."""
    row = ItemState.objects.get(tag=tag)
    return "cleaning_due" not in row.reasons_at(timezone.now())


def text(response: Any) -> str:
    """What a page says, its blanks made single."""
    html = re.sub(r"<head>.*?</head>", "", response.content.decode(), flags=re.S)
    return " ".join(unescape(re.sub(r"<[^>]+>", " ", html)).split())
