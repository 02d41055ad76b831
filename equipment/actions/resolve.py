"""From a readable entry to a draft: codes become rows, the day's loans name the picker, rights are checked."""

from datetime import UTC, datetime, timedelta
from typing import Any
from uuid import UUID

from django.utils import timezone
from django.utils.translation import gettext as _

from equipment.actions import references, rights, sensible
from equipment.actions.batch import Batch
from equipment.actions.readable import Readable, Refused, code_of
from equipment.actions.references import References
from equipment.domain import codes, custody
from equipment.ledger import Draft
from equipment.models.scans import ScannedLoan

__all__ = ["Readable", "References", "Refused", "corrected", "draft"]


def corrected(claimed: datetime, skew: timedelta, received_at: datetime) -> datetime:
    """The time an entry happened, UTC: as claimed, less what the device's clock is off, never after its receipt."""
    try:
        return min(claimed.astimezone(UTC) + skew, received_at)
    except OverflowError:
        return received_at


def draft(batch: Batch, entry: Readable, found: References) -> Draft:
    """The draft of one entry. Raises Refused."""
    rights.check(batch, entry, found)
    item = _item(entry, found)
    _check_sense(entry, found)
    loan = _loan(entry, found)
    state = found.states.get(code_of(entry.raw.item)) if entry.raw.item and item else None
    crew, against = _crew(entry, loan, found, state)
    if item and crew and entry.verb.name == "handed_out":
        found.handed.setdefault(item, []).append((entry.happened_at, crew))
    if loan and entry.verb.name in ("joined", "parted"):
        into = crew if entry.verb.name == "joined" else None
        found.moved.setdefault(loan.picker_id, []).append((entry.happened_at, into))
    return Draft(
        id=entry.raw.id,
        verb=entry.verb.name,
        store=batch.store,
        by=batch.by.pk,
        device=batch.device.pk,
        device_seq=entry.raw.device_seq,
        happened_at=entry.happened_at,
        claimed_at=entry.raw.happened_at.astimezone(UTC),
        item=item,
        crew=crew,
        picker=loan.picker_id if loan else None,
        block=_block(entry, found),
        bath=_bath(entry, found),
        lot=_lot(entry, found),
        act=entry.raw.act,
        detail=_detail(entry, found),
        note=entry.raw.note,
        sent_digest=entry.sent_digest,
        against=against,
        roles=batch.by.roles,
        wants=references.wants(loan, state) if loan and state else {},
    )


def _item(entry: Readable, found: References) -> UUID | None:
    if entry.raw.item is None:
        return None
    code = code_of(entry.raw.item)
    if entry.verb.name == "registered":
        _check_new(code, entry, found)
        found.items.setdefault(code, entry.raw.id)
        return entry.raw.id
    if code not in found.items:
        raise Refused("unknown_item", tag=code)
    if entry.verb.name == "retagged":
        found.items.setdefault(_new_tag(entry.detail["tag"]), found.items[code])
    return found.items[code]


def _check_sense(entry: Readable, found: References) -> None:
    kind = None
    if entry.raw.item is not None and entry.verb.name != "registered":
        state = found.states.get(code_of(entry.raw.item))
        kind = state.kind_id if state else None
    try:
        sensible.check(entry.verb.name, entry.detail, kind)
    except sensible.Senseless as why:
        raise Refused("malformed", why=str(why)) from None
    if entry.detail.get("overridden") and not entry.raw.note.strip():
        raise Refused("malformed", why=_("who overrides the gate writes down why."))
    if entry.verb.name == "heard" and not entry.raw.note.strip():
        raise Refused("malformed", why=_("what the picker says is the note; without it nothing was said."))


def _bath(entry: Readable, found: References) -> UUID | None:
    bath = entry.raw.bath
    if bath is None:
        return None
    if entry.verb.name == "mixed":
        found.baths.add(bath)
    elif bath not in found.baths:
        raise Refused("unknown_bath", bath=str(bath))
    return bath


def _lot(entry: Readable, found: References) -> UUID | None:
    lot = entry.raw.lot
    if lot is None:
        return None
    if entry.verb.name == "received":
        if entry.detail["goods"] not in found.goods:
            why = _("there are no counted goods “%(name)s”.") % {"name": entry.detail["goods"][:40]}
            raise Refused("malformed", why=why)
        found.lots.add(lot)
    elif lot not in found.lots:
        raise Refused("unknown_lot", lot=str(lot))
    return lot


def _check_new(code: str, entry: Readable, found: References) -> None:
    _new_tag(code)
    if entry.detail["kind"] not in found.kinds:
        raise Refused(
            "malformed", why=_("there is no kind “%(name)s”.") % {"name": entry.detail["kind"][:40]}
        )
    _store(entry.detail["store"], found)


def _new_tag(text: str) -> str:
    """A tag that may be put on an item: a made code, and none of those for cards, crews, sets and counters."""
    code = _made(text)
    if code.prefix in codes.NOT_ON_ITEMS:
        raise Refused("malformed", why=_("%(code)s is not a tag for an item.") % {"code": code.text})
    return code.text


def _made(text: str) -> codes.Code:
    try:
        return codes.parse(text)
    except codes.WrongCheck as wrong:
        raise Refused("wrong_check", tag=wrong.params["text"]) from None
    except codes.NotACode as error:
        raise Refused("malformed", why=_(error.message) % error.params) from None


def _loan(entry: Readable, found: References) -> ScannedLoan | None:
    return _lent(entry.raw.picker, entry, found) if entry.raw.picker is not None else None


def _lent(text: str, entry: Readable, found: References) -> ScannedLoan:
    badge = code_of(text)
    loan = found.loan(badge, timezone.localdate(entry.happened_at))
    if loan is None:
        raise Refused("unknown_picker", who=badge)
    return loan


def _crew(
    entry: Readable, loan: ScannedLoan | None, found: References, state: Any
) -> tuple[str | None, tuple[str, ...]]:
    """The crew that the entry names or implies, and what speaks against handing out to someone of it."""
    if entry.raw.crew is not None:
        crew = code_of(entry.raw.crew)
        if crew not in found.crews:
            raise Refused("unknown_crew", crew=crew)
        return crew, ()
    if loan is not None and entry.verb.family == "item":
        then, in_it = found.crew_then(loan, entry.happened_at)
        if then is None and entry.verb.name == "handed_out":
            raise Refused("unknown_crew", crew="")
        return then, () if in_it or entry.verb.name != "handed_out" else ("picker_left",)
    if state is not None and entry.verb.family == "item" and entry.verb.name != "found":
        return state.crew_id, ()
    return None, ()


def _block(entry: Readable, found: References) -> str | None:
    if entry.raw.block is None:
        return None
    block = code_of(entry.raw.block)
    if block not in found.blocks:
        raise Refused("malformed", why=_("there is no block “%(name)s”.") % {"name": block[:40]})
    return block


def _store(text: str, found: References) -> str:
    store = code_of(text)
    if store not in found.stores:
        raise Refused("malformed", why=_("there is no store “%(name)s”.") % {"name": store[:40]})
    return store


def _detail(entry: Readable, found: References) -> dict[str, Any]:
    """The detail as the book keeps it: codes in their one spelling, a holder as an opaque word, and nothing that the
    server alone may write."""
    detail = {word: value for word, value in entry.detail.items() if word not in entry.verb.sealed}
    match entry.verb.name:
        case "registered":
            detail |= {"tag": code_of(entry.raw.item), "store": _store(detail["store"], found)}
        case "retagged":
            detail["tag"] = _new_tag(detail["tag"])
        case "packed" if detail["set"]:
            detail["set"] = _set(detail["set"])
        case "moved":
            detail["to"] = _store(detail["to"], found)
        case "replanned" if detail.get("block"):
            detail["block"] = code_of(detail["block"])
        case "stowed" | "arrived":
            detail["block"] = code_of(detail["block"])
        case "handed_out":
            if detail.get("from"):
                detail["from"] = _holder(detail["from"], entry, found)
    return detail


def _set(text: str) -> str:
    code = _made(text)
    if code.prefix != codes.SET:
        raise Refused("malformed", why=_("%(code)s is not a set's tag.") % {"code": code.text})
    return code.text


def _holder(text: str, entry: Readable, found: References) -> str | None:
    code = code_of(text)
    if code in found.crews:
        return custody.holder(None, code)
    return custody.holder(_lent(text, entry, found).picker_id, None)
