"""Which entries a chart is of: those of a period and a store that still stand."""

from dataclasses import dataclass
from datetime import date
from typing import Any

from django.db.models import F, OuterRef, Q, QuerySet, TextField, Value
from django.db.models.fields.json import KT
from django.db.models.functions import Cast, Coalesce, Replace

from equipment.models.book import Entry
from equipment.models.registers import Asked, Heads
from equipment.models.registers.reading import at_heads


@dataclass(frozen=True)
class Window:
    """The farm's days from `first` to `last`, both included; `store` is where it was recorded, "" for all; `heads`
    where the book stood, None: where it stands now."""

    first: date
    last: date
    store: str = ""
    heads: Heads | None = None

    @property
    def book(self) -> QuerySet[Entry]:
        return Entry.objects.all() if self.heads is None else at_heads(self.heads)

    def entries(self, *verbs: str) -> QuerySet[Entry]:
        """The entries of `verbs` in it, without those that were taken back."""
        asked = Asked(self.first, self.last)
        rows = self.book.filter(verb__in=verbs, happened_at__gte=asked.since, happened_at__lt=asked.until)
        return self.standing(rows.filter(store=self.store) if self.store else rows)

    def of_the_item(self, *verbs: str) -> QuerySet[Entry]:
        """For a subquery: what `verbs` did to the item of the outer entry. Found by the item's life, which is short: so
        the verbs are asked for in a way that keeps the database from going through all that it ever did."""
        named = self.book.annotate(word=Coalesce("verb", Value("")))
        return named.filter(word__in=verbs, item=OuterRef("item"))

    def standing(self, rows: QuerySet[Entry]) -> QuerySet[Entry]:
        """Without those that were taken back: few, and found once for all of `rows`. One database keeps ids with
        hyphens, the other without; what a detail holds has them."""
        undone = self.book.filter(verb="reversed").annotate(names=_without_hyphens(KT("detail__entry")))
        rows = rows.annotate(own=_without_hyphens(Cast(F("id"), TextField())))
        return rows.filter(~Q(own__in=undone.values("names")))


def _without_hyphens(text: Any) -> Replace:
    return Replace(text, Value("-"), Value(""), output_field=TextField())
