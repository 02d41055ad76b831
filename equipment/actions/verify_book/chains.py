"""Every seal of every store's chain, in the order of positions.

Each entry is checked against the digest that is *stored* of the one before it: so of a thousand good entries after an
altered one, none is accused.
"""

from collections.abc import Iterator
from dataclasses import dataclass
from typing import Any
from uuid import UUID

from crews.models import Store
from equipment.actions.refolding import Say
from equipment.actions.verify_book.findings import Finding, line
from equipment.actions.verify_book.notes import notes_differ, notes_too_many
from equipment.actions.verify_book.reading import Unreadable, read
from equipment.domain import chain
from equipment.ledger import columns_of
from equipment.models import ChainHead, Entry

AT_ONCE = 2_000


@dataclass(slots=True)
class _Link:
    """How far a chain was followed: the digest stored of the last entry, None where nothing can be checked upon it, and
    the one computed. `suspect`: the two differ, and what was sealed upon the entry will tell which is right."""

    store: str
    position: int = 0
    entry: UUID | None = None
    name: str = ""
    stored: str | None = chain.START
    computed: str = chain.START
    suspect: bool = False


class Chains:
    """All chains. `entries` and `heads` (store -> last position and digest) fill while `findings` is used up."""

    def __init__(self, say: Say) -> None:
        self.entries = 0
        self.heads: dict[str, tuple[int, str]] = {}
        self._say = say

    def findings(self) -> Iterator[Finding]:
        total = Entry.objects.count()
        for store in Store.objects.order_by("pk").values_list("pk", flat=True):
            yield from self._of_store(store, total)
        yield from notes_too_many()

    def _of_store(self, store: str, total: int) -> Iterator[Finding]:
        link = _Link(store)
        while True:
            # The head first: a counter may write meanwhile, and what the head tells of must then be among the rows.
            head = ChainHead.objects.filter(store=store).first()
            rows = read(
                Entry.objects.filter(store=store, position__gt=link.position).order_by("position")[:AT_ONCE]
            )
            if not rows:
                break
            for row in rows:
                yield from _follow(link, row)
            yield from notes_differ([row for row in rows if isinstance(row, Entry)])
            self.entries += len(rows)
            self._say(min(self.entries, total), total)
        if link.position:
            self.heads[store] = (link.position, link.stored or "")
        yield from _end(link, head)


def up_to(store: str, position: int, digest: str) -> Iterator[tuple[int, list[Finding]]]:
    """A store's chain up to a head that was printed: some entries at once, how many, and what was found in them.

    The entry after it is looked at too, because it tells which of two digests is right; where there is none, the head
    that was printed does.
    """
    link = _Link(store)
    while link.position <= position:
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
