"""What a batch names is looked up, once for all of it, and what it writes to is locked, part by part."""

from collections.abc import Iterable, Sequence
from contextlib import suppress
from uuid import UUID

from crews import policy
from equipment.actions import references
from equipment.actions.batch import Batch
from equipment.actions.leading import Moment, Taking
from equipment.actions.readable import Readable
from equipment.actions.references import Asked, References, normal
from equipment.domain import codes
from equipment.ledger import Draft

GROUPS = ("items", "badges", "crews", "subjects", "blocks", "stores", "kinds")


def find(batch: Batch, entries: Sequence[Readable]) -> References:
    """The rows that the batch names and does not write to, in a handful of queries."""
    return references.find(_asked(batch, entries))


def lock(found: References, batch: Batch, entries: Sequence[Readable]) -> None:
    """Put those in that these entries of the batch write to: crews, baths and items come locked."""
    references.lock(found, _asked(batch, entries), [_touching(batch, entry) for entry in entries])


def _touching(batch: Batch, entry: Readable) -> Draft:
    """What can be told of the draft before anything of it is found: enough to know whom it touches."""
    raw, crew = entry.raw, None
    with suppress(codes.WrongCheck):
        crew = normal(raw.crew) if raw.crew else None
    return Draft(
        id=raw.id,
        verb=entry.verb.name,
        store=batch.store,
        by=batch.by.pk,
        device=batch.device.pk,
        device_seq=raw.device_seq,
        happened_at=entry.happened_at,
        item=raw.id if raw.item is not None else None,
        crew=crew,
        bath=raw.bath,
        lot=raw.lot,
        detail=entry.detail,
    )


def _asked(batch: Batch, entries: Sequence[Readable]) -> Asked:
    named: dict[str, set[str]] = {name: set() for name in GROUPS}
    for entry in entries:
        for group, text in _codes_of(entry):
            try:
                named[group].add(normal(text))
            except codes.WrongCheck:
                continue
    named["kinds"] = {entry.detail["kind"] for entry in entries if entry.verb.name == "registered"}
    goods = frozenset(entry.detail["goods"] for entry in entries if entry.verb.name == "received")
    undone = frozenset(UUID(entry.detail["entry"]) for entry in entries if entry.verb.name == "reversed")
    baths = frozenset(entry.raw.bath for entry in entries if entry.raw.bath is not None)
    lots = frozenset(entry.raw.lot for entry in entries if entry.raw.lot is not None)
    asked = {group: frozenset(texts) for group, texts in named.items()}
    notes, taking = batch.strictness == "note", tuple(_taking(batch, entries))
    return Asked(
        **asked,
        baths=baths,
        goods=goods,
        lots=lots,
        undone=undone,
        taking=taking,
        by=batch.by,
        notes=notes,
    )


def _taking(batch: Batch, entries: Iterable[Readable]) -> Iterable[Taking]:
    """The crews that this batch takes over, wherever in it that stands."""
    for entry in entries:
        if entry.verb.name == "taken_over" and entry.raw.crew and policy.may_act(batch.by, "take_over"):
            with suppress(codes.WrongCheck):
                when = Moment(entry.happened_at, batch.device.pk, entry.raw.device_seq)
                yield Taking(normal(entry.raw.crew), batch.by.pk, when)


def _codes_of(entry: Readable) -> list[tuple[str, str]]:
    raw, detail = entry.raw, entry.detail
    named = [("items", raw.item), ("badges", raw.picker), ("crews", raw.crew), ("blocks", raw.block)]
    if raw.item is None and raw.lot is None:
        named.append(("subjects", raw.crew))
    if entry.verb.name == "registered":
        named[0] = ("stores", detail["store"])
    if entry.verb.name == "moved":
        named.append(("stores", detail["to"]))
    if given := detail.get("from"):
        named += [("badges", given), ("crews", given)]
    return [(group, text) for group, text in named if text]
