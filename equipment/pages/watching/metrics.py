"""`/metrics`: the meters, and what stands in the book at the moment, for whoever sends the farm's word for it."""

from collections.abc import Iterator
from typing import Any

from django.db import connection
from django.http import HttpRequest, HttpResponse
from django.utils import timezone
from django.views.decorators.cache import never_cache

from equipment.pages import health
from equipment.pages.watching import meters

FIGURES = {
    "free_mb": ("shedbook_free_bytes", "Room on the disk of the book.", 1_000_000),
    "backup_hours": ("shedbook_backup_age_seconds", "Since the newest backup.", 3600),
    "unsettled": ("shedbook_unsettled", "Discrepancies that wait for a person, counted to a thousand.", 1),
    "kept": ("shedbook_kept", "Entries that could not be taken in, counted to a thousand.", 1),
    "unsent": ("shedbook_unsent", "Entries that phones said they still have.", 1),
}
"""A figure of `/readyz` -> name, words, and what makes it a base unit."""
SIZE = {
    "sqlite": "SELECT page_count * page_size FROM pragma_page_count(), pragma_page_size()",
    "postgresql": "SELECT pg_database_size(current_database())",
}
PLAIN = "text/plain; charset=utf-8"
# On SQLite whoever waits does so in the process: `shedbook_write_wait_seconds`.
WAITING = {"postgresql": "SELECT count(*) FROM pg_locks WHERE NOT granted"}


@never_cache
def metrics(request: HttpRequest) -> HttpResponse:
    """403 without `HEALTH_TOKEN`, sent as `Authorization: Bearer ...`, or where the farm has no such word."""
    if not health.knows_the_word(request):
        return HttpResponse("Send the farm's word for it.\n", status=403, content_type=PLAIN)
    # Not before the first request: see `meters`.
    from prometheus_client.exposition import choose_encoder

    encode, content_type = choose_encoder(request.headers.get("Accept", ""))
    return HttpResponse(encode(_Told()), content_type=content_type)


class _Told:
    """What an encoder asks of a registry. The book is asked anew each time: few and bounded questions."""

    def collect(self) -> Iterator[Any]:
        yield from meters.registry().collect()
        yield from _standing()


def _standing() -> Iterator[Any]:
    from prometheus_client.core import GaugeMetricFamily as Gauge

    wrong, figures = health.looked(timezone.now())
    yield Gauge("shedbook_ready", "1 where the farm can work.", value=float(not wrong))
    for name, (metric, words, factor) in FIGURES.items():
        if (value := figures.get(name)) is not None:
            yield Gauge(metric, words, value=value * factor)
    heads = Gauge("shedbook_head", "Position of the last entry in the book of a store.", labels=["store"])
    for store, position in figures.get("heads", {}).items():
        heads.add_metric([store], position)
    yield heads
    if "database" not in wrong:
        yield Gauge("shedbook_database_bytes", "Size of the database.", value=_asked(SIZE))
        yield Gauge("shedbook_waiting_locks", "How many wait for a lock.", value=_asked(WAITING))


def _asked(sql: dict[str, str]) -> int:
    """0 where this database has nothing to say to it."""
    if connection.vendor not in sql:
        return 0
    with connection.cursor() as cursor:
        cursor.execute(sql[connection.vendor])
        return int(cursor.fetchone()[0])
