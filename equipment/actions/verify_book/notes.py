"""The free text that hangs on entries: the chain holds its digest, the text itself may have been erased."""

from collections.abc import Iterator, Sequence

from equipment.actions.verify_book.findings import Finding, line
from equipment.domain import chain
from equipment.models import Entry, Note


def notes_differ(entries: Sequence[Entry]) -> Iterator[Finding]:
    """Of entries that were sealed with a note: those whose note is gone or another; an erased one may be."""
    noted = [entry for entry in entries if entry.note_digest]
    notes = Note.objects.in_bulk([entry.pk for entry in noted])
    for entry in noted:
        note = notes.get(entry.pk)
        if note is None:
            yield Finding("note_gone", {"line": _named(entry)})
        elif not _as_sealed(note, entry):
            yield Finding("note_altered", {"line": _named(entry)})


def _as_sealed(note: Note, entry: Entry) -> bool:
    if note.erased_at is not None:
        return not (note.text or note.salt)
    return chain.note_digest(note.salt, note.text) == entry.note_digest


def notes_too_many() -> Iterator[Finding]:
    """Notes on entries that were sealed without one."""
    for note in Note.objects.filter(entry__note_digest=None).select_related("entry").iterator():
        yield Finding("note_added", {"line": _named(note.entry)})


def _named(entry: Entry) -> str:
    return line(entry.store_id, entry.position, entry.pk, entry.verb)
