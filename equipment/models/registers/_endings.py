"""What became of pieces that were missed or written off: who had them last, what was said, whether they came back."""

from collections.abc import Iterable, Sequence
from dataclasses import dataclass, field
from uuid import UUID

from equipment.models.registers._lives import Stood

TOLD_BY = "handed_out returned missed found written_off heard".split()


@dataclass(slots=True)
class Loss:
    """A `missed` or `written_off`, with who had the piece last (`had`) and when they had given it back, if they had
    (`back`). `heard` is what pickers said of the piece since it was theirs; `found` and `gone` are what came after."""

    entry: Stood
    had: Stood | None = None
    back: Stood | None = None
    heard: list[Stood] = field(default_factory=list)
    found: Stood | None = None
    gone: Stood | None = None

    @property
    def crew(self) -> str:
        return self.entry.crew or (self.had.crew if self.had else "") or ""


def losses(life: Iterable[Stood]) -> dict[UUID, Loss]:
    """Each loss in an item's life, by its entry. A piece that turns up and is missed again was lost twice."""
    known: dict[UUID, Loss] = {}
    had: Stood | None = None
    back: Stood | None = None
    heard: list[Stood] = []
    for entry in life:
        match entry.verb:
            case "handed_out":
                had, back, heard = entry, None, []
            case "returned":
                back = entry
            case "heard":
                heard.append(entry)
            case "missed" | "written_off":
                _ends([each for each in known.values() if each.gone is None], entry)
                known[entry.id] = Loss(entry, had, back, heard)
        if entry.verb in ("found", "handed_out", "returned"):
            _turned_up(list(known.values()), entry)
    return known


def _ends(open_ones: Sequence[Loss], entry: Stood) -> None:
    """What was missing is missing no more once it is written off."""
    if entry.verb == "written_off":
        for loss in open_ones:
            if loss.found is None:
                loss.gone = entry


def _turned_up(all_of_them: Sequence[Loss], entry: Stood) -> None:
    for loss in all_of_them:
        if loss.found is None and loss.gone is None and loss.entry.verb == "missed":
            loss.found = entry
