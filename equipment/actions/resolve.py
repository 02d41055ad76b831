"""From a readable entry to a draft: codes become rows, the day's loans name the picker, rights are checked."""

from collections.abc import Mapping
from dataclasses import dataclass
from datetime import UTC, datetime, timedelta
from typing import Any

from django.utils import timezone

from crews import policy
from crews.models import BadgeLoan, Crew, Device
from equipment.actions import references
from equipment.actions.batch import Batch
from equipment.actions.raw import RawEntry
from equipment.actions.references import Asked, References, normal
from equipment.domain import codes, custody
from equipment.domain.verbs import Verb
from equipment.ledger import Draft
from equipment.models import Entry

__all__ = ["Readable", "References", "Refused", "corrected", "draft", "find"]


class Refused(Exception):
    def __init__(self, *codes: str, **params: Any) -> None:
        self.codes, self.params = codes, params
        super().__init__(", ".join(codes))


@dataclass(frozen=True, slots=True)
class Readable:
    """An entry that can be read, with its time corrected and its content sealed."""

    raw: RawEntry
    verb: Verb
    detail: Mapping[str, Any]
    sent_digest: str
    happened_at: datetime

    @property
    def words(self) -> dict[str, Any]:
        """What a message can say of the entry, as it was sent."""
        shown = {"tag": self.raw.item, "crew": self.raw.crew, "who": self.raw.picker or self.raw.crew}
        if self.verb.name == "retagged":
            shown["tag"] = self.detail["tag"]
        return {name: _shown(text) for name, text in shown.items()}


def _shown(text: str | None) -> str:
    try:
        return normal(text or "")[:40]
    except codes.WrongCheck as wrong:
        return str(wrong.params["text"])


def corrected(claimed: datetime, skew: timedelta, received_at: datetime) -> datetime:
    """The time an entry happened, UTC: as claimed, less what the device's clock is off, never after its receipt."""
    try:
        return min(claimed.astimezone(UTC) + skew, received_at)
    except OverflowError:
        return received_at


def find(readable: Mapping[int, Readable]) -> References:
    """All rows that the batch names, in a handful of queries."""
    named: dict[str, set[str]] = {name: set() for name in ("items", "badges", "crews", "blocks", "stores", "kinds")}
    for entry in readable.values():
        for group, text in _codes_of(entry):
            try:
                named[group].add(normal(text))
            except codes.WrongCheck:
                continue
    named["kinds"] = {e.detail["kind"] for e in readable.values() if e.verb.name == "registered"}
    return references.find(Asked(**{group: frozenset(texts) for group, texts in named.items()}))


def _codes_of(entry: Readable) -> list[tuple[str, str]]:
    raw, detail = entry.raw, entry.detail
    named = [("items", raw.item), ("badges", raw.picker), ("crews", raw.crew), ("blocks", raw.block)]
    if entry.verb.name == "registered":
        named[0] = ("stores", detail["store"])
    if entry.verb.name == "moved":
        named.append(("stores", detail["to"]))
    if given := detail.get("from"):
        named += [("badges", given), ("crews", given)]
    return [(group, text) for group, text in named if text]


def draft(batch: Batch, entry: Readable, found: References) -> Draft:
    """The draft of one entry. Raises Refused."""
    _check_rights(batch, entry, found)
    item = _item(entry, found)
    loan = _loan(entry, found)
    state = found.states.get(_code(entry.raw.item)) if entry.raw.item and item else None
    crew, against = _crew(entry, loan, found, state)
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
        bath=entry.raw.bath,
        act=entry.raw.act,
        detail=_detail(entry, found),
        note=entry.raw.note,
        sent_digest=entry.sent_digest,
        against=against,
        wants=references.wants(loan, state.item.kind) if loan and state else {},
    )


def _code(text: str | None) -> str:
    try:
        return normal(text or "")
    except codes.WrongCheck as wrong:
        raise Refused("wrong_check", tag=wrong.params["text"]) from None


def _item(entry: Readable, found: References) -> Any:
    if entry.raw.item is None:
        return None
    code = _code(entry.raw.item)
    if entry.verb.name == "registered":
        _check_new(code, entry, found)
        found.items.setdefault(code, entry.raw.id)
        return entry.raw.id
    if code not in found.items:
        raise Refused("unknown_item", tag=code)
    if entry.verb.name == "retagged":
        found.items.setdefault(_new_tag(entry.detail["tag"]), found.items[code])
    return found.items[code]


def _check_new(code: str, entry: Readable, found: References) -> None:
    _new_tag(code)
    if entry.detail["kind"] not in found.kinds:
        raise Refused("malformed", why=f"there is no kind “{entry.detail['kind'][:40]}”")
    if normal(entry.detail["store"]) not in found.stores:
        raise Refused("malformed", why=f"there is no store “{entry.detail['store'][:40]}”")


def _new_tag(text: str) -> str:
    """A tag that may be put on an item: a made code, and none of those for cards, crews, sets and counters."""
    try:
        code = codes.parse(text)
    except codes.WrongCheck as wrong:
        raise Refused("wrong_check", tag=wrong.params["text"]) from None
    except codes.NotACode as error:
        raise Refused("malformed", why=str(error)) from None
    if code.prefix in (codes.BADGE, codes.CREW, codes.SET, codes.COUNTER):
        raise Refused("malformed", why=f"{code.text} is not a tag for an item")
    return code.text


def _loan(entry: Readable, found: References) -> BadgeLoan | None:
    if entry.raw.picker is None:
        return None
    badge = _code(entry.raw.picker)
    loan = found.loan(badge, timezone.localdate(entry.happened_at))
    if loan is None:
        raise Refused("unknown_picker", who=badge)
    return loan


def _crew(entry: Readable, loan: BadgeLoan | None, found: References, state: Any) -> tuple[str | None, tuple[str, ...]]:
    """The crew that the entry names or implies, and what speaks against it."""
    if entry.raw.crew is not None:
        crew = _code(entry.raw.crew)
        if crew not in found.crews:
            raise Refused("unknown_crew", crew=crew)
        return crew, ()
    if loan is not None and entry.verb.family == "item":
        if loan.crew:  # type: ignore[attr-defined]
            return loan.crew, ()  # type: ignore[attr-defined]
        return _last_crew(loan), ("picker_left",)
    if state is not None and entry.verb.family == "item" and entry.verb.name != "found":
        return state.crew_id, ()
    return None, ()


def _last_crew(loan: BadgeLoan) -> str:
    last = Entry.objects.filter(verb="joined", picker=loan.picker_id, item=None).order_by("-happened_at").first()
    if last is None or last.crew_id is None:
        raise Refused("unknown_crew", crew="")
    return str(last.crew_id)


def _block(entry: Readable, found: References) -> str | None:
    if entry.raw.block is None:
        return None
    block = _code(entry.raw.block)
    if block not in found.blocks:
        raise Refused("malformed", why=f"there is no block “{block[:40]}”")
    return block


def _detail(entry: Readable, found: References) -> dict[str, Any]:
    """The detail as the book keeps it: codes in their one spelling, a holder as an opaque word."""
    detail = dict(entry.detail)
    if entry.verb.name == "registered":
        detail |= {"tag": _code(entry.raw.item), "store": normal(detail["store"])}
    if entry.verb.name == "retagged":
        detail["tag"] = _new_tag(detail["tag"])
    if entry.verb.name == "packed" and detail["set"]:
        detail["set"] = _set(detail["set"])
    if entry.verb.name == "moved":
        detail["to"] = normal(detail["to"])
        if detail["to"] not in found.stores:
            raise Refused("malformed", why=f"there is no store “{detail['to'][:40]}”")
    if entry.verb.name == "handed_out":
        for of_the_server in ("verdict", "rules"):
            detail.pop(of_the_server, None)
        if detail.get("from"):
            detail["from"] = _holder(detail["from"], entry, found)
    return detail


def _set(text: str) -> str:
    try:
        code = codes.parse(text)
    except codes.BadCode as error:
        raise Refused("malformed", why=str(error)) from None
    if code.prefix != codes.SET:
        raise Refused("malformed", why=f"{code.text} is not a set's tag")
    return code.text


def _holder(text: str, entry: Readable, found: References) -> str | None:
    code = _code(text)
    if code in found.crews:
        return custody.holder(None, code)
    loan = found.loan(code, timezone.localdate(entry.happened_at))
    if loan is None:
        raise Refused("unknown_picker", who=code)
    return custody.holder(loan.picker_id, None)


def _check_rights(batch: Batch, entry: Readable, found: References) -> None:
    device: Device = batch.device
    if device.revoked_at is not None or device.kind in (Device.Kind.SERVER, Device.Kind.PAPER):
        raise Refused("no_right")
    if device.owner_id not in (None, batch.by.pk) or not policy.may_act(batch.by, entry.verb.action):
        raise Refused("no_right")
    if policy.only_own_crews(batch.by, policy.ACTIONS[entry.verb.action]):
        _check_own_crew(batch, entry, found)


def _check_own_crew(batch: Batch, entry: Readable, found: References) -> None:
    """A supervisor's entry must concern a crew of theirs: named, the picker's, or the one that holds the item."""
    own = set(Crew.objects.filter(supervisor=batch.by).values_list("pk", flat=True))
    named = {_code(entry.raw.crew)} if entry.raw.crew else set()
    loan = found.loan(_code(entry.raw.picker), timezone.localdate(entry.happened_at)) if entry.raw.picker else None
    if loan is not None:
        named.add(loan.crew)  # type: ignore[attr-defined]
    state = found.states.get(_code(entry.raw.item)) if entry.raw.item else None
    if state is not None and state.crew_id and entry.verb.name != "handed_out":
        named.add(state.crew_id)
    if not named or not named <= own:
        raise Refused("no_right")
