"""What the lines of an item's life say: a few words for the verb, and what belongs to it, as cells."""

from collections.abc import Callable, Mapping
from typing import Any

from equipment.domain import gate
from equipment.domain.verbs.cleaned import CLEANINGS
from equipment.domain.verbs.written_off import CIRCUMSTANCES
from equipment.domain.words import gettext_noop
from equipment.models.registers._phrases import answer, phrase, word
from equipment.models.registers._traits import told
from equipment.models.registers.base import Beside, Cell, Named

Detail = Mapping[str, Any]
Cells = tuple[Cell, ...]

DID = {
    "registered": gettext_noop("Registered"),
    "retagged": gettext_noop("New label"),
    "packed": gettext_noop("Packed into a set"),
    "handed_out": gettext_noop("Handed out"),
    "returned": gettext_noop("Came back"),
    "stowed": gettext_noop("Left in the orchard"),
    "moved": gettext_noop("Moved to another store"),
    "missed": gettext_noop("Marked missing"),
    "found": gettext_noop("Found"),
    "written_off": gettext_noop("Written off"),
    "seen": gettext_noop("Seen at a stocktake"),
    "heard": gettext_noop("The picker's side"),
    "fault_found": gettext_noop("Fault found"),
    "mended": gettext_noop("Mended"),
    "released": gettext_noop("Passed after its mend"),
    "inspected": gettext_noop("Inspected"),
    "flagged": gettext_noop("Flagged: may carry a disease"),
    "reversed": gettext_noop("A line taken back"),
    "settled": gettext_noop("A contradiction settled"),
}
UNPACKED = gettext_noop("Taken out of its set")
PASSED_ON = gettext_noop("Passed on")


def did(verb: str, detail: Detail) -> Cell:
    """A few words on what happened."""
    if verb == "cleaned":
        return word(CLEANINGS[detail["method"]])
    if verb == "packed" and not detail["set"]:
        return word(UNPACKED)
    if verb == "handed_out" and detail.get("from"):
        return word(PASSED_ON)
    return word(DID[verb])


def more(verb: str, detail: Detail) -> Cells:
    """What else the line says."""
    return MORE[verb](detail) if verb in MORE else ()


def _registered(detail: Detail) -> Cells:
    """What it is, and where it came from."""
    bought = (str(detail.get(name) or "") for name in ("supplier", "delivery"))
    return Beside((Named("kind", detail["kind"]), told(detail)), ", "), Beside(tuple(bought), ", ")


def _handed_out(detail: Detail) -> Cells:
    found: list[Cell] = []
    if detail.get("from"):
        what, _colon, key = str(detail["from"]).partition(":")
        giver = Named("picker", int(key)) if what == "picker" else Named("crew", key)
        found.append(Beside((word(gettext_noop("from")), giver)))
    if detail.get("waived"):
        found.append(Beside((word(gettext_noop("in place of")), Named("kind", detail["waived"]))))
    if detail.get("verdict"):
        reasons = Beside(tuple(map(_reason, detail["verdict"])), ", ")
        found.append(Beside((word(gettext_noop("although")), reasons)))
    return tuple(found)


def _reason(code: str) -> Cell:
    return word(gate.WORDS[code]) if code in gate.WORDS else code


def _returned(detail: Detail) -> Cells:
    return (word(gettext_noop("wet")),) if detail.get("wet") else ()


def _stowed(detail: Detail) -> Cells:
    counted = phrase(gettext_noop("%(n)s counted"), n=detail["counted"])
    by = detail.get("locked_by")
    return counted, phrase(gettext_noop("locked by %(who)s"), who=by) if by else None


def _written_off(detail: Detail) -> Cells:
    case = phrase(gettext_noop("case %(case)s"), case=detail["case"]) if detail.get("case") else None
    return word(CIRCUMSTANCES[detail["circumstance"]]), case


def _mended(detail: Detail) -> Cells:
    minutes = phrase(gettext_noop("%(n)s minutes"), n=detail["minutes"])
    return Named("fault", detail["fault"]), detail["method"], detail.get("parts", ""), minutes


def _inspected(detail: Detail) -> Cells:
    failed = detail.get("failed", {})
    checklist = Named("checklist", detail["checklist"])
    if not failed:
        return checklist, word(gettext_noop("nothing wrong"))
    points = (
        answer(detail["checklist"], point, detail["answers"].get(point, "")) for point in sorted(failed)
    )
    return checklist, word(gettext_noop("failed:")), *points


def _cleaned(detail: Detail) -> Cells:
    seconds = detail.get("seconds")
    needs = detail.get("needs_seconds") or 0
    void = bool(detail.get("wrong")) or (seconds or 0) < needs
    return (
        Named("recipe", detail.get("recipe") or ""),
        phrase(gettext_noop("%(n)s seconds"), n=seconds) if seconds else None,
        word(gettext_noop("does not count")) if void else None,
    )


def _fault(detail: Detail) -> Cells:
    return (Named("fault", detail["fault"]),)


MORE: Mapping[str, Callable[[Detail], Cells]] = {
    "registered": _registered,
    "retagged": lambda detail: (detail["tag"],),
    "packed": lambda detail: (detail["set"],),
    "handed_out": _handed_out,
    "returned": _returned,
    "stowed": _stowed,
    "moved": lambda detail: (Named("store", detail["to"]),),
    "written_off": _written_off,
    "fault_found": _fault,
    "mended": _mended,
    "released": _fault,
    "inspected": _inspected,
    "cleaned": _cleaned,
    "flagged": lambda detail: (Named("disease", detail["disease"]), detail.get("case", "")),
}
