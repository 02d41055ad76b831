"""What the book could not take is kept: refusals under `hold` as evidence, unplaceable notes to be tried again."""

import hashlib
import json
import logging
from collections.abc import Callable, Iterable, Sequence
from datetime import datetime, timedelta
from functools import reduce
from operator import or_
from typing import Any

from django.db import DatabaseError
from django.db.models import Q

from equipment.actions import raw
from equipment.actions.batch import Answer, Batch
from equipment.models import Attempt, KeptEntry

# Verbs by which something appears that a kept entry may be waiting for: an item, a code of it, a picker's crew.
APPEARING = frozenset({"registered", "retagged", "joined"})
CODES_AT_ONCE = 50
log = logging.getLogger(__name__)


def keep(batch: Batch, answers: Sequence[Answer]) -> None:
    """Keep every refused entry of the batch; one that was kept before and is in the book now needs nobody any more."""
    refused = [pair for pair in zip(batch.entries, answers, strict=True) if pair[1].outcome == "refused"]
    if batch.strictness == "hold":
        rows = [_attempt(batch, answer) for _, answer in refused if _uuid(answer.id)]
        if rows:
            Attempt.objects.bulk_create(rows)
        return
    if refused:
        kept = [_kept(batch, entry, answer) for entry, answer in refused]
        KeptEntry.objects.bulk_create(kept, ignore_conflicts=True)
    if taken := [answer.id for answer in answers if answer.outcome != "refused"]:
        KeptEntry.objects.filter(entry_id__in=taken, placed_at=None).update(placed_at=batch.received_at)


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


def _attempt(batch: Batch, answer: Answer) -> Attempt:
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


def retry(receive_one: Callable[[Batch], Answer], codes: Iterable[str], at: datetime) -> int:
    """Try kept notes again that name one of `codes`, unknown until now, as of their own first receipt.

    Returns how many went in. One that cannot be tried never stops the rest.
    """
    waiting = KeptEntry.objects.filter(code__startswith="unknown_", placed_at=None)
    if not waiting.exists():
        return 0
    wanted = [code for code in dict.fromkeys(codes) if code]
    return sum(
        _placed(receive_one, kept, at)
        for some in _batched(wanted, CODES_AT_ONCE)
        for kept in waiting.filter(_naming(some)).select_related("by", "device").order_by("received_at", "id")
    )


def _naming(codes: Iterable[str]) -> Q:
    """However a code was sent, in a URL or in small letters: it stands in the raw text."""
    return reduce(or_, (Q(raw__icontains=code) for code in codes))


def _placed(receive_one: Callable[[Batch], Answer], kept: KeptEntry, at: datetime) -> bool:
    sent_at = kept.received_at - timedelta(seconds=kept.skew)
    entries = [json.loads(kept.raw)]
    store = kept.store_id or ""
    batch = Batch(kept.by, kept.device, store, "note", sent_at, kept.received_at, entries, recorded_at=at)
    try:
        answer = receive_one(batch)
    except DatabaseError:
        log.exception("The kept entry %s could not be tried again.", kept.pk)
        return False
    if answer.outcome == "refused":
        KeptEntry.objects.filter(pk=kept.pk).update(code=answer.codes[0])
        return False
    KeptEntry.objects.filter(pk=kept.pk).update(placed_at=at)
    return True


def _batched(codes: Sequence[str], size: int) -> Iterable[Sequence[str]]:
    return (codes[start : start + size] for start in range(0, len(codes), size))
