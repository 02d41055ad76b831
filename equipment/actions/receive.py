"""Take a batch of entries in: from a counter (`hold`), from a phone or a counter's queue (`note`).

Everything that is sent gets an answer of its own, and one bad entry never fails the rest.
"""

from collections.abc import Iterable, Mapping
from datetime import datetime
from typing import Any
from uuid import UUID

from django.db import IntegrityError
from django.utils import timezone
from django.utils.translation import gettext as _

from equipment import ledger
from equipment.actions import keeping, raw, resolve, shown
from equipment.actions.batch import Answer, Batch, Received
from equipment.actions.readable import Readable, Refused
from equipment.actions.references import References
from equipment.domain import values
from equipment.ledger import Draft, Outcome
from equipment.models import ChainHead, Entry, Note

# Another writer may take an id between our look and our insert; then the same batch is looked at again.
TRIES = 3


def receive(batch: Batch) -> Received:
    """Record what can be recorded of `batch` and answer each of its entries, in order."""
    received = _tried(batch, keep=True)
    new = [
        answer
        for answer in received.answers
        if answer.outcome == "recorded" and answer.verb in keeping.APPEARING
    ]
    if new:
        retry_kept([str(answer.params[name]) for answer in new for name in ("tag", "who")], batch.received_at)
    return received


def retry_kept(codes: Iterable[str], at: datetime) -> int:
    """Try again the kept notes that name one of `codes`, which have just appeared. Returns how many went in."""
    return keeping.retry(lambda batch: _tried(batch, keep=False).answers[0], codes, at)


def _tried(batch: Batch, *, keep: bool) -> Received:
    for attempt in range(TRIES):
        try:
            with ledger.writing():
                return _receive(batch, keep=keep)
        except IntegrityError:
            if attempt == TRIES - 1:
                raise
    raise AssertionError("unreachable")


def _receive(batch: Batch, *, keep: bool) -> Received:
    readable, answers = _read(batch)
    found = resolve.find(batch, readable)
    answers |= _known(readable)
    first: dict[UUID, int] = {}
    drafts: dict[int, Draft] = {}
    for place, entry in readable.items():
        if place in answers or first.setdefault(entry.raw.id, place) != place:
            continue
        try:
            drafts[place] = resolve.draft(batch, entry, found)
        except Refused as refused:
            answers[place] = _refused(entry, refused.codes, refused.params)
    if batch.strictness == "hold":
        answers |= _left_out(batch, readable, answers, drafts)
    recorded = ledger.record(
        list(drafts.values()),
        strictness=batch.strictness,
        at=batch.recorded_at or batch.received_at,
        items={row.item_id: row for row in found.states.values()},
    )
    show = _Shower(batch, found, recorded.outcomes, drafts.values())
    for place, outcome in zip(drafts, recorded.outcomes, strict=True):
        answers[place] = show.answer(readable[place], drafts[place], outcome)
    for place in readable.keys() - answers.keys():
        before = first[readable[place].raw.id]
        answers[place] = _again(readable[place], readable[before], answers[before])
    in_order = tuple(answers[place] for place in range(len(batch.entries)))
    if keep:
        keeping.keep(batch, in_order)
    return Received(in_order, recorded.heads or _heads(batch.store))


def _read(batch: Batch) -> tuple[dict[int, Readable], dict[int, Answer]]:
    readable: dict[int, Readable] = {}
    answers: dict[int, Answer] = {}
    for place, entry in enumerate(batch.entries):
        try:
            parsed, verb, detail = raw.read(entry)
            happened = resolve.corrected(parsed.happened_at, batch.skew, batch.received_at)
            readable[place] = Readable(parsed, verb, detail, raw.content_digest(entry), happened)
        except raw.Unreadable as why:
            answers[place] = Answer(
                raw.given(entry, "id"), "refused", codes=("malformed",), params={"why": str(why)}
            )
    return readable, answers


def _known(readable: Mapping[int, Readable]) -> dict[int, Answer]:
    """Answers for entries whose id stands in the book: `known` where the content is the same, else refused."""
    columns = ("id", "verb", "sent_digest", "note_digest")
    stored = Entry.objects.only(*columns).in_bulk({entry.raw.id for entry in readable.values()})
    notes = (
        Note.objects.in_bulk([entry.pk for entry in stored.values() if entry.note_digest]) if stored else {}
    )
    return {
        place: _known_again(entry, stored[entry.raw.id], notes.get(entry.raw.id))
        for place, entry in readable.items()
        if entry.raw.id in stored
    }


def _known_again(entry: Readable, stored: Entry, note: Note | None) -> Answer:
    if stored.sent_digest == entry.sent_digest and _same_note(note, entry.raw.note):
        return Answer(str(stored.id), "known", stored.verb)
    return _refused(entry, ("id_reused",))


def _same_note(note: Note | None, text: str) -> bool:
    """An erased note counts as the same: nobody can tell any more."""
    return not text if note is None else note.erased_at is not None or note.text == text


def _again(entry: Readable, before: Readable, answer: Answer) -> Answer:
    """The same id twice in one batch: what became of the first became of it."""
    if entry.sent_digest != before.sent_digest or entry.raw.note != before.raw.note:
        return _refused(entry, ("id_reused",))
    return answer if answer.outcome == "refused" else Answer(answer.id, "known", answer.verb)


def _left_out(
    batch: Batch, readable: Mapping[int, Readable], answers: Mapping[int, Answer], drafts: dict[int, Draft]
) -> dict[int, Answer]:
    """An act is recorded whole or not at all: takes out the drafts of one that has lost an entry already."""
    lost = (place for place, answer in answers.items() if answer.outcome == "refused")
    broken = {raw.act(batch.entries[place]) for place in lost} - {None}
    out = [place for place, draft in drafts.items() if draft.act in broken]
    for place in out:
        del drafts[place]
    return {place: _refused(readable[place], ("act_refused",)) for place in out}


def _refused(entry: Readable, codes: tuple[str, ...], params: Mapping[str, Any] | None = None) -> Answer:
    return Answer(
        str(entry.raw.id), "refused", entry.verb.name, codes=codes, params=entry.words | dict(params or {})
    )


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
        self.kinds = {row.item_id: row.kind_id for row in references.states.values()}
        self.kinds |= {draft.id: draft.detail["kind"] for draft in drafts if draft.verb == "registered"}
        today = timezone.localdate(self.at)
        loans = [
            loan
            for loans in references.loans.values()
            for loan in loans
            if references.loan(loan.badge_id, today)
        ]
        self.badges: dict[int, str] = {loan.picker_id: loan.badge_id for loan in loans}
        holders = {o.state.picker for o in outcomes if isinstance(o.state, values.ItemState)} - {None}
        self.badges |= shown.badges_of(holders - set(self.badges), today)

    def answer(self, entry: Readable, draft: Draft, outcome: Outcome) -> Answer:
        state, params = None, dict(entry.words)
        if isinstance(outcome.state, values.ItemState):
            state = shown.item(outcome.state, self.kinds.get(draft.item), self.badges, self.at)
            if not outcome.recorded:
                params |= {"store": state["store"], "who": state["picker"] or state["crew"] or params["who"]}
            if outcome.codes == ("malformed",):
                params["why"] = _("the code %(tag)s is on an item already.") % params
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
