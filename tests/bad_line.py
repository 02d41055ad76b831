"""Phones on a bad line: what they send is lost, doubled, held back, shuffled, and its answers are lost too.

The server is whoever takes the requests: the pure fold, or the real one. A phone forgets an entry on the answer for
that very entry only, and sends what it has in order, like the one in the orchard.
"""

from collections import Counter
from collections.abc import Callable, Iterable, Sequence
from dataclasses import dataclass, field, replace
from datetime import datetime, timedelta
from random import Random
from typing import Any
from uuid import UUID

FATES = ("delivered", "delivered", "shuffled", "doubled", "unanswered", "lost", "held")
# A minute off is left alone, an hour or a year is put right by what is measured at sending.
SKEWS = (timedelta(0), timedelta(seconds=-60), timedelta(hours=1), timedelta(days=-1), timedelta(days=3650))


@dataclass
class Phone:
    """`waiting` is its outbox, in order: pairs of an id and whatever the server takes. Its clock is `off`."""

    device: UUID
    off: timedelta
    waiting: list[tuple[UUID, Any]]

    def answered(self, ids: Iterable[UUID]) -> None:
        gone = set(ids)
        self.waiting = [pair for pair in self.waiting if pair[0] not in gone]


@dataclass(frozen=True)
class Request:
    """What a phone sent, when by its own clock, and when it came by the server's."""

    phone: Phone
    entries: Sequence[Any]
    sent_at: datetime
    received_at: datetime


Server = Callable[[Request], Iterable[UUID]]
"""Takes a request and gives the ids that it answers."""


@dataclass
class Line:
    """Plays one interleaving from `now` on; `fates` counts what became of the requests."""

    random: Random
    server: Server
    now: datetime
    fates: Counter[str] = field(default_factory=Counter)
    held: list[Request] = field(default_factory=list)

    def play(self, phones: Sequence[Phone]) -> None:
        """Until every outbox is empty and what was held back has come, after all that was sent since."""
        while senders := [phone for phone in phones if phone.waiting]:
            self._send(self.random.choice(senders))
            if self.held and self.random.random() < 0.3:
                self._come_late()
        while self.held:
            self._come_late()

    def _send(self, phone: Phone) -> None:
        self.now += timedelta(minutes=self.random.randrange(90))
        some = phone.waiting[: self.random.randint(1, len(phone.waiting))]
        request = Request(phone, [entry for _, entry in some], self.now + phone.off, self.now)
        fate = self.random.choice(FATES)
        self.fates[fate] += 1
        if fate == "held":
            self.held.append(request)
        elif fate != "lost":
            self._arrive(request, fate)

    def _arrive(self, request: Request, fate: str) -> None:
        if fate == "shuffled":
            request = replace(request, entries=self.random.sample(request.entries, len(request.entries)))
        ids = list(self.server(request))
        if fate == "doubled":
            assert set(self.server(request)) == set(ids), "sent again, it is answered otherwise"
        if fate != "unanswered":
            request.phone.answered(ids)

    def _come_late(self) -> None:
        """Nobody waits for the answer any more."""
        request = self.held.pop(self.random.randrange(len(self.held)))
        self.now += timedelta(minutes=self.random.randrange(90))
        self.server(replace(request, received_at=self.now))
