"""May this person, on this device, record this entry? The policy says by role; a supervisor acts for own crews."""

from uuid import UUID

from django.utils import timezone

from crews import policy
from crews.models import Device
from equipment.actions.batch import Batch
from equipment.actions.crew_then import crew_then
from equipment.actions.readable import Readable, Refused, code_of
from equipment.actions.references import References
from equipment.domain.verbs import VERBS
from equipment.models import Entry


def check(batch: Batch, entry: Readable, found: References) -> None:
    """Raises Refused with no_right."""
    device: Device = batch.device
    if device.revoked_at is not None or device.kind in (Device.Kind.SERVER, Device.Kind.PAPER):
        raise Refused("no_right")
    if device.owner_id not in (None, batch.by.pk):
        raise Refused("no_right")
    if not all(policy.may_act(batch.by, action) for action in _actions(entry, found)):
        raise Refused("no_right")
    if policy.only_own_crews(batch.by, policy.ACTIONS[entry.verb.action]):
        own = found.own_crews
        if not _concerned(entry, found, own) <= own:
            raise Refused("no_right")


def _actions(entry: Readable, found: References) -> list[str]:
    """The verb's own action and, to take an entry back, also the action it belongs to."""
    if entry.verb.name != "reversed":
        return [entry.verb.action]
    undone = found.verbs.get(UUID(entry.detail["entry"]))
    return [entry.verb.action, *([VERBS[undone].action] if undone in VERBS else [])]


def _concerned(entry: Readable, found: References, own: frozenset[str]) -> set[str | None]:
    """The crews that an entry concerns: named, the picker's, the one that gives the item away, the one that has it.

    {None} where it concerns none: that is nobody's own.
    """
    raw = entry.raw
    concerned: set[str | None] = {code_of(raw.crew)} if raw.crew else set()
    for badge in (raw.picker, entry.detail.get("from")):
        if badge and (code := code_of(badge)):
            concerned.add(code if code in found.crews else _crew_of_card(code, entry, found))
    if raw.item and entry.verb.name != "handed_out":
        concerned.add(_crew_that_has(entry, found, own))
    return concerned or {None}


def _crew_of_card(badge: str, entry: Readable, found: References) -> str | None:
    loan = found.loan(badge, timezone.localdate(entry.happened_at))
    return crew_then(loan, entry.happened_at)[0] if loan else None


def _crew_that_has(entry: Readable, found: References, own: frozenset[str]) -> str | None:
    """The crew that has the item now, or had it when the entry happened: a phone may tell of it late, and of how they
    got it in the same batch."""
    state = found.states.get(code_of(entry.raw.item))
    if state is None or state.crew_id in own:
        return state.crew_id if state else None
    handed = Entry.objects.filter(item=state.item_id, verb="handed_out", happened_at__lte=entry.happened_at)
    rows = list(handed.order_by("-happened_at").values_list("happened_at", "crew")[:1])
    rows += [each for each in found.handed.get(state.item_id, ()) if each[0] <= entry.happened_at]
    then = max(rows)[1] if rows else None
    return then if then in own else state.crew_id
