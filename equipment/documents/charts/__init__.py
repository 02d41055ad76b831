"""The charts: what each says in words, in figures and in bars. Paper, page and table are made of the same rows."""

from equipment.documents.charts.bars import Bars, drawing, svg
from equipment.documents.charts.base import Chart, Figures
from equipment.documents.charts.faults import CHART as FAULTS
from equipment.documents.charts.losses import CHART as LOSSES
from equipment.documents.charts.sterilised import CHART as STERILISED

CHARTS: dict[str, Chart] = {chart.name: chart for chart in (STERILISED, FAULTS, LOSSES)}

__all__ = ["CHARTS", "Bars", "Chart", "Figures", "drawing", "svg"]
