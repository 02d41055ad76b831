"""Where else a picker's name stands: in the whys of people, which no page can change and nothing erases."""

import re
from collections.abc import Iterator
from typing import Any

from crews.models import DayPlanChange
from equipment.models import Audit, Case, KeptEntry, Rule, Stocktake

WHYS: tuple[tuple[Any, str], ...] = (
    (Audit, "why"),
    (Case, "why"),
    (DayPlanChange, "why"),
    (KeptEntry, "why"),
    (Rule, "why"),
    (Stocktake, "why_open"),
)


def stands_in(name: str, text: Any) -> bool:
    """Whether the whole name stands in it: Ana is not in banana."""
    return bool(name) and re.search(rf"(?<!\w){re.escape(name)}(?!\w)", str(text), re.IGNORECASE) is not None


def named_elsewhere(name: str) -> Iterator[str]:
    """What was written that has the name in it, each as its table and key, such as "case 3"."""
    if not name:
        return
    for model, field in WHYS:
        rows = model.objects.filter(**{f"{field}__icontains": name}).order_by("pk")
        for pk, text in rows.values_list("pk", field):
            if stands_in(name, text):
                yield f"{model._meta.verbose_name} {pk}"
