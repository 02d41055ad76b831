"""From the codes in a batch of entries to the rows they name: a few queries, however many entries."""

from collections.abc import Iterable, Mapping
from dataclasses import dataclass, field
from datetime import date, datetime
from uuid import UUID

from crews import policy
from crews.models import Block, Crew, Store, User
from equipment.domain import codes
from equipment.ledger import lock_crews
from equipment.models import Entry, Kind, scans
from equipment.models.scans import ScannedItem, ScannedLoan

SIZES = {"gloves": "glove_size", "glove": "glove_size", "gumboots": "boot_size", "overalls": "overall_size"}


@dataclass(frozen=True, slots=True)
class Asked:
    """The codes that a batch names, each as `normal` writes it (`subjects` are the crews that it writes of); the
    entries that it takes back; who asks; whether as notes."""

    items: frozenset[str] = frozenset()
    badges: frozenset[str] = frozenset()
    crews: frozenset[str] = frozenset()
    blocks: frozenset[str] = frozenset()
    stores: frozenset[str] = frozenset()
    kinds: frozenset[str] = frozenset()
    subjects: frozenset[str] = frozenset()
    undone: frozenset[UUID] = frozenset()
    by: User | None = None
    notes: bool = False


@dataclass(slots=True)
class References:
    """The rows found, by code. `verbs` are those of the entries that the batch takes back; `own_crews` are the crews
    that the one who asks leads, read where that limits them.

    `items` grows while a batch registers new ones, `handed` (item -> when, to which crew) while it hands them out.
    """

    states: Mapping[str, ScannedItem] = field(default_factory=dict)
    items: dict[str, UUID] = field(default_factory=dict)
    loans: Mapping[str, list[ScannedLoan]] = field(default_factory=dict)
    crews: frozenset[str] = frozenset()
    blocks: frozenset[str] = frozenset()
    stores: frozenset[str] = frozenset()
    kinds: frozenset[str] = frozenset()
    verbs: Mapping[UUID, str] = field(default_factory=dict)
    own_crews: frozenset[str] = frozenset()
    died_later: bool = False
    handed: dict[UUID, list[tuple[datetime, str]]] = field(default_factory=dict)

    def loan(self, badge: str, day: date) -> ScannedLoan | None:
        """The loan of `badge` in force on `day`, if the card was alive then; with `died_later`, also on the very day
        it died: a note tells of that morning, before it was lost."""
        for loan in self.loans.get(badge, ()):
            died_on = loan.died_on
            dead = died_on is not None and (died_on < day if self.died_later else died_on <= day)
            if not dead and loan.from_day <= day and (loan.to_day is None or day <= loan.to_day):
                return loan
        return None


def normal(text: str) -> str:
    """A code as the book writes it; what is no made code (a block "n4") just in capitals. Raises codes.WrongCheck."""
    try:
        return codes.parse(text).text
    except codes.NotACode:
        return text.strip().upper()


def find(asked: Asked) -> References:
    """Look everything up; crews first, then the states of items, come locked for writing."""
    lock_crews(asked.subjects)
    states = {row.tag: row for row in scans.items_for_update(sorted(asked.items))}
    return References(
        states=states,
        items={tag: row.item_id for tag, row in states.items()},
        loans=_by_badge(scans.loans(sorted(asked.badges))),
        crews=_known(Crew, asked.crews),
        blocks=_known(Block, asked.blocks),
        stores=_known(Store, asked.stores),
        kinds=_known(Kind, asked.kinds),
        verbs=_verbs(asked.undone),
        own_crews=_own_crews(asked.by),
        died_later=asked.notes,
    )


def _verbs(entries: Iterable[UUID]) -> dict[UUID, str]:
    entries = list(entries)
    return dict(Entry.objects.filter(pk__in=entries).values_list("pk", "verb")) if entries else {}


def _own_crews(user: User | None) -> frozenset[str]:
    limited = user is not None and policy.SUPERVISOR in user.roles
    return (
        frozenset(Crew.objects.filter(supervisor=user).values_list("pk", flat=True))
        if limited
        else frozenset()
    )


def _by_badge(found: Iterable[ScannedLoan]) -> dict[str, list[ScannedLoan]]:
    by_badge: dict[str, list[ScannedLoan]] = {}
    for loan in found:
        by_badge.setdefault(loan.badge_id, []).append(loan)
    return by_badge


def _known(
    model: type[Crew] | type[Block] | type[Store] | type[Kind], wanted: Iterable[str]
) -> frozenset[str]:
    wanted = list(wanted)
    return (
        frozenset(model.objects.filter(pk__in=wanted).values_list("pk", flat=True)) if wanted else frozenset()
    )


def wants(loan: ScannedLoan, item: ScannedItem) -> dict[str, str]:
    """The picker's own size and hand for such an item; "" where not known."""
    size = getattr(loan, SIZES.get(item.kind_id, ""), "")
    return {"size": size, "hand": loan.hand if item.of_a_hand else ""}
