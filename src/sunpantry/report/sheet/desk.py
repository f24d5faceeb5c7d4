"""What every section of the sheet writes from."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from functools import cached_property
from typing import TYPE_CHECKING

from sunpantry.report.charts import Chart
from sunpantry.report.drawing import draw
from sunpantry.report.numbers import Numbers
from sunpantry.report.sheet.blocks import Block, picture
from sunpantry.report.written import said

if TYPE_CHECKING:
    from datetime import date

    from sunpantry.plan.types import Plan


@dataclass(frozen=True)
class Desk:
    """A plan, how numbers are written, and the charts to draw from.

    Parameters
    ----------
    plan : Plan
        The plan.
    numbers : Numbers
        The one formatter.
    charts : mapping of str to Chart
        By name.
    day : date or None
        Printed, and the month of the first readings, only when given.
    """

    plan: Plan
    numbers: Numbers
    charts: Mapping[str, Chart]
    day: date | None = None

    def say(self, text: str) -> str:
        """Say a sentence or a name of the plan with the reader's numbers."""
        return said(text, self.numbers)

    def told(self, text: str) -> str:
        """Say a sentence of the sheet itself, whose numbers are written already."""
        return self.numbers.told(text)

    def chart(self, name: str, *, height_mm: float = 70.0) -> list[Block]:
        """Block with a chart; none where the plan has nothing to show.

        Parameters
        ----------
        name : str
            Of the chart.
        height_mm : float
            Greatest height [mm].
        """
        if name not in self.charts:
            return []
        chart = self.charts[name]
        svg = draw(chart.spec, "svg").decode()
        return [picture(svg, chart.alt, height_mm=height_mm)]

    @cached_property
    def materials_numbers(self) -> Numbers:
        """Writes the typical prices of the wiring list, which are kept in EUR."""
        return Numbers(self.numbers.locale, "EUR", self.numbers.units)
