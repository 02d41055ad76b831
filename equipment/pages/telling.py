"""Lines of the book in plain words. What each verb says stands with the verb; here its gaps are filled with names."""

from collections.abc import Iterable, Mapping
from typing import Any
from uuid import UUID

from django.db.models import QuerySet
from django.utils.translation import gettext as _

from crews.models import Crew, Picker, Store
from equipment.actions.wording import filled
from equipment.domain.contradictions import CONTRADICTIONS
from equipment.domain.verbs import VERBS
from equipment.domain.verbs.written_off import CIRCUMSTANCES
from equipment.models import Discrepancy, Entry, Kind
from equipment.pages.places import holder

ICONS = {
    "registered": "book",
    "retagged": "label",
    "packed": "set",
    "handed_out": "out",
    "returned": "back",
    "stowed": "lock",
    "missed": "missing",
    "found": "search",
    "moved": "store",
    "written_off": "gone",
    "joined": "crew",
    "parted": "crew",
    "waived": "note",
    "reversed": "undo",
    "settled": "yes",
}


def with_names(entries: QuerySet[Entry]) -> QuerySet[Entry]:
    """The entries with the rows that telling them needs."""
    return entries.select_related("by", "picker", "crew", "store", "block", "device", "written_note")


class Teller:
    """Tells these entries, and those that they name, in a few queries for all of them."""

    def __init__(self, entries: Iterable[Entry]) -> None:
        entries = list(entries)
        self._named = {entry.pk: entry for entry in entries}
        wanted = {key for entry in entries if (key := named_by(entry))} - set(self._named)
        if wanted:
            self._named |= {entry.pk: entry for entry in with_names(Entry.objects.filter(pk__in=wanted))}
        self._stores = dict(Store.objects.values_list("pk", "name"))
        self._holders = _holders(self._named.values())

    def tell(self, entry: Entry) -> str:
        """One sentence: what happened."""
        verb = VERBS[entry.verb]
        words = self._words(entry)
        return filled(verb.telling(words), words)

    def contradicts(self, discrepancy: Discrepancy) -> str:
        """What a discrepancy of these entries says."""
        entry = self._named.get(discrepancy.entry_id)
        template = CONTRADICTIONS.get(discrepancy.code, discrepancy.code)
        return filled(template, {"what": self.tell(entry) if entry else None})

    def _words(self, entry: Entry) -> dict[str, Any]:
        detail: Mapping[str, Any] = entry.detail
        words: dict[str, Any] = dict(detail)
        crew = entry.crew.name if entry.crew else None
        words |= {"who": self._who(entry), "crew": crew, "block": entry.block_id, "store": entry.store.name}
        if entry.verb == "registered":
            words["store"] = self._stores.get(detail["store"], detail["store"])
        if "to" in detail:
            words["to"] = self._stores.get(detail["to"], detail["to"])
        if detail.get("from"):
            words["from"] = self._holders.get(detail["from"], "…")
        if "circumstance" in detail:
            words["circumstance"] = _(CIRCUMSTANCES[detail["circumstance"]])
        if entry.verb == "waived":
            words["kind"] = str(Kind.objects.filter(pk=detail["kind"]).first() or detail["kind"])
        named = self._named.get(named_by(entry) or entry.pk)
        if named and named.pk != entry.pk and named.verb != "reversed":
            words["what"] = self.tell(named)
        return words

    def _who(self, entry: Entry) -> str:
        if VERBS[entry.verb].family == "crew":
            return entry.picker.name if entry.picker else ""
        return holder(entry.picker, entry.crew)


def named_by(entry: Entry) -> UUID | None:
    """The entry that a `reversed` or `settled` speaks of."""
    if entry.verb == "reversed":
        return UUID(entry.detail["entry"])
    if entry.verb == "settled":
        key = str(entry.detail["key"]).rpartition(":")[2]
        try:
            return UUID(key)
        except ValueError:
            return None
    return None


def _holders(entries: Iterable[Entry]) -> dict[str, str]:
    """Names for the opaque holders in `from`, see `custody.holder`."""
    named = {str(entry.detail["from"]) for entry in entries if entry.detail.get("from")}
    pickers = [int(word.partition(":")[2]) for word in named if word.startswith("picker:")]
    crews = [word.partition(":")[2] for word in named if word.startswith("crew:")]
    found: dict[str, str] = {}
    if pickers:
        found |= {
            f"picker:{k}": name for k, name in Picker.objects.filter(pk__in=pickers).values_list("pk", "name")
        }
    if crews:
        found |= {
            f"crew:{k}": name for k, name in Crew.objects.filter(pk__in=crews).values_list("pk", "name")
        }
    return found
