"""One set of chart specifications for the page, the sheet and files."""

from sunpantry.report.charts.gather import charts_of, write_charts
from sunpantry.report.charts.narrow import narrowed
from sunpantry.report.charts.style import Chart, ThemeName, theme_of

__all__ = ["Chart", "ThemeName", "charts_of", "narrowed", "theme_of", "write_charts"]
