"""Mails the safety officers, and the supervisors who want it, what is overdue and what was let out: each thing once.

It is remembered only after the mail was taken, person by person: what cannot be sent is in the next one. Where the
process dies between the two, somebody reads a thing twice, never not at all.
"""

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from datetime import datetime, timedelta

from django.core.mail import EmailMessage
from django.db.models import Max
from django.utils.translation import gettext as _

from crews import languages, policy
from crews.models import Crew, Store, User
from equipment.actions import digest
from equipment.actions.follow_rules import catch_up
from equipment.models import Kind
from equipment.models.reminders import Late, Reminder, already_told, overdue, overridden

# Who has never been mailed is told of overrides since then.
FIRST_LOOK = timedelta(days=7)


@dataclass(frozen=True, slots=True)
class Mailed:
    """What became of one person's digest: how many things are `new`, the `text` where there are any, and the `problem`
    where it could not be sent."""

    user: User
    new: int
    text: str = ""
    problem: str = ""


def remind(at: datetime, dry_run: bool = False) -> list[Mailed]:
    """One digest a person, in their language, as of `at` (UTC). `dry_run`: say what would be mailed, send and remember
    nothing."""
    catch_up(at)
    late = overdue(at)
    kinds = list(Kind.objects.all())
    places = dict([*Store.objects.values_list("pk", "name"), *Crew.objects.values_list("pk", "name")])
    done = []
    for user in recipients():
        new = list(_new(user, late, at))
        with languages.of(user):
            called = {kind.pk: _(kind.name_plural) for kind in kinds}
            subject, text = (digest.subject(new), digest.body(new, at, called, places)) if new else ("", "")
        problem = "" if dry_run or not new else _send(user, subject, text)
        if new and not dry_run and not problem:
            _remember(user, new, at)
        done.append(Mailed(user, len(new), text, problem))
    return done


def recipients() -> list[User]:
    """The officers, and the supervisors who want it; by name."""
    people = User.objects.filter(is_active=True).prefetch_related("groups").order_by("username")
    return [
        user for user in people if _is(user, policy.OFFICER) or (user.mailed and _is(user, policy.SUPERVISOR))
    ]


def _is(user: User, role: str) -> bool:
    return any(group.name == role for group in user.groups.all())


def _new(user: User, late: Sequence[Late], at: datetime) -> Iterable[Late]:
    """What this person has not been told: an officer of everything, a supervisor of their own crews."""
    last = Reminder.objects.filter(user=user).aggregate(at=Max("sent_at"))["at"]
    own = None if _is(user, policy.OFFICER) else set(user.crews.values_list("pk", flat=True))
    found = [*late, *overridden(last or at - FIRST_LOOK)]
    told = already_told(user, {each.key.item for each in found})
    for each in found:
        if each.key not in told and (own is None or each.crew in own):
            yield each


def _send(user: User, subject: str, text: str) -> str:
    """Why it could not be sent, "" where it was."""
    if not user.email:
        return _("there is no mail address; it is written down on their own page")
    try:
        EmailMessage(subject, text, to=[user.email]).send()
    except Exception as problem:
        return f"{type(problem).__name__}: {problem}"
    return ""


def _remember(user: User, lates: Iterable[Late], at: datetime) -> None:
    Reminder.objects.bulk_create(
        [
            Reminder(
                user=user,
                item_id=late.key.item,
                what=late.key.what,
                name=late.key.name,
                due_at=late.key.due_at,
                sent_at=at,
            )
            for late in lates
        ],
        ignore_conflicts=True,
    )
