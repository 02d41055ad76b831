"""The sheet of rules: every rule as a line, in groups, with who set it and what waits."""

from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass
from datetime import datetime

from django.utils.translation import gettext as _
from django.utils.translation import gettext_noop

from equipment.catalogue.rules import Row, defaults, kinds_of, settled
from equipment.catalogue.shapes import CleaningRule, Disease, FaultType, Recipe
from equipment.models import Kind, Rule
from equipment.models.rules import subjects_known
from equipment.pages.crews.fields import who
from equipment.pages.rules import saying

GROUPS = {
    "cleaning": gettext_noop("Cleaning"),
    "inspection": gettext_noop("Inspections"),
    "fault": gettext_noop("Faults"),
    "recipe": gettext_noop("Baths and washes"),
    "disease": gettext_noop("Diseases"),
    "figures": gettext_noop("Figures"),
}


@dataclass(frozen=True, slots=True)
class Version:
    """One version in words. `by` is empty for the catalogue's, `begins` None from the beginning."""

    number: int
    begins: datetime | None
    by: str
    why: str
    says: str


@dataclass(frozen=True, slots=True)
class Line:
    """A rule as it is; `ahead` are versions that wait, the next one first. `strays`: it reads otherwise than the
    catalogue's."""

    subject: str
    name: str
    of: str
    now: Version
    source: str
    ahead: Sequence[Version] = ()
    strays: bool = False
    icon: str = ""
    cautions: Sequence[str] = ()
    row: Row | None = None

    @property
    def slug(self) -> str:
        return slug_of(self.subject)

    @property
    def text(self) -> str:
        """What a search looks through."""
        said = (self.subject, self.name, self.of, self.now.says, self.source, self.now.by, *self.cautions)
        return " ".join(said).casefold()


@dataclass(frozen=True, slots=True)
class Group:
    """`parts` are lines under a smaller heading, "" for none."""

    code: str
    name: str
    parts: Sequence[tuple[str, Sequence[Line]]]

    @property
    def count(self) -> int:
        return sum(len(lines) for _, lines in self.parts)


def slug_of(subject: str) -> str:
    return subject.replace(" ", "-")


def subject_of(slug: str) -> str:
    return slug.replace("-", " ")


def lines(at: datetime, subject: str | None = None) -> list[Line]:
    """Every rule that has begun, or that of `subject`, in the order of the catalogue. Two queries."""
    rows = Rule.objects.select_related("by").order_by("from_at", "id")
    kept: dict[str, list[Rule]] = {}
    for rule in rows.filter(subject=subject) if subject else rows:
        kept.setdefault(rule.subject, []).append(rule)
    kinds = {kind.code: kind for kind in Kind.objects.all()}
    found = (_line(known, row, kept.get(known, ()), at, kinds) for known, row in subjects_known().items())
    return [line for line in found if line is not None]


def _line(
    subject: str, row: Row, rules: Sequence[Rule], at: datetime, kinds: Mapping[str, Kind]
) -> Line | None:
    begun = [rule for rule in rules if rule.from_at <= at]
    if not begun:
        return None
    now = begun[-1]
    of = [kinds[code] for code in kinds_of(row) if code in kinds]
    return Line(
        subject,
        name_of(row, kinds),
        ", ".join(_(kind.name) for kind in of),
        version(row, now),
        source_of(row),
        [version(row, rule) for rule in rules if rule.from_at > at],
        settled(row, now.values) != defaults(row),
        of[0].icon if len(of) == 1 else "",
        cautions(row),
        row,
    )


def version(row: Row, rule: Rule) -> Version:
    by_catalogue = rule.by_id is None and rule.from_at.year == 1970
    says = saying.say(row, settled(row, rule.values))
    return Version(rule.pk, None if by_catalogue else rule.from_at, who(rule.by), rule.why, says)


def name_of(row: Row, kinds: Mapping[str, Kind]) -> str:
    if isinstance(row, CleaningRule):
        kind = kinds.get(row.kind)
        words = {"kind": _(kind.name) if kind else row.kind, "method": _(saying.METHODS[row.method])}
        return _("%(kind)s: %(method)s") % words
    return _(row.name)


def source_of(row: Row) -> str:
    """Of a disease also where what ends it comes from."""
    ends = [way.source for way in row.clears] if isinstance(row, Disease) else []
    return "; ".join(dict.fromkeys(source for source in (row.source, *ends) if source))


def cautions(row: Row) -> tuple[str, ...]:
    """Of a recipe, those of its own and of its agent: they stand beside it always."""
    if not isinstance(row, Recipe):
        return ()
    return tuple(_(caution) for caution in (*row.cautions, *saying.agent(row.agent).cautions))


def groups(found: Iterable[Line], asked: str = "") -> list[Group]:
    """The groups that hold a line with every word of `asked`, in order."""
    wanted = asked.casefold().split()
    hit = [line for line in found if all(word in line.text for word in wanted)]
    return [
        Group(code, _(name), list(_parts([line for line in hit if line.subject.startswith(f"{code} ")])))
        for code, name in GROUPS.items()
        if any(line.subject.startswith(f"{code} ") for line in hit)
    ]


def _parts(found: Sequence[Line]) -> Iterator[tuple[str, Sequence[Line]]]:
    """Faults by the kind that they are found on; all else together."""
    if not found or not isinstance(found[0].row, FaultType):
        yield "", found
        return
    parts: dict[str, list[Line]] = {}
    for line in found:
        kinds = kinds_of(line.row) if line.row else ()
        several = _("Several kinds") if kinds else _("Every kind")
        parts.setdefault(line.of if len(kinds) == 1 else several, []).append(line)
    yield from parts.items()
