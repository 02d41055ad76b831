"""The farm's rules as versions: each from a time on, by somebody, for a reason; never changed and never deleted.

The rules at a moment are, for each subject, the row that began last, and of those that began together the one written
last. They are asked for at every scan, so they are kept in the process by their version, which is the highest id: rows
up to a version never change once they are committed. Those that this connection has written and not yet committed are
kept apart, under a mark that goes when the transaction is rolled back: their ids may be used again.
"""

from bisect import bisect_right
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, field
from datetime import datetime
from functools import cache
from typing import Any, NoReturn, Self

from django.conf import settings
from django.db import connection, models, transaction
from django.db.models import Max, Min, Q

from equipment import catalogue
from equipment.catalogue import rules as subjects
from equipment.catalogue.whole import Catalogue
from equipment.domain.rules import NO_RULES, Rules

SUBJECT_LENGTH = 100
WHY_LENGTH = 500
KEPT_VERSIONS = 8


class RuleQuerySet(models.QuerySet["Rule"]):
    def in_force(self, at: datetime) -> dict[str, "Rule"]:
        """Subject -> its row at `at`. One query."""
        return {row.subject: row for row in self.filter(from_at__lte=at).order_by("from_at", "id")}

    def of(self, subject: str) -> Self:
        """All rows of a subject, that which begins last first."""
        return self.filter(subject=subject).order_by("-from_at", "-id")

    def update(self, **values: Any) -> NoReturn:
        raise TypeError("A rule is never changed: write a new version.")

    def delete(self) -> NoReturn:
        raise TypeError("A rule is never deleted: write a new version.")


class Rule(models.Model):
    """One version of one rule; its id is the version's number. `by` None: the catalogue. Only `write` inserts."""

    subject = models.CharField(max_length=SUBJECT_LENGTH)
    values = models.JSONField(default=dict)
    from_at = models.DateTimeField()
    by = models.ForeignKey(
        settings.AUTH_USER_MODEL, models.PROTECT, null=True, related_name="+", db_index=False
    )
    why = models.CharField(max_length=WHY_LENGTH, blank=True)
    recorded_at = models.DateTimeField()

    objects = RuleQuerySet.as_manager()

    class Meta:
        constraints = [
            models.CheckConstraint(condition=Q(by=None) | ~Q(why=""), name="a_rule_of_the_farm_says_why")
        ]
        indexes = [models.Index(fields=["subject", "from_at"], name="versions_of_a_rule")]

    def __str__(self) -> str:
        return f"{self.subject} ({self.pk})"

    def save(self, *args: Any, **kwargs: Any) -> None:
        if not self._state.adding:
            raise TypeError("A rule is never changed: write a new version.")
        write([self])

    def delete(self, *args: Any, **kwargs: Any) -> NoReturn:
        raise TypeError("A rule is never deleted: write a new version.")


@cache
def whole() -> Catalogue:
    """The catalogue, read once."""
    return catalogue.load()


@cache
def subjects_known() -> Mapping[str, subjects.Row]:
    """Every subject that there can be a rule of, with its row of the catalogue, in the order of the files."""
    return subjects.rows(whole())


class FollowedRules(models.Model):
    """One row: up to when the states of the gear follow versions that were set ahead."""

    at = models.DateTimeField()

    def __str__(self) -> str:
        return f"up to {self.at}"


def version() -> int:
    """The newest version, 0 where there is no rule. One query."""
    return Rule.objects.aggregate(newest=Max("id"))["newest"] or 0


def rules_at(at: datetime, version: int | None = None) -> Rules:
    """The rules in force at `at`. `version` is the newest one, where the caller has read it already: then no query is
    made for what this process has met before."""
    newest = _newest() if version is None else version
    return _versions(newest).at(at) if newest else NO_RULES


def next_change(after: datetime) -> datetime | None:
    """When the next version begins, later than `after`; None where none is waiting. One query."""
    found: datetime | None = Rule.objects.filter(from_at__gt=after).aggregate(at=Min("from_at"))["at"]
    return found


def write(rows: Sequence[Rule]) -> None:
    """Write new versions down. One writer at a time: what is read up to a version must hold all versions up to it."""
    if not rows:
        return
    with transaction.atomic():
        if connection.vendor == "postgresql":
            with connection.cursor() as cursor:
                cursor.execute(f"LOCK TABLE {Rule._meta.db_table} IN SHARE ROW EXCLUSIVE MODE")
        Rule.objects.bulk_create(rows)
        transaction.on_commit(_Mark())


def forget() -> None:
    """Keep nothing more of what was read: for a database that was emptied, or put back from a copy."""
    _kept.clear()


_newest = version


class _Mark:
    """Stands among the connection's callbacks until what it wrote is committed; a rollback takes it away."""

    def __call__(self) -> None:
        pass


@dataclass(frozen=True, slots=True)
class _Versions:
    """All rows up to a version. The times at which they begin cut time into segments; in each the rules are one."""

    rows: Sequence[tuple[datetime, int, str, dict[str, Any]]]
    edges: Sequence[datetime]
    known: dict[int, Rules] = field(default_factory=dict)

    def at(self, at: datetime) -> Rules:
        segment = bisect_right(self.edges, at)
        if segment not in self.known:
            self.known[segment] = self._assembled(at) if segment else NO_RULES
        return self.known[segment]

    def _assembled(self, at: datetime) -> Rules:
        rows = {subject: (pk, values) for from_at, pk, subject, values in self.rows if from_at <= at}
        values = {subject: values for subject, (_, values) in rows.items()}
        return subjects.assembled(whole(), values, max(pk for pk, _ in rows.values()))


_kept: dict[tuple[int, _Mark | None], _Versions] = {}


def _versions(newest: int) -> _Versions:
    key = newest, _uncommitted()
    found = _kept.get(key)
    if found is None:
        found = _read(newest)
        if len(_kept) >= KEPT_VERSIONS:
            _kept.clear()
        _kept[key] = found
    return found


def _uncommitted() -> _Mark | None:
    """The mark of what this connection wrote last and has not committed."""
    hooks: Iterable[Any] = (hook for _, hook, *_ in reversed(connection.run_on_commit))
    return next((hook for hook in hooks if isinstance(hook, _Mark)), None)


def _read(newest: int) -> _Versions:
    rows = Rule.objects.filter(id__lte=newest).order_by("from_at", "id")
    read = list(rows.values_list("from_at", "id", "subject", "values"))
    return _Versions(read, sorted({from_at for from_at, *_ in read}))
