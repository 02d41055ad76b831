"""What the figures count, by SQL: one aggregate query each, over the whole book up to a moment or over a period."""

from equipment.models.figures.chosen import Chosen, chosen, stopping
from equipment.models.figures.costs import Cost, costs
from equipment.models.figures.lives import Life, lives
from equipment.models.figures.stock import Sort, Stock, left, stock
from equipment.models.figures.use import Busiest, Use, busiest, use_by_crew, use_by_make

__all__ = [
    "Busiest",
    "Chosen",
    "Cost",
    "Life",
    "Sort",
    "Stock",
    "Use",
    "busiest",
    "chosen",
    "costs",
    "left",
    "lives",
    "stock",
    "stopping",
    "use_by_crew",
    "use_by_make",
]
