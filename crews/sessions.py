"""How long somebody stays signed in: idle and absolute limits, and everybody whose sessions are ended.

A session knows when it began and when it was last used. The latter is written at most each FRESHEN seconds, so that a
counter's scan costs no write.
"""

from collections.abc import Callable
from datetime import UTC, datetime
from time import time
from typing import Any

from django.conf import settings
from django.contrib import auth
from django.contrib.auth.models import AnonymousUser
from django.http import HttpRequest, HttpResponse
from django.utils.functional import SimpleLazyObject

from crews.endpoints import PUBLIC
from crews.models import Device, Pin, SignIn, User

BEGUN, USED = "begun", "used"
FRESHEN = 300
# What pages ask by themselves is no use: a counter that is left open would never be idle.
BY_ITSELF = frozenset(
    "board_due board_lines counter_names counter_sheet wash_lines stocktake_lines orchard_here api:sheet".split()
)


class LimitedSessions:
    """After Django's own: who has been away, or signed in, for too long is a stranger. Asks only where a user is."""

    def __init__(self, get_response: Callable[[HttpRequest], HttpResponse]) -> None:
        self.get_response = get_response

    def __call__(self, request: HttpRequest) -> HttpResponse:
        request.user = SimpleLazyObject(lambda: _who(request))  # type: ignore[assignment]
        return self.get_response(request)


def _who(request: HttpRequest) -> User | AnonymousUser:
    now = time()
    session = request.session
    if auth.SESSION_KEY not in session:
        return AnonymousUser()
    if _over(session, now):
        session.flush()
        return AnonymousUser()
    user = auth.get_user(request)
    if not isinstance(user, User):
        return AnonymousUser()
    if BEGUN not in session:
        # Of a Shedbook that kept no such times.
        begin(None, request, user)
    elif now - session[USED] >= _fresh_for() and not _by_itself(request):
        session[USED] = now
    return user


def _by_itself(request: HttpRequest) -> bool:
    """What is for everybody, browsers fetch in their own time: the worker's script among it."""
    name = request.resolver_match.view_name if request.resolver_match else ""
    return name in BY_ITSELF or name in PUBLIC


def _over(session: Any, now: float) -> bool:
    idle, whole = settings.SESSION_IDLE_MINUTES * 60, settings.SESSION_HOURS * 3600
    return bool(
        (idle and now - session.get(USED, now) >= idle) or (whole and now - session.get(BEGUN, now) >= whole)
    )


def _fresh_for() -> float:
    idle = settings.SESSION_IDLE_MINUTES * 60
    return min(FRESHEN, idle / 4) if idle else FRESHEN


def begin(sender: Any, request: HttpRequest | None, user: User, **kwargs: Any) -> None:
    """Django says that somebody signed in. `request.sign_in` has the device and the way, where the page knows them."""
    session = getattr(request, "session", None)
    if session is None:
        return
    now = time()
    session[BEGUN] = session[USED] = now
    session.save()
    device, how = getattr(request, "sign_in", (None, SignIn.How.PASSWORD))
    begun = datetime.fromtimestamp(now, UTC)
    SignIn.objects.update_or_create(
        session_id=session.session_key,
        defaults={"user": user, "device": device, "how": how, "begun_at": begun},
    )
    # Browsers that never came back leave theirs behind.
    SignIn.objects.filter(user=user, session__expire_date__lt=begun).end()


def end_of(user: User, keep: str | None = None) -> int:
    """Sign `user` out everywhere, but for the session `keep`; how many sessions that were."""
    return SignIn.objects.filter(user=user).but(keep).end()


def end_on(device: Device) -> int:
    """Sign out everybody who signed in on `device`."""
    return SignIn.objects.filter(device=device).end()


def disable(user: User) -> None:
    """From now on `user` cannot sign in, and is signed out; what they wrote stands. Their PIN is forgotten."""
    User.objects.filter(pk=user.pk).update(is_active=False)
    Pin.objects.filter(user=user).delete()
    end_of(user)


def enable(user: User) -> None:
    User.objects.filter(pk=user.pk).update(is_active=True)


def go_on(request: HttpRequest, user: User, with_new_hash: Callable[[HttpRequest, User], None]) -> None:
    """`user` has a new password: signed in here still, under a new number, and nowhere else."""
    here = SignIn.objects.filter(session=request.session.session_key).first()
    with_new_hash(request, user)
    request.session.save()
    end_of(user)
    if here:
        here.session_id = request.session.session_key or ""
        here.save(force_insert=True)
