"""What can be done with a piece, as forms; and what becomes of one that was sent."""

from collections.abc import Iterable
from dataclasses import dataclass

from django.contrib import messages
from django.core.exceptions import PermissionDenied
from django.http import Http404, HttpRequest

from crews.models import Store, User
from equipment.actions.sensible import Senseless
from equipment.actions.shrink_photo import PhotoRefused
from equipment.actions.undo import last_line
from equipment.actions.wording import NotDone, filled, refusal
from equipment.domain.verbs import VERBS
from equipment.ledger import Outcome
from equipment.pages import places
from equipment.pages.acts import ItemAct, makes_sense, may
from equipment.pages.item_acts import ACTS
from equipment.pages.item_forms import NoteForm
from equipment.pages.piece import Asked, Piece
from equipment.pages.telling import Teller


@dataclass(frozen=True)
class Offer:
    """Something that can be done here: the act, its form, and the question that comes before it. `last` is the line of
    the book that it would take back."""

    act: ItemAct
    form: NoteForm
    ask: str
    last: str = ""

    @property
    def about(self) -> str:
        return self.form.asked.about

    @property
    def opens(self) -> bool:
        """Whether something in it was wrong when it was sent."""
        return bool(self.form.errors)


class Bygone(Exception):
    """What was asked for makes no sense any more; the message says why, in the reader's language."""


def offers(user: User, piece: Piece, bound: NoteForm | None = None) -> list[Offer]:
    """All that this person may do with it now; `bound` is the form that was sent and could not be done."""
    found = []
    for act in ACTS.values():
        if act.name == "move" and Store.objects.count() < 2:
            continue
        for about in act.about(piece):
            asked = Asked(act.name, user, piece, about)
            if bound is not None and bound.asked.id == asked.id:
                found.append(_offer(act, bound))
            elif makes_sense(act, asked) and may(act, asked):
                found.append(_offer(act, act.form(None, asked)))
    return found


def about(found: Iterable[Offer], subject: str, key: str) -> list[Offer]:
    """Those about one fault or checklist."""
    return [offer for offer in found if offer.act.key == key and offer.about == subject]


def _offer(act: ItemAct, form: NoteForm) -> Offer:
    state, what = form.state, ""
    if act.name == "undo" and (last := last_line(state.item_id)):
        what = Teller([last]).tell(last)
        form.initial["entry"] = last.pk
    return Offer(act, form, str(act.ask) % {"tag": state.tag, "what": what} if act.ask else "", what)


def sent(request: HttpRequest, piece: Piece, name: str) -> tuple[NoteForm, Outcome | None]:
    """Do what the form asks for; `name` is one of ACTS. The outcome is None where nothing was recorded, and the form
    says why. Raises PermissionDenied; Bygone where it is done with meanwhile; Http404 for what never was."""
    act = ACTS[name]
    asked = Asked(act.name, request.user, piece, request.POST.get(act.key, "") if act.key else "")  # type: ignore[arg-type]
    if act.key and asked.about not in act.about(piece):
        raise _nothing_of_it(act, piece)
    if not may(act, asked):
        raise PermissionDenied
    form = act.form(request.POST, asked, request.FILES)
    outcome = _do(act, form) if form.is_valid() else None
    if outcome is not None:
        _tell(request, act, outcome)
    return form, outcome


def _nothing_of_it(act: ItemAct, piece: Piece) -> Exception:
    if act.key == "fault":
        return Bygone(refusal("not_faulty", {"tag": piece.row.tag}))
    return Http404()


def _do(act: ItemAct, form: NoteForm) -> Outcome | None:
    try:
        outcome = act.do(form.user, form.state, form.cleaned_data)
    except PhotoRefused as why:
        form.add_error("photo", str(why))
        return None
    except (NotDone, Senseless) as why:
        form.add_error(None, str(why))
        return None
    if outcome.recorded:
        return outcome
    state = form.state
    params = {
        "tag": state.tag,
        "store": state.store_id,
        "who": places.holder(state.picker, state.crew) or None,
    }
    form.add_error(None, " ".join(refusal(code, params) for code in outcome.codes))
    return None


def _tell(request: HttpRequest, act: ItemAct, outcome: Outcome) -> None:
    """In words what became of it; a cleaning that does not count says why."""
    tag = outcome.state.tag
    if outcome.codes:
        said = " ".join(refusal(code, {"tag": tag}) for code in outcome.codes)
        messages.warning(request, f"{tag}: {said}")
    else:
        messages.success(request, filled(VERBS[act.verb].say, {"tag": tag}))
