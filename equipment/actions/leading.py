"""Which crews somebody leads, and when: their own, and those that they took over, until another takes them over."""

from collections.abc import Iterable
from dataclasses import dataclass
from datetime import datetime
from uuid import UUID

from crews import policy
from crews.models import Crew, FormerLead, User
from equipment.models import Entry

NO_DEVICE = UUID(int=0)


@dataclass(frozen=True, slots=True)
class Moment:
    """When something was written: at a time, as the `seq`th line of a device. A device's own count says more of its
    order than its clock, which may have been set back meanwhile."""

    at: datetime
    device: UUID
    seq: int

    def before(self, other: "Moment") -> bool:
        if self.device == other.device:
            return self.seq <= other.seq
        return self.at <= other.at


@dataclass(frozen=True, slots=True)
class Taking:
    """A `taken_over` line."""

    crew: str
    by: int
    when: Moment


@dataclass(frozen=True, slots=True)
class Leading:
    """`own` are the crews that the user is the supervisor of, `former` those that they were it of, each until when;
    `takings` all that was written of the others that they ever took over."""

    user: int | None = None
    own: frozenset[str] = frozenset()
    takings: tuple[Taking, ...] = ()
    former: tuple[tuple[str, datetime], ...] = ()

    def at(self, when: Moment) -> frozenset[str]:
        """The crews they led then."""
        crews = {taking.crew for taking in self.takings}
        former = {crew for crew, until in self.former if when.at < until}
        return self.own | former | {crew for crew in crews if self._took_over(crew, when)}

    def _took_over(self, crew: str, when: Moment) -> bool:
        before = [t for t in self.takings if t.crew == crew and t.when.before(when)]
        last = max(before, key=lambda t: (t.when.at, t.when.device, t.when.seq), default=None)
        return last is not None and last.by == self.user


def leading(user: User | None, taking: Iterable[Taking] = ()) -> Leading:
    """`taking` are lines that are about to be written. Asked only of a supervisor: three queries, four where they
    took crews over."""
    if user is None or policy.SUPERVISOR not in user.roles:
        return Leading()
    own = frozenset(Crew.objects.filter(supervisor=user).values_list("pk", flat=True))
    former = tuple(FormerLead.objects.filter(user=user).values_list("crew", "until"))
    return Leading(user.pk, own, (*_written(user), *taking), former)


def leads(user: User, at: datetime) -> frozenset[str]:
    """The crews that a supervisor leads at `at`, as far as the book knows."""
    return leading(user).at(Moment(at, NO_DEVICE, 0))


def _written(user: User) -> list[Taking]:
    lines = Entry.objects.filter(verb="taken_over", item=None)
    crews = lines.filter(by=user).values("crew")
    columns = "pk", "crew", "by", "happened_at", "device", "device_seq"
    rows = list(lines.filter(crew__in=crews).values_list(*columns))
    struck = _struck({crew for _, crew, *_ in rows})
    return [Taking(crew, by, Moment(*when)) for own, crew, by, *when in rows if own not in struck]


def _struck(crews: Iterable[str | None]) -> set[UUID]:
    crews = list(crews)
    if not crews:
        return set()
    lines = Entry.objects.filter(verb="reversed", item=None, lot=None, crew__in=crews)
    return {UUID(detail["entry"]) for detail in lines.values_list("detail", flat=True)}
