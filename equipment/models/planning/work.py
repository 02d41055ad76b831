"""How many minutes a piece of work takes: by the book where it knows enough, else by the catalogue."""

from collections import defaultdict
from collections.abc import Mapping
from dataclasses import dataclass
from datetime import datetime, timedelta
from functools import cache
from statistics import median

from equipment.models.book import Entry
from equipment.models.planning.supply import Step
from equipment.models.rules import whole

SINCE = timedelta(days=180)
ENOUGH = 5
"""Fewer mends than these say little: then the catalogue's minutes stand."""


@dataclass(frozen=True, slots=True)
class Minutes:
    """`mends`: fault -> the median of the minutes that its mends took of late, where there were enough."""

    mends: Mapping[str, float]

    def of(self, step: Step, kind: str, recipe: str = "") -> float | None:
        """None where nobody can say: no usual mend, so that it waits for somebody's decision."""
        match step.what:
            case "mend":
                return self.mends.get(step.name, _by_catalogue()["mend", step.name])
            case "wash" | "sterilise" | "dry":
                return _cleaning(step.what, kind, recipe)
            case what:
                return _work(what, step.name)

    @staticmethod
    def mixing(recipe: str) -> float:
        return _work("mix", recipe)

    def from_book(self, step: Step) -> bool:
        return step.what == "mend" and step.name in self.mends


def minutes(at: datetime) -> Minutes:
    """By the mends of the half year before `at` that were not taken back. Two queries."""
    rows = Entry.objects.filter(verb="mended", happened_at__gt=at - SINCE, happened_at__lte=at)
    undone = Entry.objects.filter(verb="reversed", happened_at__gt=at - SINCE, item__isnull=False)
    taken_back = {detail["entry"] for detail in undone.values_list("detail", flat=True)}
    took: dict[str, list[int]] = defaultdict(list)
    for own, detail in rows.order_by().values_list("id", "detail"):
        if str(own) not in taken_back:
            took[detail["fault"]].append(int(detail["minutes"]))
    return Minutes({fault: median(known) for fault, known in took.items() if len(known) >= ENOUGH})


def _cleaning(method: str, kind: str, recipe: str) -> float:
    """Of this recipe, else of the kind, else of the method."""
    known = _by_catalogue()
    found = known.get((method, recipe)) if recipe else None
    return float(found or known.get((method, "kind", kind)) or _work(method))


def _work(what: str, name: str = "") -> float:
    known = _by_catalogue()
    return float(known.get((what, name)) or known[what, ""])  # type: ignore[arg-type]


@cache
def _by_catalogue() -> Mapping[tuple[str, ...], float | None]:
    found: dict[tuple[str, ...], float | None] = defaultdict(lambda: None)
    found |= {("mend", fault.code): fault.minutes for fault in whole().fault}
    found |= {(rule.method, "kind", rule.kind): rule.minutes for rule in whole().cleaning}
    found |= {(each.what, each.name): each.minutes for each in whole().work}
    return found
