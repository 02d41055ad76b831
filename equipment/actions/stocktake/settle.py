"""A surprise of a stocktake is settled by one choice, which becomes a line of the book; and opened again."""

from collections.abc import Iterable
from uuid import UUID

from django.utils.translation import gettext as _

from crews import policy
from crews.models import User
from equipment.actions.stocktake.begin import StockPen, ended, locked
from equipment.actions.stocktake.correct import DO, Case, Said, checked, state_of
from equipment.actions.undo import last_line, undo
from equipment.actions.wording import NotDone
from equipment.actions.writing import Pen
from equipment.domain.stocktake import MISSED, WAYS, Choice
from equipment.domain.verbs import VERBS
from equipment.ledger import writing
from equipment.models import Entry, ItemState, Stocktake, stocktaking


def ways(standing: str, by: User) -> tuple[Choice, ...]:
    """The choices that are open to `by`: whoever takes stock may choose what changes nothing but the stocktake; for
    all else they need the right to that line."""
    return tuple(choice for choice in WAYS.get(standing, ()) if may(choice, by))


def may(choice: Choice, by: User) -> bool:
    """A writing-off is struck by whoever may write off."""
    verb = {"reversed": "written_off", "settled": "seen", "": "seen"}.get(choice.verb, choice.verb)
    return policy.may_act(by, "take_stock") and policy.may_act(by, VERBS[verb].action)


def settle(stocktake: Stocktake, pen: StockPen, item: UUID, name: str, said: Said) -> Choice:
    """Settle one piece. Raises NotDone where it cannot be done so; then nothing is written."""
    with writing():
        own = open_one(stocktake)
        line = stocktaking.count(own, [item]).lines.get(item)
        choice = next(
            (each for each in ways(line.standing if line else "", pen.by) if each.name == name), None
        )
        if line is None or choice is None:
            raise NotDone(
                _("It has been settled meanwhile, or has explained itself. Look at the list again.")
            )
        DO[name](Case(pen, line, state_of(item), said))
    return choice


def all_missing(stocktake: Stocktake, pen: StockPen, items: Iterable[UUID]) -> int:
    """Mark these missing, but for those that somebody has seen or settled meanwhile; how many it were."""
    done = 0
    with writing():
        left = stocktaking.count(open_one(stocktake), items).having("left")
        for line in left if may(MISSED, pen.by) else ():
            settle(stocktake, pen, line.item, MISSED.name, Said())
            done += 1
    return done


def open_one(stocktake: Stocktake) -> Stocktake:
    """The stocktake, locked. Raises NotDone where it has ended."""
    own = locked(stocktake)
    if own.ended_at is not None:
        raise NotDone(ended(own))
    return own


def open_again(stocktake: Stocktake, pen: StockPen, item: UUID) -> None:
    """Take back what settled the piece. Raises NotDone where more has happened to it since."""
    with writing():
        own = open_one(stocktake)
        line = stocktaking.count(own, [item]).lines.get(item)
        if line is None or line.settled is None or line.standing != "settled":
            raise NotDone(_("It is open again already."))
        state = state_of(item)
        checked(undo(pen, state, line.settled.entry), state.tag)
        if line.settled.said == "not_gone":
            _gone_again(own, pen, state)


def _gone_again(own: Stocktake, pen: StockPen, state: ItemState) -> None:
    """Take back how it came here too. What is struck stays struck, so the writing-off is written once more, as it was
    and of when it was; it is no line of the stocktake."""
    mine = Entry.objects.filter(item=state.item_id, act=own.pk)
    came = last_line(state.item_id)
    if came and came.act == own.pk and came.verb in ("found", "returned", "moved"):
        checked(undo(pen, state, came.pk), state.tag)
    struck = mine.filter(verb="reversed").values_list("detail", flat=True)
    named = {UUID(each["entry"]) for each in struck}
    before = Entry.objects.filter(pk__in=named, verb="written_off").select_related("written_note")
    last = before.order_by("-happened_at", "-id").first()
    if last is None:
        raise NotDone(_("There is no such line any more. Look at the list again."))
    note = getattr(getattr(last, "written_note", None), "text", "")
    own_pen = Pen(pen.by, pen.store, pen.at)
    fields = {"item": state.item_id, "crew": last.crew_id, "detail": dict(last.detail), "note": note}
    draft = own_pen.draft("written_off", happened_at=last.happened_at, **fields)
    checked(own_pen.record([draft], "note").outcomes[0], state.tag)
