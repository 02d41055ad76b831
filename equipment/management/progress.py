"""How far a long command is, on one line that is written over; quiet where the work is short."""

import time
from typing import Any

from django.utils.translation import gettext as _

EVERY = 1.0


class Progress:
    """Call it with what is done and the whole of it; `end` leaves the line. To a file, one line every ten seconds."""

    def __init__(self, stream: Any, what: str) -> None:
        self._stream, self._what = stream, what
        self._here = bool(getattr(stream, "isatty", lambda: False)())
        self._every = EVERY if self._here else 10 * EVERY
        self._told = time.monotonic()
        self._written = False

    def __call__(self, done: int, total: int) -> None:
        now = time.monotonic()
        if now - self._told >= self._every:
            self._told, self._written = now, True
            words = _("%(what)s: %(done)s of %(total)s") % {
                "what": self._what,
                "done": f"{done:,}",
                "total": f"{total:,}",
            }
            self._stream.write(f"\r{words}" if self._here else words, ending="" if self._here else "\n")
            self._stream.flush()

    def end(self) -> None:
        if self._written and self._here:
            self._stream.write("")
