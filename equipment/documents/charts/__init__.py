"""The charts: what each says in words, in figures and in bars. Paper, page and table are made of the same rows."""

from datetime import datetime

from equipment.documents.charts.bars import Bars, drawing, svg
from equipment.documents.charts.base import Chart, Figures
from equipment.documents.charts.faults import CHART as FAULTS
from equipment.documents.charts.losses import CHART as LOSSES
from equipment.documents.charts.sterilised import CHART as STERILISED
from equipment.models import replica
from equipment.models.charts import Window

CHARTS: dict[str, Chart] = {chart.name: chart for chart in (STERILISED, FAULTS, LOSSES)}

__all__ = ["CHARTS", "Bars", "Chart", "Figures", "counted", "drawing", "svg"]


def counted(chart: Chart, window: Window, at: datetime) -> Figures:
    """Its figures, from the replica where there is one that has come to the window's heads."""
    return replica.asked(lambda: chart.figures(window, at), window.heads)
