"""What the book could not take is kept: refusals under `hold` as evidence, unplaceable notes to be tried again."""

import hashlib
import json
from collections.abc import Callable, Sequence
from datetime import datetime, timedelta
from typing import Any

from django.db.models import Q

from equipment.actions import raw
from equipment.actions.batch import Answer, Batch
from equipment.models import Attempt, KeptEntry

# Verbs by which a subject appears that some kept entry may be waiting for.
APPEARING = frozenset({"registered", "retagged", "mixed"})
MOST_AT_ONCE = 500


def keep(batch: Batch, answers: Sequence[Answer]) -> None:
    """Keep every refused entry of the batch."""
    refused = [(entry, answer) for entry, answer in zip(batch.entries, answers, strict=True) if answer.codes]
    refused = [(entry, answer) for entry, answer in refused if answer.outcome == "refused"]
    if batch.strictness == "note":
        rows = [_kept(batch, entry, answer) for entry, answer in refused]
        KeptEntry.objects.bulk_create(rows, ignore_conflicts=True)
    else:
        rows = [_attempt(batch, entry, answer) for entry, answer in refused if _uuid(answer.id)]
        Attempt.objects.bulk_create(rows)


def _uuid(text: str) -> bool:
    return len(text) == 36 and text.count("-") == 4 and all(c in "0123456789abcdefABCDEF-" for c in text)


def _kept(batch: Batch, entry: Any, answer: Answer) -> KeptEntry:
    text = raw.as_text(entry)
    return KeptEntry(
        entry_id=answer.id if _uuid(answer.id) else None,
        raw=text,
        raw_digest=hashlib.sha256(f"{batch.device.pk} {text}".encode()).hexdigest(),
        code=answer.codes[0],
        by=batch.by,
        device=batch.device,
        store_id=batch.store,
        skew=batch.skew.total_seconds(),
        received_at=batch.received_at,
    )


def _attempt(batch: Batch, entry: Any, answer: Answer) -> Attempt:
    return Attempt(
        entry_id=answer.id,
        at=batch.received_at,
        by=batch.by,
        device=batch.device,
        store_id=batch.store,
        verb=answer.verb,
        subject=str(answer.params.get("tag") or answer.params.get("crew") or "")[:40],
        picker=str(answer.params.get("who") or "")[:40],
        codes=list(answer.codes),
    )


def retry(receive_one: Callable[[Batch], Answer], at: datetime) -> int:
    """Try kept notes again whose subject was unknown, as of their own first receipt. Returns how many went in."""
    waiting = KeptEntry.objects.filter(Q(code__startswith="unknown_"), placed_at=None)
    placed = 0
    for kept in waiting.select_related("by", "device").order_by("received_at", "id")[:MOST_AT_ONCE]:
        sent_at = kept.received_at - timedelta(seconds=kept.skew)
        entries = [json.loads(kept.raw)]
        batch = Batch(
            kept.by, kept.device, kept.store_id or "", "note", sent_at, kept.received_at, entries, recorded_at=at
        )
        answer = receive_one(batch)
        if answer.outcome != "refused":
            kept.placed_at = at
            kept.save(update_fields=["placed_at"])
            placed += 1
        elif answer.codes[0] != kept.code:
            kept.code = answer.codes[0]
            kept.save(update_fields=["code"])
    return placed
