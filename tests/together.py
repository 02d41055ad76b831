"""Several people at the same moment, each on a connection of their own, and whether the book is whole after it."""

import threading
from collections.abc import Callable
from concurrent.futures import ThreadPoolExecutor, wait
from typing import Any

from equipment.domain import chain, values
from equipment.domain.fold import fold
from equipment.domain.verbs import STEPS
from equipment.ledger import columns_of
from equipment.models import BathState, ChainHead, CrewState, Entry, ItemState, LotState, projections

# They keep their connections for a whole test: connecting anew costs more than what is tested.
HANDS = ThreadPoolExecutor(max_workers=3)


def at_once(*things: Callable[[], Any]) -> list[Any]:
    """What each thing gives, all started at the same moment, each on a connection of its own."""
    together = threading.Barrier(len(things))

    def run(thing: Callable[[], Any]) -> Any:
        together.wait(10)
        return thing()

    running = [HANDS.submit(run, thing) for thing in things]
    assert not wait(running, timeout=60).not_done, "it hangs"
    return [each.result() for each in running]


def the_book_is_whole() -> None:
    """No hole, every seal true, the heads at the end, and every state what its lines add up to."""
    for head in ChainHead.objects.all():
        digest, lines = chain.START, list(Entry.objects.filter(store=head.store_id).order_by("position"))
        assert [line.position for line in lines] == list(range(1, len(lines) + 1))
        for line in lines:
            digest = chain.seal(digest, columns_of(line))
            assert line.digest == digest
        assert (head.position, head.digest) == (len(lines), digest)
    for state in ItemState.objects.all():
        life = [projections.value_of(row) for row in Entry.objects.filter(item=state.item_id)]
        assert projections.folded_item(state) == fold(life, values.ItemState(), STEPS)
    for crew in CrewState.objects.all():
        line = [
            projections.value_of(row) for row in Entry.objects.filter(crew=crew.crew_id, item=None, lot=None)
        ]
        assert projections.folded_crew(crew) == fold(line, values.CrewState(), STEPS)
    for bath in BathState.objects.all():
        life = [projections.value_of(row) for row in Entry.objects.filter(bath=bath.bath, item=None)]
        assert projections.folded_bath(bath) == fold(life, values.BathState(), STEPS)
    for lot in LotState.objects.all():
        life = [projections.value_of(row) for row in Entry.objects.filter(lot=lot.lot)]
        assert projections.folded_lot(lot) == fold(life, values.LotState(), STEPS)
