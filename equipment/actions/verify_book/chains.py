"""Every seal of every store's chain, in the order of positions.

Each entry is checked against the digest that is *stored* of the one before it: so of a thousand good entries after an
altered one, none is accused.
"""

from collections import deque
from collections.abc import Iterator
from dataclasses import dataclass
from typing import Any
from uuid import UUID

from django.db.models import Max

from crews.models import Store
from equipment.actions.verify_book.findings import Finding, Looked, line
from equipment.actions.verify_book.notes import notes_differ
from equipment.actions.verify_book.reading import Unreadable, read
from equipment.domain import chain
from equipment.ledger import columns_of
from equipment.models import ChainHead, Entry, seals

AT_ONCE = 2_000
# Positions that are looked at by themselves: some tenths of a second's work.
STRETCH = 10_000
# So many entries before a stretch tell what its first was sealed upon, even where a digest among them was changed.
LEAD = 3


@dataclass(slots=True)
class _Link:
    """How far a chain was followed: the digest stored of the last entry, None where nothing can be checked upon it, and
    the one computed. `suspect`: the two differ, and what was sealed upon the entry will tell which is right. What is
    found up to position `begins` is told by whoever follows those."""

    store: str
    position: int = 0
    entry: UUID | None = None
    name: str = ""
    stored: str | None = chain.START
    computed: str = chain.START
    suspect: bool = False
    begins: int = 0


@dataclass(frozen=True, slots=True)
class Stretch:
    """The entries of a store above position `after`, up to `last`; None: to the end of the chain, with its head."""

    store: str
    after: int
    last: int | None

    def look(self) -> Looked:
        looked = Looked()
        link = _lead(self.store, self.after)
        if self.last is None:
            _to_the_end(link, looked)
        else:
            _follow_up_to(link, self.last, looked)
        if link.position:
            looked.heads[self.store] = (link.position, link.stored or "")
        if self.last is not None and link.suspect and link.position > self.after:
            after = Entry.objects.filter(store=self.store, position__gt=self.last).order_by("position")[:1]
            # What is found first is about the entry before it, and the rest is another stretch's.
            looked.findings += [next(_follow(link, row)) for row in read(after)]
        return looked


def stretches(store: str = "", last: int | None = None) -> Iterator[Stretch]:
    """Of every store's chain; those after the one of `store` that ends at `last`, where that is given."""
    if store and last is not None:
        yield from _of_store(store, last)
    for each in Store.objects.filter(pk__gt=store).order_by("pk").values_list("pk", flat=True):
        yield from _of_store(each, 0)


def _of_store(store: str, after: int) -> Iterator[Stretch]:
    top = Entry.objects.filter(store=store).aggregate(top=Max("position"))["top"] or 0
    while after + STRETCH < top:
        yield Stretch(store, after, after + STRETCH)
        after += STRETCH
    yield Stretch(store, after, None)


def _lead(store: str, after: int) -> _Link:
    """The chain as it was followed up to position `after`: by the last few entries, or from its start."""
    rows = read(Entry.objects.filter(store=store, position__lte=after).order_by("-position")[: LEAD + 1])[
        ::-1
    ]
    link = _Link(store, begins=after)
    if len(rows) > LEAD:
        link.position = rows[0].position - 1
        link.stored = None
    for row in rows:
        deque(_follow(link, row), maxlen=0)
    return link


def _to_the_end(link: _Link, looked: Looked) -> None:
    while True:
        # The head first: a counter may write meanwhile, and what the head tells of must then be among the rows.
        head = ChainHead.objects.filter(store=link.store).first()
        top = Entry.objects.filter(store=link.store).aggregate(top=Max("position"))["top"] or 0
        if top <= link.position:
            break
        _follow_up_to(link, top, looked)
    looked.findings += _end(link, head)


def _follow_up_to(link: _Link, last: int, looked: Looked) -> None:
    """Go on up to position `last`: quickly where all is as it should be, entry by entry where it is not."""
    while link.position < last:
        count, noted = _quickly(link, last - 1)
        rest = Entry.objects.filter(store=link.store, position__gt=link.position, position__lte=last)
        rows = read(rest.order_by("position")[:AT_ONCE])
        for row in rows:
            looked.findings += _follow(link, row)
        noted += [row.position for row in rows if isinstance(row, Entry) and row.note_digest]
        looked.findings += _notes(link.store, noted)
        looked.entries += count + len(rows)
        if not rows:
            break


def _quickly(link: _Link, last: int) -> tuple[int, list[int]]:
    """Go on over entries that fit their digests, as far as they do, up to position `last` at most. Gives how many, and
    the positions of those with a note. The entry that the link ends at has no name then: another one must follow."""
    count, noted = 0, []
    if link.suspect or not _is_digest(link.stored):
        return count, noted
    stored = link.stored or ""
    for row in seals.sealed(link.store, link.position, last):
        fits = row.canonical is not None and chain.seal_of(stored, row.canonical) == row.digest
        if row.position != link.position + 1 or not fits:
            break
        stored, link.position = row.digest, row.position
        count += 1
        if row.noted:
            noted.append(row.position)
    if count:
        link.stored = link.computed = stored
        link.entry, link.name = None, line(link.store, link.position)
    return count, noted


def _is_digest(stored: str | None) -> bool:
    try:
        return stored is not None and len(bytes.fromhex(stored)) == 32
    except ValueError:
        return False


def _notes(store: str, positions: list[int]) -> Iterator[Finding]:
    for first in range(0, len(positions), AT_ONCE):
        noted = Entry.objects.filter(store=store, position__in=positions[first : first + AT_ONCE])
        yield from notes_differ([row for row in read(noted.order_by("position")) if isinstance(row, Entry)])


def up_to(store: str, position: int, digest: str) -> Iterator[tuple[int, list[Finding]]]:
    """A store's chain up to a head that was printed: some entries at once, how many, and what was found in them.

    The entry after it is looked at too, because it tells which of two digests is right; where there is none, the head
    that was printed does.
    """
    link = _Link(store)
    while link.position <= position:
        count, with_notes = _quickly(link, min(position - 1, link.position + STRETCH))
        if count:
            yield count, [*_notes(store, with_notes)]
            continue
        lines = Entry.objects.filter(store=store, position__gt=link.position, position__lte=position + 1)
        rows = read(lines.order_by("position")[:AT_ONCE])
        found = [finding for row in rows for finding in _follow(link, row)]
        noted = [row for row in rows if isinstance(row, Entry) and row.position <= position]
        yield len(noted), [*found, *notes_differ(noted)]
        if len(rows) < AT_ONCE:
            break
    if link.position <= position and link.suspect:
        yield 0, [_accused(link, vindicated=link.position == position and digest == link.computed)]
    if link.position < position:
        yield 0, [_cut_off(position - link.position, line(store, position))]


def _follow(link: _Link, row: Entry | Unreadable) -> Iterator[Finding]:
    """Check the seal of `row` upon the entry before it, and go on to `row`."""
    columns = columns_of(row) if isinstance(row, Entry) else {}
    name = line(link.store, row.position, columns.get("id"), columns.get("verb", ""))
    stored = row.digest if isinstance(row, Entry) else None
    whole = row.position == link.position + 1
    sealed = _sealed(link.stored, columns) if whole else None
    if link.suspect:
        otherwise = _sealed(link.computed, columns) if whole else None
        if link.position > link.begins:
            yield _accused(link, vindicated=stored is not None and stored == otherwise)
        sealed = otherwise if stored == otherwise else sealed
    if not whole:
        yield _gap(link, row.position, name)
    if stored is None:
        yield Finding("unreadable", {"line": name})
    link.position, link.entry, link.name, link.stored = row.position, columns.get("id"), name, stored
    link.computed = sealed or stored or ""
    link.suspect = stored is not None and sealed is not None and stored != sealed


def _sealed(upon: str | None, columns: dict[str, Any]) -> str | None:
    """The digest that the columns should bear; None where it cannot be told."""
    if not columns or upon is None:
        return None
    try:
        return chain.seal(upon, columns)
    except ValueError:
        return ""


def _accused(link: _Link, *, vindicated: bool) -> Finding:
    """The last entry does not fit its digest. Vindicated: what follows was sealed upon the digest that it should
    bear, so it was the digest that was changed."""
    return Finding("digest_altered" if vindicated else "altered", {"line": link.name})


def _gap(link: _Link, position: int, name: str) -> Finding:
    first, last = link.position + 1, position - 1
    where = {"at": f"{link.store} {first}", "to": last, "line": name}
    return Finding("missing" if first == last else "missing_more", where)


def _end(link: _Link, head: ChainHead | None) -> Iterator[Finding]:
    """What the head says of the end of the chain."""
    if link.suspect:
        yield _accused(link, vindicated=head is not None and head.digest == link.computed)
    if head is None:
        if link.position:
            yield Finding("head_gone", {"store": link.store, "line": link.name})
    elif head.position > link.position:
        last = line(link.store, head.position, head.entry_id)
        yield _cut_off(head.position - link.position, last)
    elif head.position < link.position:
        yield Finding("beyond_head", {"line": link.name})
    elif link.position and (head.entry_id != link.entry or head.digest not in (link.stored, link.computed)):
        yield Finding("head_differs", {"store": link.store, "line": link.name})


def _cut_off(gone: int, last: str) -> Finding:
    return Finding("end_gone" if gone == 1 else "end_gone_more", {"line": last, "count": gone})
