"""The farm as the simulation sees it: small things in memory that follow what it writes, read once at the start."""

from collections import defaultdict
from collections.abc import Iterable, Iterator, Sequence
from dataclasses import KW_ONLY, dataclass, field
from datetime import date
from uuid import UUID

from crews import policy
from crews.models import Block, Crew, Picker, Store, User
from equipment.actions.references import SIZES
from equipment.models import ItemState, Kind, Membership

# Cleaned before every use; washed before another picker wears it.
STERILE = ("clippers",)
OWN = ("goggles", "overalls", "gumboots")


@dataclass(slots=True, eq=False)
class Piece:
    """A tagged piece. `holder` while it is out; `usual` whose it usually is; `since` the day it went out, counted from
    the season's first; `faults` those that stop its use; `used_by` who had it first since it was cleaned, `void` where
    that cleaning did not count; `waits` for somebody to pass it after a mend; `days_used` since it was new or mended,
    the last of them `used_on`."""

    id: UUID
    tag: str
    kind: str
    store: str
    size: str
    hand: str
    place: str = "store"
    holder: "Person | Team | None" = None
    usual: "Person | None" = None
    packed: bool = False
    since: int = 0
    make: str = ""
    faults: list[str] = field(default_factory=list)
    cleaned: date | None = None
    inspected: dict[str, date] = field(default_factory=dict)
    used_by: "Person | None" = None
    void: bool = False
    wet: bool = False
    waits: bool = False
    days_used: int = 0
    used_on: int = -1

    @property
    def lies_free(self) -> bool:
        """Nobody has it, nothing is wrong with it, and it is clean as its kind must be."""
        return self.place == "store" and not self.packed and not self.faults and self.clean

    @property
    def clean(self) -> bool:
        return not self.void and not self.wet and (self.kind not in STERILE or self.used_by is None)

    def suits(self, person: "Person") -> bool:
        """Whether this picker may wear it unwashed."""
        return self.kind not in OWN or self.used_by in (None, person)


@dataclass(slots=True, eq=False)
class Holder:
    """Whoever can hold gear, by kind. A kind that comes back at the season's end stays with them."""

    _: KW_ONLY
    held: dict[str, list[Piece]] = field(default_factory=lambda: defaultdict(list))

    def pieces(self) -> list[Piece]:
        return [piece for pieces in self.held.values() for piece in pieces]


@dataclass(slots=True, eq=False)
class Person(Holder):
    """`team` stays that of a picker who has left; `usual` is what they usually carry, by kind; `set` what is packed for
    them under `set_tag`."""

    picker: Picker
    team: "Team"
    usual: dict[str, Piece] = field(default_factory=dict)
    set: list[Piece] = field(default_factory=list)
    set_tag: str = ""

    def holds(self, kinds: Iterable[str]) -> bool:
        return any(self.held.get(kind) for kind in kinds)

    def wants(self, kind: Kind) -> dict[str, str]:
        """The size and hand this picker needs of a kind; "" where it does not matter."""
        size = getattr(self.picker, SIZES[kind.pk]) if kind.pk in SIZES else ""
        return {"size": size, "hand": self.picker.hand if kind.hands else ""}


@dataclass(slots=True, eq=False)
class Team(Holder):
    crew: Crew
    people: list[Person] = field(default_factory=list)

    @property
    def code(self) -> str:
        return self.crew.pk


@dataclass(frozen=True, slots=True)
class Weak:
    """A make whose `fault` comes so many `times_as_often` as on others of its kind; where it `wears`, that grows by
    this power of the days that the piece was used."""

    kind: str
    make: str
    fault: str
    times_as_often: float
    wears: float = 0


@dataclass(slots=True)
class Farm:
    """`writers` are the storemen, by store; `planner` whoever makes the day plans; `weak` are the kinds, makes and
    faults that wear out sooner than their like, and how often."""

    stores: list[str]
    teams: list[Team]
    pieces: list[Piece]
    kinds: dict[str, Kind]
    blocks: list[Block]
    writers: dict[str, User]
    planner: User
    mender: User
    officer: User
    gone: list[Person] = field(default_factory=list)
    weak: Sequence[Weak] = ()
    shelf: dict[tuple[str, str], list[Piece]] = field(default_factory=dict)

    def __post_init__(self) -> None:
        for piece in self.pieces:
            self.shelf.setdefault((piece.store, piece.kind), []).append(piece)

    def people(self) -> list[Person]:
        return [person for team in self.teams for person in team.people]

    def free(self, store: str, kind: str) -> Iterator[Piece]:
        return (piece for piece in self.shelf.get((store, kind), ()) if piece.lies_free)

    def give(self, piece: Piece, to: "Person | Team", day: int) -> None:
        self._let_go(piece)
        piece.place = "picker" if isinstance(to, Person) else "crew"
        piece.holder, piece.packed, piece.since = to, False, day
        if isinstance(to, Person) and piece.used_on != day:
            piece.days_used, piece.used_on = piece.days_used + 1, day
        if isinstance(to, Person) and piece.used_by is None:
            piece.used_by = to
        elif isinstance(to, Person) and piece.used_by is not to and piece.kind in OWN:
            piece.void = True
        to.held[piece.kind].append(piece)

    def put(self, piece: Piece, store: str) -> None:
        """Into `store`, wherever the piece was."""
        self._let_go(piece)
        piece.place, piece.packed = "store", False
        if piece.store != store:
            self.shelf[piece.store, piece.kind].remove(piece)
            self.shelf.setdefault((store, piece.kind), []).append(piece)
            piece.store = store

    def lose(self, piece: Piece, place: str) -> None:
        """Missing, gone, or in the orchard: with nobody in particular, and on no shelf."""
        self._let_go(piece)
        piece.place, piece.packed = place, False

    def _let_go(self, piece: Piece) -> None:
        if piece.holder is not None:
            piece.holder.held[piece.kind].remove(piece)
            piece.holder = None


def read() -> Farm:
    """The farm as it stands. Raises ValueError where there is nothing to simulate a season with."""
    stores = list(Store.objects.order_by("pk").values_list("pk", flat=True))
    teams = {crew.pk: Team(crew=crew) for crew in Crew.objects.filter(active=True).order_by("name")}
    for row in Membership.objects.current().select_related("picker").order_by("picker__number"):
        if team := teams.get(row.crew_id):
            team.people.append(Person(picker=row.picker, team=team))
    states = ItemState.objects.filter(place="store").select_related("item").order_by("tag")
    pieces = [
        Piece(
            row.item_id,
            row.tag,
            row.item.kind_id,
            str(row.store_id),
            row.item.size,
            row.item.hand,
            make=row.item.make,
        )
        for row in states
    ]
    blocks = list(Block.objects.order_by("pk"))
    manned = [team for team in teams.values() if team.people]
    if not (manned and pieces and blocks):
        raise ValueError("A season needs crews with pickers, blocks and gear. Import them first.")
    writers = {store: _user(policy.STOREMAN, store) for store in stores}
    planner = _user(policy.MANAGER, None)
    mender, officer = _user(policy.MENDER, None), _user(policy.OFFICER, None)
    return Farm(stores, manned, pieces, Kind.objects.in_bulk(), blocks, writers, planner, mender, officer)


def _user(role: str, store: str | None) -> User:
    """Somebody of that role, of that store if there is one. Raises ValueError."""
    users = User.objects.filter(groups__name=role, is_active=True).order_by("pk")
    if found := users.filter(store=store).first() or users.first() or User.objects.order_by("pk").first():
        return found
    raise ValueError(f"A season needs a user with the role {role}.")
