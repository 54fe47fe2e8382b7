"""The owner's figures: how the shop stands now, and how one day went. Nothing here writes."""

from counter.dashboards.day import DayFigures, day_figures
from counter.dashboards.now import NowFigures, now_figures
from counter.dashboards.rate import Rate

__all__ = ["DayFigures", "NowFigures", "Rate", "day_figures", "now_figures"]
