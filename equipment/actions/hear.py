"""A picker is heard on what became of a piece that they had last: their words are the note of the line."""

from uuid import UUID

from django.utils.translation import gettext as _

from crews.models import Picker
from equipment.actions.undo import last_line
from equipment.actions.wording import NotDone
from equipment.actions.writing import Pen
from equipment.ledger import Draft, Outcome, writing
from equipment.models import Entry, ItemState, Note


def hear(pen: Pen, state: ItemState, said: str) -> Outcome:
    """Write down what whoever had the item last says. Raises ValueError where that was no picker, NotDone where
    that is the last line of the item already: the form was sent twice."""
    with writing():
        ItemState.objects.select_for_update(of=("self",)).get(pk=state.pk)
        draft = heard(pen, state, said)
        if _says(last_line(state.item_id), draft):
            raise NotDone(_("These words are in the book already: nothing is written twice."))
        return pen.record([draft]).outcomes[0]


def _says(last: Entry | None, draft: Draft) -> bool:
    if last is None or (last.verb, last.by_id, last.picker_id) != (draft.verb, draft.by, draft.picker):
        return False
    return Note.objects.filter(pk=last.pk, text=draft.note).exists()


def heard(pen: Pen, state: ItemState, said: str, act: UUID | None = None) -> Draft:
    """As `hear`, for an act of several lines."""
    last = had_last(state)
    if last is None:
        raise ValueError("No picker had this piece last: nobody can be heard on it.")
    picker, crew = last
    return pen.draft("heard", item=state.item_id, picker=picker.pk, crew=crew, act=act, note=said)


def had_last(state: ItemState) -> tuple[Picker, str | None] | None:
    """The picker who had the item last, with the crew that they had it in; None where it was nobody, or a crew for
    its spares and shared gear. No query where the item's row says it, else two."""
    if state.picker is not None:
        return state.picker, state.crew_id
    lines = Entry.objects.filter(item=state.item_id)
    undone = lines.filter(verb="reversed").values_list("detail", flat=True)
    struck = [UUID(detail["entry"]) for detail in undone]
    given = lines.filter(verb="handed_out").exclude(pk__in=struck).select_related("picker")
    last = given.order_by("-happened_at", "-device", "-device_seq", "-id").first()
    return (last.picker, last.crew_id) if last and last.picker else None
