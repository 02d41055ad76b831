"""Lines of the book in plain words. What each verb says stands with the verb; here its gaps are filled with names."""

from collections.abc import Iterable, Mapping
from datetime import date
from typing import Any
from uuid import UUID

from django.db.models import QuerySet
from django.utils.formats import date_format
from django.utils.translation import gettext as _

from crews.models import Crew, DayPlan, Picker, Store
from equipment.actions import names
from equipment.actions.amounts import amount
from equipment.actions.wording import filled
from equipment.domain import stocktake
from equipment.domain.contradictions import CONTRADICTIONS
from equipment.domain.verbs import VERBS
from equipment.domain.verbs.cleaned import CLEANINGS
from equipment.domain.verbs.emptied import PLACES
from equipment.domain.verbs.replanned import WAYS
from equipment.domain.verbs.stopped import CAUSES
from equipment.domain.verbs.trained import TOPICS
from equipment.domain.verbs.used import PURPOSES
from equipment.domain.verbs.written_off import CIRCUMSTANCES
from equipment.models import Discrepancy, Entry, Kind, LotState
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
    "fault_found": "fault",
    "mended": "mend",
    "released": "yes",
    "inspected": "inspect",
    "cleaned": "clean",
    "flagged": "fault",
    "arrived": "block",
    "left": "block",
    "stopped": "block",
    "morning_checked": "inspect",
    "taken_over": "crew",
    "replanned": "block",
    "mixed": "bath",
    "tested": "bath",
    "emptied": "bath",
    "received": "set",
    "given": "out",
    "used": "mend",
    "counted": "inspect",
    "discarded": "gone",
    "reversed": "undo",
    "settled": "yes",
    "seen": "search",
    "heard": "note",
    "trained": "inspect",
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
        lots = {entry.lot for entry in self._named.values() if entry.lot}
        known = LotState.objects.filter(goods__isnull=False).select_related("goods")
        self._lots = known.in_bulk(lots) if lots else {}

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
        words |= catalogued(entry.verb, detail)
        if entry.lot:
            words |= self._goods(entry.lot, detail)
        named = self._named.get(named_by(entry) or entry.pk)
        if named and named.pk != entry.pk and named.verb != "reversed":
            words["what"] = self.tell(named)
        if entry.verb == "settled" and str(detail["key"]).startswith(stocktake.KEY):
            how = _(stocktake.SETTLED.get(detail["choice"], detail["choice"]))
            words["what"] = _("%(how)s (stocktake).") % {"how": how}
        return words

    def _goods(self, lot: UUID, detail: Mapping[str, Any]) -> dict[str, Any]:
        """What was taken, counted or came, in the unit of the goods."""
        goods = self._lots[lot].goods if lot in self._lots else None
        words: dict[str, Any] = {
            word: amount(float(detail[word]), goods.unit if goods else "")
            for word in ("quantity", "left")
            if word in detail
        }
        if "goods" in detail:
            words["goods"] = str(goods or detail["goods"])
        return words

    def _who(self, entry: Entry) -> str:
        if VERBS[entry.verb].family == "crew":
            return entry.picker.called if entry.picker else ""
        return holder(entry.picker, entry.crew)


def catalogued(verb: str, detail: Mapping[str, Any]) -> dict[str, Any]:
    """The words that stand in the catalogue, in place of their codes."""
    words: dict[str, Any] = {}
    for word, name in (("fault", names.fault), ("recipe", names.recipe), ("disease", names.disease)):
        if detail.get(word):
            words[word] = name(detail[word])
    if "checklist" in detail:
        words["checklist"] = names.checklist(detail["checklist"])
        words["failed"] = "; ".join(
            names.point(detail["checklist"], code) for code in detail.get("failed", ())
        )
    if verb == "cleaned":
        words["cleaning"] = _(CLEANINGS[detail["method"]])
    if verb == "stopped":
        words["cause"] = _(CAUSES[detail["cause"]])
    if verb == "trained":
        words["topic"] = _(TOPICS[detail["topic"]])
    if verb == "used":
        words["purpose"] = _(PURPOSES[detail.get("purpose", "other")])
    if verb == "emptied":
        words["where"] = _(PLACES.get(detail["where"], detail["where"]))
    if verb == "replanned":
        words |= {"when": _plan_day(detail), "how": _(WAYS[detail["clipped"]])}
    if verb == "tested":
        words["diluted"] = detail.get("diluted", 1)
    return words


def _plan_day(detail: Mapping[str, Any]) -> str:
    """Of which day, and of which half of it where it is not all of it: "1 June, afternoon"."""
    day = date_format(date.fromisoformat(detail["date"]), _("j F"))
    part = detail.get("part") or DayPlan.Part.DAY
    return day if part == DayPlan.Part.DAY else f"{day}, {DayPlan.Part(part).label}"


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
        found |= {f"picker:{each.pk}": each.called for each in Picker.objects.filter(pk__in=pickers)}
    if crews:
        found |= {
            f"crew:{k}": name for k, name in Crew.objects.filter(pk__in=crews).values_list("pk", "name")
        }
    return found
