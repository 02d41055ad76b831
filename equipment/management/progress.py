"""How far a long command is, on one line that is written over; quiet where the work is short."""

import time
from typing import Any

from django.utils.translation import gettext as _
from django.utils.translation import ngettext

EVERY = 1.0


class Progress:
    """Call it with what is done and the whole of it; `end` leaves the line. To a file, one line every ten seconds.

    `what` are the names of the things that are done one after the other: when a call says less than the one before,
    the next of them has begun.
    """

    def __init__(self, stream: Any, *what: str) -> None:
        self._stream, self._what = stream, list(what)
        self._here = bool(getattr(stream, "isatty", lambda: False)())
        self._every = EVERY if self._here else 10 * EVERY
        self._told = time.monotonic()
        self._begun: tuple[float, int] | None = None
        self._last = 0
        self._width = 0

    def __call__(self, done: int, total: int) -> None:
        now = time.monotonic()
        if done < self._last:
            self._begun, self._what = None, self._what[1:] or self._what
        self._last = done
        # What was done before is no measure of how quick it is: a run may go on where another was stopped.
        self._begun = self._begun or (now, done)
        if now - self._told >= self._every:
            self._told = now
            self._tell(f"{self._words(done, total)}{self._pace(now, done, total)}")

    def _words(self, done: int, total: int) -> str:
        told = {"what": self._what[0], "done": f"{done:,}", "total": f"{total:,}"}
        return _("%(what)s: %(done)s of %(total)s") % told

    def _pace(self, now: float, done: int, total: int) -> str:
        """How many a second, and how long it takes still; nothing where that cannot be told yet."""
        since, first = self._begun or (now, done)
        if now - since < EVERY or done <= first:
            return ""
        pace = (done - first) / (now - since)
        return _(", %(pace)s a second, %(left)s left") % {
            "pace": f"{pace:,.0f}",
            "left": lasting((total - done) / pace),
        }

    def _tell(self, words: str) -> None:
        if self._here:
            # Over what stood there, all of it.
            self._stream.write(f"\r{words.ljust(self._width)}", ending="")
            self._width = len(words)
        else:
            self._stream.write(words)
        self._stream.flush()

    def end(self) -> None:
        if self._width:
            self._stream.write("")


def lasting(seconds: float) -> str:
    """In words that are no more exact than a guess can be."""
    if seconds < 90:
        whole = max(1, round(seconds))
        return ngettext("%(n)d second", "%(n)d seconds", whole) % {"n": whole}
    minutes = round(seconds / 60)
    return ngettext("%(n)d minute", "%(n)d minutes", minutes) % {"n": minutes}
