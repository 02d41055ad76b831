"""Does the book still say what was written in it, and do the states say what the book says?

Reads only, in bounded memory, while the counters go on working.
"""

from collections.abc import Iterator

from django.db import connection

from equipment.actions.refolding import Say, unheard
from equipment.actions.verify_book.chains import Chains
from equipment.actions.verify_book.findings import Finding, Verified
from equipment.actions.verify_book.gear import gear_differs
from equipment.actions.verify_book.states import states_differ
from equipment.models import triggers

__all__ = ["Finding", "Verified", "verify_book"]


def verify_book(say: Say = unheard) -> Verified:
    """Recompute every seal, every state and the list of gear; `say` is told of the progress of each of the two."""
    chains = Chains(say)
    findings = [*_unguarded(), *chains.findings(), *states_differ(say), *gear_differs()]
    return Verified(chains.entries, chains.heads, tuple(findings))


def _unguarded() -> Iterator[Finding]:
    for name in sorted(triggers.absent(connection)):
        yield Finding("unguarded", {"trigger": name})
