"""A lot of bags and an audit of it, for the tests of audits."""

import re
from decimal import Decimal
from html import unescape
from typing import Any

from django.utils import timezone

from equipment.actions.audit.answering import Answered, Look, answer
from equipment.actions.audit.drawing import Wanted, draw_sample
from equipment.actions.writing import new_id
from equipment.models import Audit, ItemState
from equipment.models.audits import Lot
from tests.cast import Farm

SEED = 20260311


def ask(kind: str = "bag", faulty: int | None = 5, share: str = "", sure: int = 95, **lot: Any) -> Wanted:
    given = Decimal(share) if share else None
    return Wanted(Lot(kind, **lot), Decimal(sure), None if share else faulty, given)


def drawn(farm: Farm, wanted: Wanted | None = None, seed: int = SEED) -> Audit:
    return draw_sample(wanted or ask(), new_id(), farm.users["olga"], timezone.now(), seed)


def look(farm: Farm, audit: Audit, tag: str, found: Look, who: str = "olga") -> Answered:
    return answer(farm.pen(who), audit, row(tag), found)


def row(tag: str) -> ItemState:
    return ItemState.objects.select_related("item").get(tag=tag)


def tags(audit: Audit) -> list[str]:
    """The sample in the order of drawing."""
    return list(audit.pieces.values_list("tag", flat=True))


def text(response: Any) -> str:
    """What the page of an audit says, without what stands on every page."""
    html = response.content.decode().partition('id="content"')[2].partition("<dialog")[0]
    return " ".join(unescape(re.sub(r"<[^>]+>", " ", html)).split())
