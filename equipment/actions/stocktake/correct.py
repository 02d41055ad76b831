"""What each choice of a stocktake writes: one line, by the action that anybody else would do it with."""

from collections.abc import Callable, Mapping
from dataclasses import dataclass, field
from uuid import UUID

from django.utils import timezone
from django.utils.translation import gettext as _

from crews.models import BadgeLoan, Crew, Store
from equipment.actions.crew_then import crew_of
from equipment.actions.find import find
from equipment.actions.miss import miss
from equipment.actions.move import move
from equipment.actions.stocktake.begin import StockPen
from equipment.actions.take_back import take_back
from equipment.actions.wording import NotDone, filled, refusal
from equipment.actions.write_off import write_off
from equipment.domain import codes
from equipment.domain.stocktake import LYING, key
from equipment.ledger import Outcome
from equipment.models import Entry, ItemState
from equipment.models.stocktaking import Line


@dataclass(frozen=True, slots=True)
class Said:
    """What a person filled in: `who` a badge or a crew's tag, `to` a store's code, `circumstance` of a writing-off."""

    who: str = ""
    to: str = ""
    circumstance: str = ""
    note: str = ""


@dataclass(frozen=True, slots=True)
class Case:
    pen: StockPen
    line: Line
    state: ItemState
    said: Said = field(default=Said())


def checked(outcome: Outcome, tag: str) -> None:
    """Raises NotDone with what the book says against it."""
    if not outcome.recorded:
        raise NotDone(" ".join(refusal(code, {"tag": tag, **_shown(outcome)}) for code in outcome.codes))


def _shown(outcome: Outcome) -> Mapping[str, str]:
    store = getattr(outcome.state, "store", None)
    return {"store": store} if store else {}


def state_of(item: UUID) -> ItemState:
    return ItemState.objects.select_related("item__kind").get(pk=item)


def _missed(case: Case) -> None:
    checked(miss(case.pen, case.state, case.said.note), case.state.tag)


def _taken_back(case: Case) -> None:
    checked(take_back(case.pen, case.state, note=case.said.note), case.state.tag)


def _found(case: Case) -> None:
    checked(find(case.pen, case.state, note=case.said.note), case.state.tag)


def _moved_here(case: Case) -> None:
    checked(move(case.pen, case.state, case.pen.store, case.said.note), case.state.tag)


def _lies_there(case: Case) -> None:
    to = case.said.to
    if to == case.pen.store or not Store.objects.filter(pk=to).exists():
        raise NotDone(_("Say in which other store it lies."))
    checked(move(case.pen, case.state, to, case.said.note), case.state.tag)


def _written_off(case: Case) -> None:
    if not case.said.note.strip():
        raise NotDone(_("Write down what happened to it."))
    checked(write_off(case.pen, case.state, case.said.circumstance, case.said.note), case.state.tag)


def _seen(case: Case) -> None:
    note = case.said.note or _("Not scanned: seen by eye.")
    draft = case.pen.draft("seen", item=case.state.item_id, note=note)
    checked(case.pen.record([draft]).outcomes[0], case.state.tag)


def _only_said(choice: str) -> Callable[[Case], None]:
    """What changes nothing but the stocktake: a `settled` line that names the scan."""

    def write(case: Case) -> None:
        named = case.line.seen.entry if case.line.seen else case.state.item_id
        detail = {"key": key(named), "choice": choice}
        draft = case.pen.draft("settled", item=case.state.item_id, detail=detail, note=case.said.note)
        checked(case.pen.record([draft]).outcomes[0], case.state.tag)

    return write


def _given(case: Case) -> None:
    """That somebody has it is a fact: the gate's word on it is kept with the line, and does not stop it."""
    crew, picker = holder(case.said.who)
    draft = case.pen.draft(
        "handed_out", item=case.state.item_id, crew=crew, picker=picker, note=case.said.note
    )
    checked(case.pen.record([draft], "note").outcomes[0], case.state.tag)


def holder(text: str) -> tuple[str, int | None]:
    """The crew and, of a badge, the picker. Raises NotDone where the code names nobody."""
    try:
        code = codes.parse(text)
    except codes.BadCode as error:
        raise NotDone(filled(error.message, error.params)) from None
    if code.prefix == codes.CREW and Crew.objects.filter(pk=code.text).exists():
        return code.text, None
    loan = BadgeLoan.objects.on(timezone.localdate()).filter(badge=code.text).first()
    crew = crew_of(loan.picker_id, timezone.now()) if loan else None
    if loan is None or crew is None:
        raise NotDone(_("%(tag)s is no badge of today, and no crew's tag.") % {"tag": code.text})
    return crew, loan.picker_id


def _not_gone(case: Case) -> None:
    """Strike the writing-off; then the piece is where it was before, and comes from there to here."""
    pen, item, note = case.pen, case.state.item_id, case.said.note
    last = _standing_line(item, "written_off")
    struck = pen.draft("reversed", item=item, detail={"entry": str(last.pk)}, note=note)
    checked(pen.record([struck], "note").outcomes[0], case.state.tag)
    state = state_of(item)
    if state.place == "missing":
        checked(find(pen, state), state.tag)
    elif state.place not in LYING:
        checked(take_back(pen, state), state.tag)
    elif state.store_id != pen.store:
        checked(move(pen, state, pen.store), state.tag)
    _only_said("not_gone")(case)


def _standing_line(item: UUID, verb: str) -> Entry:
    """The last line of that verb that was not taken back."""
    lines = Entry.objects.filter(item=item)
    struck = {UUID(each["entry"]) for each in lines.filter(verb="reversed").values_list("detail", flat=True)}
    last = lines.filter(verb=verb).exclude(pk__in=struck).order_by("-happened_at", "-id").first()
    if last is None:
        raise NotDone(_("There is no such line any more. Look at the list again."))
    return last


DO: Mapping[str, Callable[[Case], None]] = {
    "missed": _missed,
    "seen": _seen,
    "given": _given,
    "written_off": _written_off,
    "lies_there": _lies_there,
    "taken_back": _taken_back,
    "moved_here": _moved_here,
    "found": _found,
    "not_gone": _not_gone,
    **{name: _only_said(name) for name in ("label_twin", "sent_back", "stays_missing", "stays_gone")},
}
