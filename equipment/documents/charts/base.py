"""What a chart is: figures read from the book, in words for a table and in bars for the eye."""

from collections.abc import Callable, Sequence
from dataclasses import dataclass
from datetime import datetime

from equipment.documents.charts.bars import Drawn
from equipment.models.charts import Window

# More bars than that say nothing; the table has them all.
MOST_BARS = 53


@dataclass(frozen=True, slots=True)
class Figures:
    """`rows` are the table under `head`, in the reader's language; figures are ints. `bars` None: nothing to draw.
    `labels` is how many of the first columns say what a row is of; `left_out` how many rows the drawing leaves to the
    table."""

    head: Sequence[str]
    rows: Sequence[Sequence[str | int]]
    bars: Drawn | None
    left_out: int = 0
    labels: int = 1


@dataclass(frozen=True, slots=True)
class Chart:
    """`title`, `about` (how it is counted) and `empty` are gettext templates. Whoever may print `register` may see it.
    `figures` counts in a window, by the rules at a moment."""

    name: str
    title: str
    about: str
    empty: str
    register: str
    figures: Callable[[Window, datetime], Figures]
