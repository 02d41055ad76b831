"""Take a batch of entries in: from a counter (`hold`), from a phone or a counter's queue (`note`).

Everything that is sent gets an answer of its own, and one bad entry never fails the rest.
"""

from collections.abc import Iterable, Mapping
from typing import Any
from uuid import UUID

from django.db import IntegrityError
from django.utils import timezone

from equipment import ledger
from equipment.actions import keeping, raw, resolve, shown
from equipment.actions.batch import Answer, Batch, Received
from equipment.actions.references import References
from equipment.domain import chain, values
from equipment.ledger import Draft, Outcome
from equipment.models import ChainHead, Entry, Note

# Another writer may take an id between our look and our insert; then the same batch is looked at again.
TRIES = 3


def receive(batch: Batch) -> Received:
    """Record what can be recorded of `batch` and answer each of its entries, in order."""
    for attempt in range(TRIES):
        try:
            with ledger.writing():
                received = _receive(batch)
            break
        except IntegrityError:
            if attempt == TRIES - 1:
                raise
    if any(answer.outcome == "recorded" and answer.verb in keeping.APPEARING for answer in received.answers):
        keeping.retry(receive_one, batch.received_at)
    return received


def receive_one(batch: Batch) -> Answer:
    """For kept entries: tried alone, and not kept a second time."""
    with ledger.writing():
        return _receive(batch, keep=False).answers[0]


def _receive(batch: Batch, *, keep: bool = True) -> Received:
    readable, answers = _read(batch)
    references = resolve.find(readable)
    known = _known(readable)
    answers |= {place: known[entry.raw.id] for place, entry in readable.items() if entry.raw.id in known}
    drafts: dict[int, Draft] = {}
    first: dict[UUID, int] = {}
    for place, entry in readable.items():
        if place in answers:
            continue
        if (again := first.setdefault(entry.raw.id, place)) != place:
            answers[place] = _again(entry, readable[again])
            continue
        try:
            drafts[place] = resolve.draft(batch, entry, references)
        except resolve.Refused as refused:
            answers[place] = _refused(entry, refused.codes, refused.params)
    recorded = ledger.record(
        list(drafts.values()),
        strictness=batch.strictness,
        at=batch.recorded_at or batch.received_at,
        items={row.item_id: row for row in references.states.values()},
    )
    show = _Shower(batch, references, recorded.outcomes, drafts.values())
    for place, outcome in zip(drafts, recorded.outcomes, strict=True):
        answers[place] = show.answer(readable[place], drafts[place], outcome)
    in_order = tuple(answers[place] for place in range(len(batch.entries)))
    if keep and any(answer.outcome == "refused" for answer in in_order):
        keeping.keep(batch, in_order)
    return Received(in_order, recorded.heads or _heads(batch.store))


def _read(batch: Batch) -> tuple[dict[int, resolve.Readable], dict[int, Answer]]:
    readable: dict[int, resolve.Readable] = {}
    answers: dict[int, Answer] = {}
    for place, entry in enumerate(batch.entries):
        try:
            parsed, verb, detail = raw.read(entry)
            happened = resolve.corrected(parsed.happened_at, batch.skew, batch.received_at)
            readable[place] = resolve.Readable(parsed, verb, detail, raw.content_digest(entry), happened)
        except raw.Unreadable as why:
            given = str(entry.get("id", "")) if isinstance(entry, Mapping) else ""
            name = given.encode("ascii", "replace").decode()[:64].replace("\x00", "?")
            answers[place] = Answer(name, "refused", codes=("malformed",), params={"why": str(why)})
    return readable, answers


def _known(readable: Mapping[int, resolve.Readable]) -> dict[UUID, Answer]:
    """Answers for entries whose id stands in the book: `known` where the content is the same, else refused."""
    by_id: dict[UUID, resolve.Readable] = {}
    for entry in readable.values():
        by_id.setdefault(entry.raw.id, entry)
    found: dict[UUID, Answer] = {}
    for stored in Entry.objects.filter(id__in=list(by_id)).only("id", "verb", "sent_digest", "note_digest"):
        entry = by_id[stored.id]
        same = stored.sent_digest == entry.sent_digest and _same_note(stored, entry.raw.note)
        found[stored.id] = Answer(str(stored.id), "known", stored.verb) if same else _refused(entry, ("id_reused",))
    return found


def _same_note(stored: Entry, text: str) -> bool:
    """An erased note counts as the same: nobody can tell any more."""
    if stored.note_digest is None or not text:
        return stored.note_digest is None and not text
    note = Note.objects.get(entry=stored.id)
    return note.erased_at is not None or chain.note_digest(note.salt, text) == stored.note_digest


def _again(entry: resolve.Readable, before: resolve.Readable) -> Answer:
    """The same id twice in one batch."""
    if entry.sent_digest == before.sent_digest and entry.raw.note == before.raw.note:
        return Answer(str(entry.raw.id), "known", entry.verb.name)
    return _refused(entry, ("id_reused",))


def _refused(entry: resolve.Readable, codes: tuple[str, ...], params: Mapping[str, Any] | None = None) -> Answer:
    return Answer(str(entry.raw.id), "refused", entry.verb.name, codes=codes, params=entry.words | dict(params or {}))


class _Shower:
    """Puts outcomes into answers: looks up, once for the batch, the kinds and cards that they speak of."""

    def __init__(
        self,
        batch: Batch,
        references: References,
        outcomes: Iterable[Outcome],
        drafts: Iterable[Draft],
    ) -> None:
        self.at = batch.received_at
        self.kinds = {row.item_id: row.item.kind_id for row in references.states.values()}
        self.kinds |= {draft.id: draft.detail["kind"] for draft in drafts if draft.verb == "registered"}
        today = timezone.localdate(self.at)
        loans = [loan for loans in references.loans.values() for loan in loans if references.loan(loan.badge_id, today)]
        self.badges: dict[int, str] = {loan.picker_id: loan.badge_id for loan in loans}
        holders = {o.state.picker for o in outcomes if isinstance(o.state, values.ItemState)} - {None}
        self.badges |= shown.badges_of(holders - set(self.badges), today)

    def answer(self, entry: resolve.Readable, draft: Draft, outcome: Outcome) -> Answer:
        state, params = None, dict(entry.words)
        if isinstance(outcome.state, values.ItemState):
            state = shown.item(outcome.state, self.kinds.get(draft.item), self.badges, self.at)
            if not outcome.recorded:
                params |= {"store": state["store"], "who": state["picker"] or state["crew"] or params["who"]}
        elif draft.crew:
            state = shown.crew(draft.crew, outcome.state)
        return Answer(
            str(draft.id),
            "recorded" if outcome.recorded else "refused",
            draft.verb,
            outcome.codes,
            params,
            outcome.discrepancies,
            state,
        )


def _heads(store: str) -> dict[str, ChainHead]:
    return {head.store_id: head for head in ChainHead.objects.filter(store=store)}
