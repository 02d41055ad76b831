"""May this person, on this device, record this entry? The policy says by role; a supervisor acts for the crews that
they led when it happened.

A note tells what has happened already. So a supervisor may tell, of their own crew, that it was lent a picker, given
a spare by another crew, or that it found a piece, though none of them was theirs before.
"""

from uuid import UUID

from django.utils import timezone

from crews import policy
from crews.models import Device
from equipment.actions.batch import Batch
from equipment.actions.leading import Moment
from equipment.actions.readable import Readable, Refused, code_of
from equipment.actions.references import References
from equipment.domain.verbs import VERBS
from equipment.models import Entry, rules
from equipment.models.projections import folded_item

# Notes that a crew may tell of what was another's until then: a picker who is lent to it, a piece that it finds.
TOLD_OF_OTHERS = frozenset({"joined", "found"})


def check(batch: Batch, entry: Readable, found: References) -> None:
    """Raises Refused with no_right, for a phone that was taken off the list with the word `revoked`. What an officer
    vouches for needs no other right."""
    device: Device = batch.device
    if device.kind in (Device.Kind.SERVER, Device.Kind.PAPER):
        raise Refused("no_right")
    if batch.vouched:
        return
    if device.revoked_at is not None:
        raise Refused("no_right", revoked=True)
    if device.owner_id not in (None, batch.by.pk):
        raise Refused("no_right")
    # What is told afterwards may be of the store that the phone or counter stood in then.
    if batch.strictness == "hold" and device.store_id not in (None, batch.store):
        raise Refused("no_right")
    if not all(policy.may_act(batch.by, action) for action in _actions(entry, found)):
        raise Refused("no_right")
    if entry.verb.name == "released" and not _may_release(batch, entry):
        raise Refused("no_right")
    if _of_no_crew(entry) or _names_nobody_known(entry, found):
        return
    if policy.only_own_crews(batch.by, policy.ACTIONS[entry.verb.action]):
        own = found.leading.at(Moment(entry.happened_at, device.pk, entry.raw.device_seq))
        if not _concerned(entry, found, own, notes=batch.strictness == "note") <= own:
            raise Refused("no_right")


def _of_no_crew(entry: Readable) -> bool:
    """Baths and lots belong to no crew, and who takes a crew over does not lead it yet."""
    return entry.verb.family in ("bath", "lot") or entry.verb.name == "taken_over"


def _names_nobody_known(entry: Readable, found: References) -> bool:
    """Whether it names what is not known, and is refused for that: when it appears, its rights are looked at."""
    raw = entry.raw
    if raw.item and entry.verb.name != "registered" and code_of(raw.item) not in found.items:
        return True
    if raw.crew and code_of(raw.crew) not in found.crews:
        return True
    cards = [code for text in (raw.picker, entry.detail.get("from")) if text and (code := code_of(text))]
    day = timezone.localdate(entry.happened_at)
    return any(code not in found.crews and found.loan(code, day) is None for code in cards)


def _may_release(batch: Batch, entry: Readable) -> bool:
    if policy.OFFICER in batch.by.roles or batch.by.is_superuser:
        return True
    return rules.rules_at(entry.happened_at).fault(entry.detail["fault"]).released_by != "officer"


def _actions(entry: Readable, found: References) -> list[str]:
    """The verb's own action and, to take an entry back, also the action it belongs to."""
    if entry.verb.name != "reversed":
        return [entry.verb.action]
    undone = found.verbs.get(UUID(entry.detail["entry"]))
    return [entry.verb.action, *([VERBS[undone].action] if undone in VERBS else [])]


def _concerned(entry: Readable, found: References, own: frozenset[str], *, notes: bool) -> set[str | None]:
    """The crews that an entry concerns: named, the picker's, the one that gives the item away, the one that has it.

    {None} where it concerns none: that is nobody's own.
    """
    raw = entry.raw
    concerned: set[str | None] = {code_of(raw.crew)} if raw.crew else set()
    if notes and concerned and entry.verb.name in TOLD_OF_OTHERS:
        return concerned
    for badge in (raw.picker, entry.detail.get("from")):
        if not badge or not (code := code_of(badge)):
            continue
        if code not in found.crews:
            concerned.add(_crew_of_card(code, entry, found))
        elif not notes:
            concerned.add(code)
    if raw.item and entry.verb.name != "handed_out":
        concerned.add(_crew_that_has(entry, found, own))
    return concerned or {None}


def _crew_of_card(badge: str, entry: Readable, found: References) -> str | None:
    loan = found.loan(badge, timezone.localdate(entry.happened_at))
    return found.crew_then(loan, entry.happened_at)[0] if loan else None


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
    if then in own:
        return then
    holder = folded_item(state).state.picker
    lent_to = found.crew_of(holder, entry.happened_at) if holder is not None else None
    return lent_to if lent_to in own else state.crew_id
