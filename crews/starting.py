"""A starting password: made here, handed over by the manager, good for three days, and only to choose one of your own.

No line of the book can be written with it. Were somebody else to use it first, its owner would find the
door closed, and ask.
"""

import secrets
from datetime import datetime, timedelta

from axes.utils import reset
from django.utils import timezone

from crews import sessions
from crews.models import Pin, User

GOOD_FOR = timedelta(days=3)
# Without those that are taken for one another when somebody writes them down; some 78 bits.
LETTERS = "abcdefghjkmnpqrstuvwxyz23456789"
GROUPS, IN_A_GROUP = 4, 4


def give(user: User, at: datetime) -> str:
    """Gives `user` a new one, and gives it back: it is kept nowhere. They are signed out everywhere; their PIN and
    what was tried in vain are forgotten."""
    password = "-".join("".join(secrets.choice(LETTERS) for _ in range(IN_A_GROUP)) for _ in range(GROUPS))
    user.set_password(password)
    user.starting_until = at + GOOD_FOR
    user.save(update_fields=["password", "starting_until"])
    Pin.objects.filter(user=user).delete()
    sessions.end_of(user)
    reset(username=user.get_username())
    return password


def is_due(user: User) -> bool:
    """Whether `user` is still to choose a password of their own."""
    return user.starting_until is not None


def is_over(user: User) -> bool:
    return user.starting_until is not None and user.starting_until <= timezone.now()
