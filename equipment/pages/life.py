"""The life of an item as lines of the book, the newest first, with what was refused in between."""

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from datetime import datetime, timedelta
from uuid import UUID

from django.db.models import Q
from django.utils import timezone
from django.utils.formats import date_format
from django.utils.translation import gettext as _

from crews.models import Device, User
from equipment.actions.wording import refusal
from equipment.domain import gate
from equipment.models import Attempt, Entry, Label, Note
from equipment.pages.keys import moment
from equipment.pages.telling import ICONS, Teller, with_names

LINES = 50
MOST_ATTEMPTS = 50
# A scan travels for a moment; what took longer than this was written down first and sent afterwards.
SENT_AT_ONCE = timedelta(minutes=2)


@dataclass(frozen=True)
class Line:
    """One line for `_partials/ledger_lines.html`, which says what the fields are."""

    at: datetime
    say: str
    icon: str
    by: str
    place: str
    note: str = ""
    extra: str = ""
    struck: bool = False
    struck_by: str = ""
    wants: bool = False


@dataclass(frozen=True)
class Life:
    """A page of it; `next` is the key of the page after, "" on the last."""

    lines: Sequence[Line]
    next: str


def life(item: UUID, before: str = "", contested: Iterable[UUID] = ()) -> Life:
    """The lines before the key `before`, or the newest; `contested` entries want settling. Six queries."""
    entries = with_names(Entry.objects.filter(item=item)).order_by("-happened_at", "-id")
    page = list(entries.filter(_earlier(before))[: LINES + 1])
    more = len(page) > LINES
    page = page[:LINES]
    undone = _undone(item)
    teller = Teller([*page, *undone.values()])
    contested = set(contested)
    lines = [_line(entry, teller, undone.get(entry.pk), entry.pk in contested) for entry in page]
    if page:
        earliest = page[-1].happened_at if more else None
        lines += _refused(item, earliest, page[0].happened_at if before else None)
        lines.sort(key=lambda line: line.at, reverse=True)
    return Life(lines, key(page[-1]) if more else "")


def key(entry: Entry) -> str:
    return f"{entry.happened_at.isoformat()}~{entry.pk}"


def _earlier(before: str) -> Q:
    """Entries before that key; all of them where it cannot be read."""
    at, _tilde, last = before.partition("~")
    when = moment(at)
    try:
        entry = UUID(last)
    except ValueError:
        return Q()
    return Q(happened_at__lt=when) | Q(happened_at=when, pk__lt=entry) if when else Q()


def _undone(item: UUID) -> dict[UUID, Entry]:
    rows = with_names(Entry.objects.filter(item=item, verb="reversed"))
    return {UUID(entry.detail["entry"]): entry for entry in rows}


def _line(entry: Entry, teller: Teller, undone: Entry | None, contested: bool) -> Line:
    note: Note | None = getattr(entry, "written_note", None)
    return Line(
        at=entry.happened_at,
        say=teller.tell(entry),
        icon=ICONS.get(entry.verb, "note"),
        by=name(entry.by),
        place=_written_on(entry.device) or entry.store.name,
        note=note.text if note else "",
        extra=" · ".join(_marks(entry, note, contested)),
        struck=undone is not None,
        struck_by=_struck_by(undone) if undone else "",
        wants=contested,
    )


def _marks(entry: Entry, note: Note | None, contested: bool) -> Iterable[str]:
    """How the line came into the book, where that was not the plain way, and what the gate had to say."""
    written = date_format(timezone.localtime(entry.recorded_at), _("j F H:i"))
    if entry.device.kind == Device.Kind.PAPER:
        yield _("from paper, entered %(at)s") % {"at": written}
    elif entry.recorded_at - entry.happened_at > SENT_AT_ONCE:
        yield _("reached the book late, %(at)s") % {"at": written}
    if verdict := entry.detail.get("verdict"):
        said = "; ".join(_reason(code) for code in verdict)
        yield _("although %(reasons)s") % {"reasons": said}
    if note and note.erased_at:
        yield _("a note was erased")
    if contested:
        yield _("waits to be settled")


def _reason(code: str) -> str:
    return _(gate.WORDS[code]) if code in gate.WORDS else refusal(code, {}).rstrip(".")


def _struck_by(undone: Entry) -> str:
    at = date_format(timezone.localtime(undone.happened_at), _("j F H:i"))
    return _("taken back %(at)s by %(by)s") % {"at": at, "by": name(undone.by)}


def _written_on(device: Device) -> str:
    return "" if device.kind in (Device.Kind.SERVER, Device.Kind.PAPER) else device.name


def name(user: User) -> str:
    return user.get_full_name() or user.get_username()


def _refused(item: UUID, since: datetime | None, until: datetime | None) -> list[Line]:
    """What was asked of the item between these times and refused: it is no line of the book, and says so."""
    asked = Attempt.objects.filter(subject__in=_labels(item)).select_related("by", "device", "store")
    asked = asked.filter(at__gte=since) if since else asked
    asked = asked.filter(at__lt=until) if until else asked
    return [_refusal(attempt) for attempt in asked[:MOST_ATTEMPTS]]


def _labels(item: UUID) -> list[str]:
    return list(Label.objects.filter(item=item).values_list("code", flat=True))


def _refusal(attempt: Attempt) -> Line:
    reasons = "; ".join(_reason(code) for code in attempt.codes)
    words = {
        "handed_out": _("Handing it out was refused: %(why)s."),
        "returned": _("Taking it back was refused: %(why)s."),
    }.get(attempt.verb, _("Refused: %(why)s."))
    place = _written_on(attempt.device) or (attempt.store.name if attempt.store else "")
    return Line(
        attempt.at, words % {"why": reasons}, "no", name(attempt.by), place, extra=_("not in the book")
    )
