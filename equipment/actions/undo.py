"""The last line of an item's life is taken back. It stays in the book, struck, and so does the line that struck it."""

from uuid import UUID

from django.utils.translation import gettext as _

from equipment.actions.wording import NotDone
from equipment.actions.writing import Pen
from equipment.ledger import Outcome
from equipment.models import Entry, ItemState

# Without its `registered` an item would be nothing; `reversed` cannot be reversed.
LASTING = frozenset({"registered", "reversed"})


def last_line(item: UUID) -> Entry | None:
    """The last entry of the item that still counts, if it is one that can be taken back."""
    undone = Entry.objects.filter(item=item, verb="reversed").values_list("detail", flat=True)
    struck = [UUID(detail["entry"]) for detail in undone]
    counting = Entry.objects.filter(item=item).exclude(verb="reversed").exclude(pk__in=struck)
    last = counting.order_by("-happened_at", "-device", "-device_seq", "-id").first()
    return None if last is None or last.verb in LASTING else last


def undo(pen: Pen, state: ItemState, entry: UUID, note: str = "") -> Outcome:
    """Take back `entry`, the last of the item. Raises NotDone where another line has been written meanwhile."""
    last = last_line(state.item_id)
    if last is None or last.pk != entry:
        raise NotDone(_("Another line has been written meanwhile. Look at it, then try again."))
    detail = {"entry": str(entry)}
    draft = pen.draft("reversed", item=state.item_id, crew=state.crew_id, detail=detail, note=note)
    return pen.record([draft]).outcomes[0]
