"""Take a batch of entries in: from a counter (`hold`), from a phone or a counter's queue (`note`).

Everything that is sent gets an answer of its own, and one bad entry never fails the rest.
"""

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from datetime import datetime, timedelta
from typing import Any
from uuid import UUID

from django.db import IntegrityError
from django.utils import timezone
from django.utils.translation import gettext as _

from equipment import ledger
from equipment.actions import keeping, looking_up, next_fit, raw, resolve, shown
from equipment.actions.batch import AT_ONCE, BESIDE_COUNTERS, Answer, Batch, Received
from equipment.actions.readable import Readable, Refused
from equipment.actions.references import References
from equipment.domain import values
from equipment.ledger import Draft, Outcome
from equipment.models import ChainHead, Entry, KeptEntry, Note

# Another writer may take an id between our look and our insert; then the same batch is looked at again.
TRIES = 3


def receive(batch: Batch) -> Received:
    """Record what can be recorded of `batch` and answer each of its entries, in order."""
    parts = [_read(part) for part in batch.parts(_counters.leave(batch))]
    found = looking_up.find(batch, [entry for part in parts for entry in part.readable.values()])
    received = _joined([_tried(part, found, keep=True) for part in parts])
    new = [
        answer
        for answer in received.answers
        if answer.outcome == "recorded" and answer.verb in keeping.APPEARING
    ]
    went_in = 0
    if new:
        named = [
            str(answer.params.get(name) or "") for answer in new for name in ("tag", "who", "bath", "lot")
        ]
        went_in += retry_kept(named, batch.received_at)
    if any(answer.outcome == "recorded" and answer.verb in keeping.ENTITLING for answer in received.answers):
        went_in += keeping.retry_refused(_once, batch.by, batch.received_at)
    return _by_now(batch, received) if went_in else received


class _Counters:
    """When a counter of this process last wrote. On SQLite that is every counter; elsewhere nobody waits for long."""

    at_work_for = timedelta(seconds=5)

    def __init__(self) -> None:
        self._last: datetime | None = None

    def leave(self, batch: Batch) -> int:
        """How many entries of `batch` may be recorded in one go."""
        if batch.strictness == "hold":
            self._last = batch.received_at
        elif self._last is not None and batch.received_at - self._last < self.at_work_for:
            return BESIDE_COUNTERS
        return AT_ONCE


_counters = _Counters()


def _joined(parts: Sequence[Received]) -> Received:
    """The answers of all parts in order, and where the chains ended."""
    heads = {store: head for part in parts for store, head in part.heads.items()}
    return Received(tuple(answer for part in parts for answer in part.answers), heads)


def retry_kept(codes: Iterable[str], at: datetime) -> int:
    """Try again the kept notes that name one of `codes`, which have just appeared. Returns how many went in."""
    return keeping.retry(_once, codes, at)


def place_kept(kept: KeptEntry, at: datetime, *, vouched: bool = False, new_id: UUID | None = None) -> Answer:
    """Try one kept note again now; `vouched`: an officer lets it in; `new_id` in place of its own."""
    return keeping.place(_once, kept, at, vouched=vouched, new_id=new_id)


def _once(batch: Batch) -> Answer:
    part = _read(batch)
    found = looking_up.find(batch, list(part.readable.values()))
    return _tried(part, found, keep=False).answers[0]


def _by_now(batch: Batch, received: Received) -> Received:
    """The answers after kept notes went in, of this very batch perhaps: it may have named a bath before mixing it."""
    refused = [a.id for a in received.answers if a.outcome == "refused" and keeping.may_go_in(a.codes[0])]
    there = {str(pk) for pk in Entry.objects.filter(pk__in=refused).values_list("pk", flat=True)}
    answers = [Answer(a.id, "known", a.verb) if a.id in there else a for a in received.answers]
    return Received(tuple(answers), _heads(batch.store))


@dataclass(frozen=True, slots=True)
class _Part:
    """Some of a batch, read before others have to wait for it; what cannot be read is answered."""

    batch: Batch
    readable: dict[int, Readable]
    unreadable: dict[int, Answer]


def _tried(part: _Part, found: References, *, keep: bool) -> Received:
    # What a counter sends is new; that it was sent before shows by a refusal, or by its id standing in the book.
    look = part.batch.strictness == "note"
    for attempt in range(TRIES):
        answers = part.unreadable | (_known(part.readable) if look else {})
        try:
            with ledger.writing():
                return _receive(part, found, answers, keep=keep, look=look)
        except (IntegrityError, _LookFirst):
            if attempt == TRIES - 1:
                raise
            look = True
    raise AssertionError("unreachable")


class _LookFirst(Exception):
    """Something is refused, and something of the batch stands in the book already: perhaps for that reason."""


def _receive(
    part: _Part, found: References, answers: dict[int, Answer], *, keep: bool, look: bool
) -> Received:
    """Record what has no answer yet, and answer it."""
    batch, readable = part.batch, part.readable
    looking_up.lock(found, batch, [entry for place, entry in readable.items() if place not in answers])
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
    show = _Shower(batch, found, recorded.outcomes, list(drafts.values()))
    for place, outcome in zip(drafts, recorded.outcomes, strict=True):
        answers[place] = show.answer(readable[place], drafts[place], outcome)
    for place in readable.keys() - answers.keys():
        before = first[readable[place].raw.id]
        answers[place] = _again(readable[place], readable[before], answers[before])
    in_order = tuple(answers[place] for place in range(len(batch.entries)))
    if not look and any(answer.outcome == "refused" for answer in in_order) and _known(readable):
        raise _LookFirst
    if keep:
        keeping.keep(batch, in_order)
    return Received(in_order, recorded.heads or _heads(batch.store))


def _read(batch: Batch) -> _Part:
    readable: dict[int, Readable] = {}
    answers: dict[int, Answer] = {}
    for place, entry in enumerate(batch.entries):
        try:
            parsed, verb, detail = raw.read(entry, lenient=batch.strictness == "note")
            happened = resolve.corrected(parsed.happened_at, batch.skew, batch.received_at)
            readable[place] = Readable(parsed, verb, detail, raw.content_digest(entry), happened)
        except raw.Unreadable as why:
            answers[place] = Answer(
                raw.given(entry, "id"), "refused", codes=("malformed",), params={"why": str(why)}
            )
    return _Part(batch, readable, answers)


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
        outcomes: Sequence[Outcome],
        drafts: Sequence[Draft],
    ) -> None:
        self.at, self.by = batch.received_at, batch.by
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
        decided = zip(drafts, outcomes, strict=True)
        self.instead = next_fit.offers(batch, references.states.values(), decided)

    def answer(self, entry: Readable, draft: Draft, outcome: Outcome) -> Answer:
        state, params = None, dict(entry.words)
        if isinstance(outcome.state, values.ItemState):
            state = shown.item(
                outcome.state, self.kinds.get(draft.item), self.badges, self.at, outcome.condition
            )
            if draft.id in self.instead:
                state["instead"] = params["instead"] = self.instead[draft.id]
            if not outcome.recorded:
                params |= {"store": state["store"], "who": state["picker"] or state["crew"] or params["who"]}
            if outcome.codes == ("malformed",):
                params["why"] = _("the code %(tag)s is on an item already.") % params
        elif isinstance(outcome.state, values.CrewState) and draft.crew:
            state = shown.crew(draft.crew, outcome.state)
        elif isinstance(outcome.state, values.BathState) and draft.bath:
            state = shown.bath(draft.bath, outcome.state, self.at)
        elif isinstance(outcome.state, values.LotState) and draft.lot:
            state = shown.lot(draft.lot, outcome.state)
        return Answer(
            str(draft.id),
            "recorded" if outcome.recorded else "refused",
            draft.verb,
            outcome.codes,
            params,
            outcome.discrepancies,
            state,
            outcome.reasons,
            tuple(draft.detail.get("overridden", ())),
            _may_override(outcome, self.by.roles) if draft.verb == "handed_out" else None,
        )


def _may_override(outcome: Outcome, roles: frozenset[str]) -> bool | None:
    """Whether somebody of these roles may let everything pass that a hand-out was refused for."""
    if outcome.recorded:
        return None
    blocking = [reason for reason in outcome.reasons if reason.blocks]
    known = set(outcome.codes) <= {reason.code for reason in blocking}
    return known and bool(blocking) and all(roles & set(reason.override) for reason in blocking)


def _heads(store: str) -> dict[str, ChainHead]:
    return {head.store_id: head for head in ChainHead.objects.filter(store=store)}
