"""A new label for an item whose old one is lost or cannot be read any more; the old code still finds it."""

from django.utils.translation import gettext as _

from equipment.actions.appeared import appeared
from equipment.actions.register import free_tags
from equipment.actions.wording import NotDone, filled
from equipment.actions.writing import Pen
from equipment.domain import codes
from equipment.ledger import Outcome
from equipment.models import ItemState, Label


def retag(pen: Pen, state: ItemState, tag: str = "", note: str = "") -> Outcome:
    """Give the item the label `tag`, or the next free code of its kind. Raises NotDone where the label will not do."""
    new = _checked(tag) if tag.strip() else free_tags(state.item.kind, 1)[0]
    draft = pen.draft("retagged", item=state.item_id, crew=state.crew_id, detail={"tag": new}, note=note)
    outcome = pen.record([draft]).outcomes[0]
    appeared([new])
    return outcome


def _checked(text: str) -> str:
    try:
        code = codes.parse(text)
    except codes.BadCode as error:
        raise NotDone(filled(error.message, error.params)) from None
    if code.prefix in codes.NOT_ON_ITEMS:
        raise NotDone(_("%(tag)s is not a label for an item. Take one that is.") % {"tag": code.text})
    if Label.objects.filter(pk=code.text).exists():
        raise NotDone(_("%(tag)s has been on an item before. Take a fresh label.") % {"tag": code.text})
    return code.text
