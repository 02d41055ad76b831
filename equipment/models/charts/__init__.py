"""What the charts count, by SQL: an aggregate each, over the entries of a period, as the book stands now."""

from equipment.models.charts.faults import Faults, faults
from equipment.models.charts.losses import Losses, losses
from equipment.models.charts.sterilised import Week, sterilised
from equipment.models.charts.window import Window

__all__ = ["Faults", "Losses", "Week", "Window", "faults", "losses", "sterilised"]
