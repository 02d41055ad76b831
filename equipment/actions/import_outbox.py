"""Take in, at the store, the outbox of a phone that will never connect again.

Each entry goes in as its author's, as a note, as if the phone had sent it. Doing it again is harmless, also where part
of it arrived by itself.
"""

from collections import Counter
from collections.abc import Iterator, Mapping
from contextlib import nullcontext
from dataclasses import dataclass, field
from datetime import datetime
from itertools import groupby

from django.db import transaction
from django.utils.translation import gettext as _

from crews.models import Device, Store, User
from equipment.actions.batch import Answer, Batch
from equipment.actions.keep_photo import keep_photo
from equipment.actions.outbox_file import EntryLine, OutboxFile, read
from equipment.actions.raw import MOST
from equipment.actions.receive import receive
from equipment.actions.shrink_photo import PhotoRefused
from equipment.actions.wording import refusal
from equipment.ledger import writing


@dataclass
class Imported:
    """`outcomes` counts entries by what became of them, `photos` by `kept`, `known` and `refused`; `by` entries by
    author's name; `refused` says of each entry or photo that was not taken which it is and why."""

    file: OutboxFile
    dry_run: bool
    outcomes: Counter[str] = field(default_factory=Counter)
    photos: Counter[str] = field(default_factory=Counter)
    by: Counter[str] = field(default_factory=Counter)
    refused: list[tuple[str, str]] = field(default_factory=list)

    @property
    def whole(self) -> bool:
        """Whether everything that the phone wrote into the file was there to be read."""
        return not (self.file.torn or self.file.unread or self.file.missing)


def import_outbox(data: bytes, at: datetime, *, dry_run: bool = False) -> Imported:
    """Take in the file `data` at `at`, or with `dry_run` only find out what would become of it: then nothing stays.

    Raises NoOutbox where the file is none.
    """
    done = Imported(read(data), dry_run)
    with writing() if dry_run else nullcontext():
        people = User.objects.in_bulk({line.by.id for line in (*done.file.entries, *done.file.photos)})
        _entries(done, people, at)
        _photos(done, people, at)
        if dry_run:
            transaction.set_rollback(True)
    return done


def _entries(done: Imported, people: Mapping[int, User], at: datetime) -> None:
    stores = frozenset(Store.objects.values_list("pk", flat=True))
    device = Device.objects.filter(pk=done.file.device).first()
    for author, code, lines in _batches(done.file):
        by = people.get(author)
        store = _store(code, device, by, stores)
        done.by[by.get_username() if by else lines[0].by.called] += len(lines)
        if by is None or store is None:
            said = _("Its author is unknown here.") if by is None else _("Its store is unknown here.")
            done.outcomes["refused"] += len(lines)
            done.refused += [(str(line.entry.get("id")), said) for line in lines]
            continue
        device = device or _device(done.file, by, store)
        raw = [{**line.entry, "queued": True} for line in lines]
        batch = Batch(by, device, store, "note", at - done.file.clock, at, raw)
        for answer in receive(batch).answers:
            _answered(done, answer)


def _batches(file: OutboxFile) -> Iterator[tuple[int, str | None, list[EntryLine]]]:
    """In the order they were recorded: as many of one author and store as the book takes at once."""
    for (author, store), run in groupby(file.entries, key=lambda line: (line.by.id, line.store)):
        lines = list(run)
        for start in range(0, len(lines), MOST):
            yield author, store, lines[start : start + MOST]


def _store(code: str | None, device: Device | None, by: User | None, stores: frozenset[str]) -> str | None:
    """The store whose book is written: the one named, else the phone's, the author's, or the farm's only one."""
    if code is None:
        code = (
            (device and device.store_id)
            or (by and by.store_id)
            or (min(stores) if len(stores) == 1 else None)
        )
    return code if code in stores else None


def _device(file: OutboxFile, by: User, store: str) -> Device:
    """The phone as enrolled; a number that nobody enrolled is its author's, where there is only one."""
    alone = len({line.by.id for line in file.entries}) == 1
    new = {"kind": Device.Kind.PHONE, "owner": by if alone else None, "store_id": store}
    return Device.objects.get_or_create(pk=file.device, defaults=new)[0]


def _answered(done: Imported, answer: Answer) -> None:
    done.outcomes[answer.outcome] += 1
    if answer.outcome == "refused":
        done.refused.append((answer.id, refusal(answer.codes[0], answer.params)))


def _photos(done: Imported, people: Mapping[int, User], at: datetime) -> None:
    for line in done.file.photos:
        by = people.get(line.by.id)
        try:
            if by is None:
                raise PhotoRefused("malformed", _("Its author is unknown here."))
            _photo, new = keep_photo(line.data, by, at, named=line.photo)
        except PhotoRefused as error:
            done.photos["refused"] += 1
            done.refused.append((line.photo[:12], str(error)))
        else:
            done.photos["kept" if new else "known"] += 1
