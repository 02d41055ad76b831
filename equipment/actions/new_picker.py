"""Someone new stands at the counter: a name and a crew are enough, the rest can follow when there is time."""

from django.db import IntegrityError

from crews.models import Crew, Picker
from equipment.actions.change_crew import join
from equipment.actions.writing import Pen
from equipment.ledger import writing

# Another counter may take the same number at the same moment; then the next one is taken.
TRIES = 5


def new_picker(pen: Pen, name: str, crew: Crew) -> Picker:
    """A picker with the farm's next free number, in `crew`. Raises ValueError where the name is empty."""
    name = " ".join(name.split())
    if not name:
        raise ValueError("A picker needs a name.")
    for attempt in range(TRIES):
        try:
            with writing():
                picker = Picker.objects.create(number=next_number(), name=name)
                join(pen, [picker], crew)
                return picker
        except IntegrityError:
            if attempt == TRIES - 1:
                raise
    raise AssertionError("unreachable")


def next_number() -> str:
    """One more than the highest number that is digits only; farms that number otherwise begin at 1."""
    taken = Picker.objects.values_list("number", flat=True)
    return str(1 + max((int(number) for number in taken if number.isascii() and number.isdigit()), default=0))
