"""The demo farm: an invented estate, loaded as a real farm would load its lists, with a season up to yesterday evening.

It goes into an empty database only. While it loads it is entered there as a device that may write; when it is done the
device is revoked. So a demo that was cut off is known from one that is whole, and both from a real farm's book.
"""

import tomllib
from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass
from datetime import date, datetime, time, timedelta
from pathlib import Path
from typing import Any
from uuid import UUID

from django.conf import settings
from django.contrib.auth.models import Group
from django.core.management import call_command
from django.db import connection
from django.utils import timezone
from django.utils.translation import gettext as _
from filelock import FileLock, Timeout

from crews.models import Device, Picker, Store, User
from equipment.actions.importing import import_list
from equipment.actions.load_catalogue import load_catalogue
from equipment.actions.simulate import Ill, Season, Weak, simulate_season
from equipment.models import Entry

FOLDER = settings.BASE_DIR / "fixtures_demo"
DEMO_ID = UUID("00000000-0000-7000-8000-00000000de30")
LISTS = ("crews", "blocks", "pickers", "gear")
Tell = Callable[[str], None]


class NotHere(ValueError):
    """The demo cannot be loaded into this database; the message says why and what to do."""


@dataclass(frozen=True, slots=True)
class Login:
    username: str
    name: str
    role: str
    password: str


def farm() -> dict[str, Any]:
    """What `farm.toml` says of the demo farm."""
    return tomllib.loads((FOLDER / "farm.toml").read_text("utf-8"))


def logins() -> list[Login]:
    """Who can sign in to the demo. The passwords are no secret: the demo is for this machine alone."""
    return [
        Login(u["username"], u["name"], ", ".join(u["roles"]), f"quillberg-{u['username']}")
        for u in farm()["user"]
    ]


def load(tell: Tell, days: int | None = None) -> bool:
    """Load the demo, with a season of `days` days (the farm's own number if None); False where it is loaded already.

    Raises NotHere where the database holds something else, or somebody else is loading it.
    """
    settings.DATA_DIR.mkdir(parents=True, exist_ok=True)
    try:
        with FileLock(settings.DATA_DIR / "demo.lock", timeout=0):
            return _load_once(tell, days)
    except Timeout:
        raise NotHere(_("The demo is loading already, in another window. Wait for it to finish.")) from None


def _load_once(tell: Tell, days: int | None) -> bool:
    _make_room(tell)
    tell(_("Making the tables ..."))
    call_command("migrate", verbosity=0)
    mark = Device.objects.filter(pk=DEMO_ID).first()
    if mark is not None and mark.revoked_at is not None:
        return False
    if mark is not None or User.objects.exists() or Store.objects.exists() or Entry.objects.exists():
        raise NotHere(_not_here(half=mark is not None))
    mark = Device.objects.create(pk=DEMO_ID, kind=Device.Kind.SERVER, name="demo")
    _load(farm(), tell, days)
    mark.revoked_at = timezone.now()
    mark.save(update_fields=["revoked_at"])
    return True


def _not_here(*, half: bool) -> str:
    if half:
        return _(
            "This database holds a demo that was cut off while it was loading. Empty the database, then run again."
        )
    return _(
        "This database holds a farm already; the demo goes into an empty one only. Give it a folder of its own: set"
        " SHEDBOOK_DATA to one that does not exist yet."
    )


def _make_room(tell: Tell) -> None:
    """Put a demo that was cut off aside: only where it is the file in our own data folder, and nothing is deleted."""
    file = Path(str(connection.settings_dict["NAME"]))
    if connection.vendor != "sqlite" or file != settings.DATA_DIR / "shedbook.sqlite3" or not file.exists():
        return
    if Device._meta.db_table not in connection.introspection.table_names():
        return
    if not Device.objects.filter(pk=DEMO_ID, revoked_at=None).exists():
        return
    connection.close()
    for suffix in ("-wal", "-shm", ""):
        part = file.with_name(file.name + suffix)
        if part.exists():
            part.replace(file.with_name(f"cut-off-demo.sqlite3{suffix}"))
    tell(_("A demo that was cut off has been put aside as cut-off-demo.sqlite3; it is loaded anew."))


def _load(about: Mapping[str, Any], tell: Tell, days: int | None) -> None:
    season = _season(about["season"], days)
    load_catalogue()
    tell(_("Loading stores, crews, blocks, pickers and gear ..."))
    users = _users(about["user"])
    before = timezone.make_aware(datetime.combine(season.first - timedelta(days=1), time(14)))
    importer = users["manager"]
    for name in ("stores", *LISTS):
        _import(name, importer, before)
        if name == "stores":
            _stores(users, about["user"])
    count = {"pickers": Picker.objects.count(), "items": Entry.objects.filter(verb="registered").count()}
    tell(_("%(pickers)d pickers, %(items)d pieces of gear.") % count)
    simulate_season(
        season,
        lambda done, of: tell(_("The season so far: day %(done)d of %(of)d") % {"done": done, "of": of}),
    )
    tell(_("%(entries)s entries in the book.") % {"entries": f"{Entry.objects.count():,}"})


def _season(about: Mapping[str, Any], days: int | None) -> Season:
    yesterday: date = timezone.localdate() - timedelta(days=1)
    weak = tuple(Weak(**each) for each in about.get("weak", ()))
    ill = about["ill"]
    planted = Ill(ill["kind"], ill["pieces"], tuple(ill["blocks"]))
    return Season(yesterday, days or about["days"], about["seed"], about["work_ends"], weak, planted)


def _users(people: Sequence[Mapping[str, Any]]) -> dict[str, User]:
    passwords = {login.username: login.password for login in logins()}
    users = {}
    for person in people:
        first, _space, last = person["name"].partition(" ")
        user = User.objects.create_user(
            person["username"],
            f"{person['username']}@farm.example",
            passwords[person["username"]],
            first_name=first,
            last_name=last,
        )
        user.groups.set(Group.objects.filter(name__in=person["roles"]))
        users[user.username] = user
    return users


def _stores(users: Mapping[str, User], people: Sequence[Mapping[str, Any]]) -> None:
    """Each user's shed, once there are sheds."""
    for person in people:
        if store := person.get("store"):
            User.objects.filter(pk=users[person["username"]].pk).update(store=store)


def _import(name: str, by: User, at: datetime) -> None:
    result = import_list(name, (FOLDER / f"{name}.csv").read_bytes(), by, at)
    if not result.good:
        first = result.bad[0]
        raise RuntimeError(f"{name}.csv, line {first.line}, {first.column}: {first.reason}")
