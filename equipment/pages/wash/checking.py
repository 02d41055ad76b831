"""May this piece go into this bath, or be washed or dried this way? Asked at every scan, before anything is written."""

from collections.abc import Iterator
from datetime import datetime
from typing import Any

from django.utils.translation import gettext as _

from equipment.actions import names
from equipment.actions.wording import moment
from equipment.domain import sealing
from equipment.models import ItemState, projections
from equipment.models.rules import rules_at
from equipment.pages.wash.ways import Known

# The words at the wash place for what keeps a piece out of it: few big words, why, what to do instead.
Answer = dict[str, Any]


def check(row: ItemState, way: Known, waiting: int, at: datetime) -> Answer:
    """`waiting` pieces are in the group already. An answer as the counter's: outcome, say, why, instead; and what the
    script keeps of the piece."""
    kind = str(row.item.kind)
    shown = {"tag": row.tag, "about": kind, "kind": row.item.kind_id}
    if refused := _refusal(row, way, waiting):
        say, why, instead = refused
        return {**shown, "outcome": "no", "say": say, "why": [why] if why else [], "instead": instead}
    warnings = list(_warnings(row, way, at))
    say = {"sterilise": _("In it goes"), "wash": _("To be washed"), "dry": _("To be dried")}[way.method]
    return {**shown, "outcome": "partial" if warnings else "yes", "say": say, "why": warnings, "instead": ""}


def not_found(tag: str, why: str) -> Answer:
    instead = _("Check the label, or type it from the label.")
    return {
        "outcome": "no",
        "say": _("Not in the book"),
        "tag": tag,
        "about": "",
        "why": [why],
        "instead": instead,
    }


def _refusal(row: ItemState, way: Known, waiting: int) -> tuple[str, str, str] | None:
    state = projections.folded_item(row).state
    if row.place == "gone":
        return _("Written off"), "", _("Set it aside.")
    if row.place == "missing":
        return (
            _("Marked missing"),
            _("By the book nobody knows where it is."),
            _("Take it back at a counter: then it is found."),
        )
    if way.kinds is not None and row.item.kind_id not in way.kinds:
        why = _("“%(way)s” is not for this kind of gear.") % {"way": way.name}
        return _("Not in this one"), why, _("Choose a bath or a wash that is for it.")
    if way.method == "sterilise" and state.dirty_at is not None:
        why = _("Dirt was found on it, %(since)s.") % {"since": moment(state.dirty_at)}
        return (
            _("Dirty: wash it first"),
            why,
            _("A dip over dirt does not count. Wash it, scan it in under washing, then dip it."),
        )
    bath = way.bath
    if bath is not None and bath.state.capacity is not None and bath.dipped + waiting >= bath.state.capacity:
        why = _("It takes %(n)d pieces, and has taken them.") % {"n": bath.state.capacity}
        return (
            _("This bath takes no more"),
            why,
            _("Take these out when their time is up, and mix a new one."),
        )
    return None


def _warnings(row: ItemState, way: Known, at: datetime) -> Iterator[str]:
    """What it does not end, though it is done right."""
    if way.method != "dry":
        rules = rules_at(at)
        killed = sealing.killed(way.recipe, way.needs, rules.clears) if way.recipe else ()
        for flag in projections.folded_item(row).state.flags:
            if not flag.cleared and flag.disease not in killed:
                yield _("It may carry %(disease)s: this does not end that flag.") % {
                    "disease": names.disease(flag.disease)
                }
    if "stop_use" in row.reasons:
        yield _("It is also for the mender: a fault stops its use.")
