"""Rows for accepted drafts: the entry sealed to its chain, its note, and the gear that it brings into being."""

import secrets
from collections.abc import Sequence
from datetime import datetime
from typing import Any

from equipment.domain import chain
from equipment.ledger.draft import Draft
from equipment.models import ChainHead, Entry, GearSet, Item, Label, Note, direct

_REFERENCES = {"store", "item", "crew", "picker", "block", "by", "device"}
_COLUMNS = [(name, f"{name}_id" if name in _REFERENCES else name) for name in chain.COLUMNS]


def insert(drafts: Sequence[Draft], at: datetime) -> dict[str, ChainHead]:
    """Insert the rows and move the chain of each store; the heads are locked here, last of all."""
    _create_gear(drafts)
    heads = _locked_heads(sorted({draft.store for draft in drafts}))
    notes: list[Note] = []
    direct.insert(Entry, [_sealed(draft, heads[draft.store], at, notes) for draft in drafts])
    if notes:
        Note.objects.bulk_create(notes)
    for head in heads.values():
        head.save(update_fields=["position", "digest", "entry_id"])
    return heads


def columns_of(entry: Entry) -> dict[str, Any]:
    """The columns that the digest covers, by the names that the chain uses."""
    return {name: getattr(entry, attribute) for name, attribute in _COLUMNS}


def _locked_heads(stores: Sequence[str]) -> dict[str, ChainHead]:
    locked = ChainHead.objects.select_for_update().filter(store__in=stores).order_by("store_id")
    heads = {head.store_id: head for head in locked}
    if missing := [store for store in stores if store not in heads]:
        ChainHead.objects.bulk_create([ChainHead(store_id=store) for store in missing], ignore_conflicts=True)
        return _locked_heads(stores)
    return heads


def _sealed(draft: Draft, head: ChainHead, at: datetime, notes: list[Note]) -> dict[str, Any]:
    """The columns of the draft's entry, by the names that the chain uses, and its digest; the head moves on to it."""
    entry = {
        "id": draft.id,
        "v": 1,
        "store": draft.store,
        "position": head.position + 1,
        "verb": draft.verb,
        "detail": chain.plain(draft.detail),
        "item": draft.item,
        "crew": draft.crew,
        "bath": draft.bath,
        "lot": draft.lot,
        "picker": draft.picker,
        "block": draft.block,
        "act": draft.act,
        "by": draft.by,
        "device": draft.device,
        "device_seq": draft.device_seq,
        "happened_at": draft.happened_at,
        "claimed_at": draft.claimed_at,
        "recorded_at": at,
        "note_digest": None,
        "sent_digest": draft.sent_digest,
    }
    if draft.note:
        salt = secrets.token_hex(16)
        entry["note_digest"] = chain.note_digest(salt, draft.note)
        notes.append(Note(entry_id=draft.id, salt=salt, text=draft.note))
    entry["digest"] = chain.seal(head.digest, entry)
    head.position, head.digest, head.entry_id = head.position + 1, entry["digest"], draft.id
    return entry


def _create_gear(drafts: Sequence[Draft]) -> None:
    items = [_item(draft) for draft in drafts if draft.verb == "registered"]
    tagging = [draft for draft in drafts if draft.verb in ("registered", "retagged")]
    sets = {draft.detail["set"] for draft in drafts if draft.verb == "packed" and draft.detail["set"]}
    if items:
        Item.objects.bulk_create(items)
    if tagging:
        # Sorted, as the sets below: two who make the same ones at once wait for each other, never in a ring.
        labels = [Label(code=draft.detail["tag"], item_id=draft.item) for draft in tagging]
        Label.objects.bulk_create(sorted(labels, key=lambda label: label.code))
    if sets:
        GearSet.objects.bulk_create([GearSet(code=code) for code in sorted(sets)], ignore_conflicts=True)


def _item(draft: Draft) -> Item:
    known = {name: value for name, value in draft.detail.items() if name not in ("kind", "store", "tag")}
    return Item(id=draft.id, kind_id=draft.detail["kind"], **known)
