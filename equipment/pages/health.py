"""For whoever watches over the server: does it answer, and could the farm work with it?

Anybody may ask. What is wrong is said in one word each; the figures are for those who are signed in or send the farm's
word for it (`HEALTH_TOKEN`). Every question is bounded, however large the book is.
"""

import hmac
import shutil
import sqlite3
from contextlib import closing
from datetime import datetime
from pathlib import Path
from typing import Any

from django.conf import settings
from django.db import DatabaseError, connection
from django.db.models import Sum
from django.http import HttpRequest, HttpResponse, JsonResponse
from django.utils import timezone
from django.views.decorators.cache import never_cache

from crews.models import Device
from equipment.actions import backup
from equipment.models import ChainHead, Discrepancy, Entry, KeptEntry

# Above it the figure is "at least so many".
MOST_COUNTED = 1_000
WAITS = 2.0  # seconds for the right to write
MEGABYTE = 1_000_000


@never_cache
def healthz(request: HttpRequest) -> HttpResponse:
    """The process answers; nothing else is asked."""
    return HttpResponse("ok", content_type="text/plain; charset=utf-8")


@never_cache
def readyz(request: HttpRequest) -> JsonResponse:
    """200 where the farm could work, 503 with what is wrong where it could not."""
    wrong, figures = looked(timezone.now())
    told = {"ready": not wrong, "wrong": wrong}
    if _may_know(request, "database" not in wrong):
        told |= {"figures": figures}
    return JsonResponse(told, status=503 if wrong else 200)


def _may_know(request: HttpRequest, database: bool) -> bool:
    # Who is signed in, the database knows.
    return knows_the_word(request) or (database and request.user.is_authenticated)


def knows_the_word(request: HttpRequest) -> bool:
    """Whether the farm's word for watching over the server came with it; never where the farm has none."""
    scheme, _, word = request.headers.get("Authorization", "").partition(" ")
    told = settings.HEALTH_TOKEN and scheme.lower() == "bearer"
    return bool(told) and hmac.compare_digest(word.encode(), settings.HEALTH_TOKEN.encode())


def looked(at: datetime) -> tuple[list[str], dict[str, Any]]:
    """The words for what is wrong (database, heads, disk), and the figures."""
    free = min(shutil.disk_usage(place).free for place in _places()) // MEGABYTE
    newest = backup.newest(Path(settings.BACKUP_DIR))
    figures: dict[str, Any] = {
        "free_mb": free,
        "backup_hours": round((at - newest).total_seconds() / 3600, 1) if newest else None,
    }
    wrong = ["disk"] if free < settings.LEAST_FREE_MB else []
    try:
        _write_lock()
        heads = list(
            ChainHead.objects.order_by("store").values_list("store", "position", "digest", "entry_id")
        )
        wrong += [] if _follow(heads) else ["heads"]
        figures |= {"heads": {store: position for store, position, *_ in heads}, **_waiting()}
    except (DatabaseError, sqlite3.Error):
        wrong.append("database")
    return sorted(wrong), figures


def _places() -> list[Path]:
    places = [Path(settings.DATA_DIR)]
    if connection.vendor == "sqlite":
        places.append(Path(connection.settings_dict["NAME"]).parent)
    return [place for place in places if place.exists()]


def _write_lock() -> None:
    """Whether the database can be written to: an error of the database where it cannot, after two seconds at most.

    On SQLite by a connection of its own: the queue of the writers has no end that could be waited for.
    """
    if connection.vendor == "sqlite":
        name = Path(connection.settings_dict["NAME"]).resolve().as_uri()
        with closing(
            sqlite3.connect(f"{name}?mode=rw", uri=True, timeout=WAITS, isolation_level=None)
        ) as own:
            own.execute("BEGIN IMMEDIATE")
            own.execute("ROLLBACK")
        return
    with connection.cursor() as cursor:
        cursor.execute("SELECT current_setting('transaction_read_only')")
        if cursor.fetchone()[0] != "off":
            raise DatabaseError("read only")


def _follow(heads: list[tuple[Any, ...]]) -> bool:
    """Whether the last entry of each store's book is there, and is the one that its head names."""
    wanted = {entry: head for *head, entry in heads if entry}
    rows = Entry.objects.filter(pk__in=wanted).values_list("pk", "store", "position", "digest")
    return {pk: list(head) for pk, *head in rows} == wanted


def _waiting() -> dict[str, int]:
    """What waits for a person, and what the phones last said that they have still to send."""
    return {
        "unsettled": Discrepancy.objects.filter(settled=False)[:MOST_COUNTED].count(),
        "kept": KeptEntry.objects.waiting()[:MOST_COUNTED].count(),
        "unsent": Device.objects.live().aggregate(n=Sum("unsent"))["n"] or 0,
    }
