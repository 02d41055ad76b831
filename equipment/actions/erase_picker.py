"""A picker who left is forgotten: name, number, cards, sizes and, where asked for, what was written of them.

Only rows that may be erased change; the book, which knows an opaque number, stays as it was sealed. What is erased does
not come back: the farm's number becomes free, so that an old list which is imported again makes somebody new.
"""

import json
from dataclasses import dataclass
from datetime import date, datetime
from functools import reduce
from operator import or_
from typing import Any

from django.db import connection
from django.db.models import Max, Q
from django.utils import timezone
from django.utils.translation import gettext as _

from crews.models import Badge, BadgeLoan, Crew, Picker
from equipment.actions import raw
from equipment.actions.named_elsewhere import named_elsewhere, stands_in
from equipment.domain import codes
from equipment.ledger import lock, writing
from equipment.models import Attempt, Entry, ItemState, KeptEntry, Membership, Note
from equipment.models.uploads import Upload

SIZES = ("hand", "glove_size", "boot_size", "overall_size")
WIPED = ("crews_picker", "crews_badgeloan", "equipment_note", "equipment_attempt", "equipment_keptentry")


class NotErased(Exception):
    """Nothing of this picker was erased; the message says why, and what to do."""


@dataclass(frozen=True, slots=True)
class Written:
    """A note of an entry about a picker, or that has their name in it: where it stands in the book, and its text."""

    entry: Any
    store: str
    position: int
    at: datetime
    text: str


@dataclass(frozen=True, slots=True)
class Standing:
    """What the farm has of a picker: tags of gear in their name, crews they are in, how many `kept` notes wait that
    name a card of theirs, what was `written` of them, and where their name stands `elsewhere`, and stays."""

    picker: Picker
    gear: tuple[str, ...]
    crews: tuple[str, ...]
    kept: int
    written: tuple[Written, ...]
    elsewhere: tuple[str, ...]

    @property
    def why_not(self) -> str:
        """What stands against forgetting them, and what to do; "" for nothing."""
        who = {"number": self.picker.number}
        if self.gear:
            said = _("Picker %(number)s still has %(what)s. Take it back, or write it off, first.")
            return said % {**who, "what": ", ".join(self.gear)}
        if self.crews:
            said = _("Picker %(number)s is in %(what)s still. Take them out of it first.")
            return said % {**who, "what": ", ".join(self.crews)}
        if self.kept:
            return _("Something that names picker %(number)s waits under To settle. Settle it first.") % who
        return ""


def find(text: str) -> Picker:
    """By the farm's number, or by the card that was lent to them last. Raises NotErased."""
    if known := Picker.objects.filter(number=text).first():
        return known
    try:
        card = codes.parse(text).text
    except ValueError:
        card = ""
    if Badge.objects.filter(pk=card, day_card=True).exists():
        said = _("%(card)s is a day card, lent to another picker every day. Name the picker's number.")
        raise NotErased(said % {"card": card})
    loan = BadgeLoan.objects.filter(badge=card).select_related("picker").order_by("-from_day", "-id").first()
    if loan is None:
        raise NotErased(_("No picker has the number or card %(text)s.") % {"text": text})
    return loan.picker


def left_before(day: date) -> list[Picker]:
    """Those who have a name still, are in no crew, and of whom the book says nothing since the farm's midnight."""
    midnight = timezone.make_aware(datetime.combine(day, datetime.min.time()))
    gone = Picker.objects.exclude(name="").exclude(pk__in=Membership.objects.values("picker"))
    lines = Entry.objects.filter(picker__in=gone).order_by().values("picker")
    last = lines.annotate(last=Max("happened_at")).filter(last__lt=midnight)
    return list(gone.filter(pk__in=[row["picker"] for row in last]).order_by("pk"))


def standing(picker: Picker) -> Standing:
    states = ItemState.objects.filter(picker=picker).exclude(place="gone")
    crews = Crew.objects.filter(memberships__picker=picker).order_by("name")
    return Standing(
        picker=picker,
        gear=tuple(states.order_by("tag").values_list("tag", flat=True)),
        crews=tuple(crews.values_list("name", flat=True)),
        kept=sum(row.placed_at is None and row.set_aside_at is None for row in _kept(picker)),
        written=tuple(_written(picker)),
        elsewhere=tuple(named_elsewhere(picker.name)),
    )


def _written(picker: Picker) -> list[Written]:
    """In the order of time."""
    about = Q(entry__picker=picker)
    if picker.name:
        about |= Q(text__icontains=picker.name)
    notes = Note.objects.filter(about, erased_at=None).select_related("entry").order_by("entry__happened_at")
    return [
        Written(note.pk, note.entry.store_id, note.entry.position, note.entry.happened_at, note.text)
        for note in notes
        if note.entry.picker_id == picker.pk or stands_in(picker.name, note.text)
    ]


def _kept(picker: Picker) -> list[KeptEntry]:
    """What the book did not take that names a card of theirs, or has their name in its note."""
    cards = list(Badge.objects.filter(loans__picker=picker, day_card=False).values_list("pk", flat=True))
    words = [*cards, *([json.dumps(picker.name)[1:-1]] if picker.name else [])]
    if not words:
        return []
    rows = KeptEntry.objects.filter(reduce(or_, (Q(raw__icontains=word) for word in words)))
    return [
        row
        for row in rows
        if any(card in row.raw.upper() for card in cards) or stands_in(picker.name, _note(row))
    ]


def _note(kept: KeptEntry) -> Any:
    entry = json.loads(kept.raw)
    return entry.get("note", "") if isinstance(entry, dict) else ""


def erase(picker: Picker, at: datetime, *, notes: bool) -> Standing:
    """Forget them; with `notes` what was written of them too. Gives what there was. Raises NotErased."""
    if connection.vendor == "sqlite":
        with connection.cursor() as cursor:
            cursor.execute("PRAGMA secure_delete = ON")
    with writing():
        found = standing(Picker.objects.select_for_update().get(pk=picker.pk))
        if found.why_not:
            raise NotErased(found.why_not)
        if notes:
            _forget_words(found, at)
        Attempt.objects.filter(picker=found.picker.name).exclude(picker="").update(picker="")
        _forget_cards(found.picker, timezone.localdate(at))
        blank = dict.fromkeys(SIZES, "")
        Picker.objects.filter(pk=picker.pk).update(name="", number=f"x{picker.pk}", **blank)
        Upload.objects.stale(at).delete()
    return found


def _forget_words(found: Standing, at: datetime) -> None:
    keys = [each.entry for each in found.written]
    Note.objects.filter(pk__in=keys, erased_at=None).update(text="", salt="", erased_at=at)
    for kept in _kept(found.picker):
        entry = json.loads(kept.raw)
        if isinstance(entry, dict) and entry.pop("note", None):
            KeptEntry.objects.filter(pk=kept.pk).update(raw=raw.as_text(entry))


def _forget_cards(picker: Picker, day: date) -> None:
    """Which cards they had. Those that were theirs last die: they may be in a pocket still."""
    own = BadgeLoan.objects.filter(picker=picker, badge__day_card=False).values("badge")
    loans = BadgeLoan.objects.filter(badge__in=own).order_by("from_day", "id")
    last = dict(loans.values_list("badge", "picker"))
    theirs = [card for card, holder in last.items() if holder == picker.pk]
    Badge.objects.filter(pk__in=theirs, died_on=None).update(died_on=day)
    BadgeLoan.objects.filter(picker=picker).delete()


def wipe() -> None:
    """Take what was erased off the disk as well, where the database keeps old rows; outside any transaction."""
    if connection.in_atomic_block:
        return
    with connection.cursor() as cursor:
        if connection.vendor == "sqlite":
            # In the queue of the writers: only one may empty the log at a time.
            with lock._queue():
                cursor.execute("PRAGMA wal_checkpoint(TRUNCATE)")
        else:
            cursor.execute(f"VACUUM {', '.join(WIPED)}")
