"""What is counted as requests are answered, in the form that Prometheus and whatever reads OpenMetrics ask for.

The labels are routes, codes, verbs and stores: few, and none a person's. Made at the first request, not when this is
read: `serve` says before, to the processes that share their counts, where they do.
"""

import os
from functools import cache
from threading import Lock
from typing import TYPE_CHECKING, NamedTuple

from equipment.ledger.watched import Watch

if TYPE_CHECKING:
    from prometheus_client import CollectorRegistry, Counter, Histogram

SHARED = "PROMETHEUS_MULTIPROC_DIR"
SECONDS = (0.005, 0.01, 0.025, 0.05, 0.1, 0.15, 0.25, 0.5, 1, 2.5, 10, 60)
WAITS = (0.001, 0.005, 0.025, 0.1, 0.5, 2.5)


_making = Lock()


class Meters(NamedTuple):
    registry: "CollectorRegistry"
    requests: "Counter"
    seconds: "Histogram"
    entries: "Counter"
    refused: "Counter"
    waits: "Histogram"


def meters() -> Meters:
    # One at a time: of two sets that were made at once, each would write over what the other counted.
    with _making:
        return _made()


@cache
def _made() -> Meters:
    from prometheus_client import CollectorRegistry, Counter, Histogram

    own = CollectorRegistry()
    return Meters(
        own,
        Counter("shedbook_requests", "Requests answered.", ["route", "method", "status"], registry=own),
        Histogram("shedbook_request_seconds", "Until the answer.", ["route"], registry=own, buckets=SECONDS),
        Counter("shedbook_entries", "Entries recorded.", ["verb", "store"], registry=own),
        Counter("shedbook_refusals", "Entries refused, by the code said.", ["code"], registry=own),
        Histogram("shedbook_write_wait_seconds", "Until it could write.", registry=own, buckets=WAITS),
    )


def answered(route: str, method: str, status: int, seconds: float, watch: Watch) -> None:
    own = meters()
    # A method is whatever the other side wrote.
    method = method if method in {"GET", "HEAD", "POST", "PUT", "PATCH", "DELETE", "OPTIONS"} else "other"
    own.requests.labels(route, method, str(status)).inc()
    own.seconds.labels(route).observe(seconds)
    for _, store, verb in watch.entries:
        own.entries.labels(verb, store).inc()
    for code in watch.refused:
        own.refused.labels(code).inc()
    if watch.waited:
        own.waits.observe(watch.waited)


def registry() -> "CollectorRegistry":
    """What to ask for the counts: of this process, or of all that share theirs."""
    from prometheus_client import CollectorRegistry
    from prometheus_client.multiprocess import MultiProcessCollector

    if SHARED not in os.environ:
        return meters().registry
    shared = CollectorRegistry()
    MultiProcessCollector(shared)  # type: ignore[no-untyped-call]
    return shared
