"""What the book could not take is kept: refusals under `hold` as evidence, unplaceable notes to be tried again."""

import hashlib
import json
import logging
from collections.abc import Callable, Iterable, Mapping, Sequence
from datetime import datetime, timedelta
from functools import reduce
from operator import or_
from typing import Any
from uuid import UUID

from django.db import DatabaseError
from django.db.models import Q, QuerySet

from crews.models import User
from equipment.actions import raw
from equipment.actions.batch import Answer, Batch
from equipment.models import Attempt, KeptEntry

# Verbs by which something appears that a kept entry may be waiting for: an item, a code of it, a picker's crew, a bath,
# a lot.
APPEARING = frozenset({"registered", "retagged", "joined", "mixed", "received"})
CODES_AT_ONCE = 50
# Verbs that give a supervisor a right they had not.
ENTITLING = frozenset({"taken_over", "joined"})
MOST_REFUSED = 500
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
    taken = {a.id: entry for entry, a in zip(batch.entries, answers, strict=True) if a.outcome != "refused"}
    # One whose number another line has taken is not in the book because that other one is.
    unplaced = KeptEntry.objects.filter(placed_at=None).exclude(code="id_reused")
    if taken and unplaced.exists():
        _needs_nobody(unplaced.filter(entry_id__in=taken), taken, batch)


def _needs_nobody(rows: QuerySet[KeptEntry], taken: Mapping[str, Any], batch: Batch) -> None:
    """Those of `rows` are placed that say what the entry of their number says, or that whoever wrote them has put
    right. A person sees to the others: somebody else's line has their number."""
    told = {UUID(own): _said(entry) for own, entry in taken.items()}
    author = batch.by.pk, batch.device.pk
    placed = [
        row.pk
        for row in rows
        if (row.by_id, row.device_id) == author or _said(json.loads(row.raw)) == told[row.entry_id]
    ]
    rows.exclude(pk__in=placed).update(code="id_reused")
    rows.filter(pk__in=placed).update(placed_at=batch.received_at)


def _said(entry: Any) -> str:
    """An entry as text, however it was sent."""
    return raw.as_text({name: value for name, value in entry.items() if name != "queued"})


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
        roles=sorted(batch.by.roles),
        revoked=batch.device.revoked_at is not None,
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
    waiting = KeptEntry.objects.waiting().filter(code__startswith="unknown_")
    if not waiting.exists():
        return 0
    wanted = [code for code in dict.fromkeys(codes) if code]
    return sum(
        _went_in(receive_one, kept, at)
        for some in _batched(wanted, CODES_AT_ONCE)
        for kept in waiting.filter(_naming(some)).select_related("by", "device").order_by("received_at", "id")
    )


def may_go_in(code: str) -> bool:
    """Whether what is refused with `code` may go in by itself later on."""
    return code == "no_right" or code.startswith("unknown_")


def retry_refused(receive_one: Callable[[Batch], Answer], by: User, at: datetime) -> int:
    """Try again what `by` had no right to: they have taken a crew over, or were lent a picker. Returns how many went
    in; of those that wait, the last ones are tried."""
    waiting = KeptEntry.objects.waiting().filter(code="no_right", by=by, revoked=False)
    last = waiting.select_related("by", "device").order_by("-received_at", "-id")[:MOST_REFUSED]
    return sum(_went_in(receive_one, kept, at) for kept in reversed(last))


def _naming(codes: Iterable[str]) -> Q:
    """However a code was sent, in a URL or in small letters: it stands in the raw text."""
    return reduce(or_, (Q(raw__icontains=code) for code in codes))


def _went_in(receive_one: Callable[[Batch], Answer], kept: KeptEntry, at: datetime) -> bool:
    try:
        return place(receive_one, kept, at).outcome != "refused"
    except DatabaseError:
        log.exception("The kept entry %s could not be tried again.", kept.pk)
        return False


def place(
    receive_one: Callable[[Batch], Answer],
    kept: KeptEntry,
    at: datetime,
    *,
    vouched: bool = False,
    new_id: UUID | None = None,
) -> Answer:
    """Try one kept note again: as of its own first receipt, by the roles that its author had then; under `new_id`
    where another line has taken its own."""
    entry = json.loads(kept.raw)
    if new_id is not None:
        entry["id"] = str(new_id)
    sent_at = kept.received_at - timedelta(seconds=kept.skew)
    if kept.roles:
        kept.by.roles = frozenset(kept.roles)
    batch = Batch(
        by=kept.by,
        device=kept.device,
        store=kept.store_id or "",
        strictness="note",
        sent_at=sent_at,
        received_at=kept.received_at,
        entries=[entry],
        recorded_at=at,
        vouched=vouched,
    )
    answer = receive_one(batch)
    row = KeptEntry.objects.filter(pk=kept.pk)
    if answer.outcome == "refused":
        row.update(code=answer.codes[0])
    else:
        row.update(placed_at=at)
    return answer


def _batched(codes: Sequence[str], size: int) -> Iterable[Sequence[str]]:
    return (codes[start : start + size] for start in range(0, len(codes), size))
