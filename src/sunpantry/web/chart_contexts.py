"""What the pages of charts are given."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING, ClassVar

if TYPE_CHECKING:
    from sunpantry.web.chart_values import Values
    from sunpantry.web.looks import Look


@dataclass(frozen=True)
class ChartShown:
    """One chart on the page.

    Parameters
    ----------
    name : str
        In its address.
    title : str
        What it shows.
    alt : str
        The same for those who cannot see it.
    """

    name: str
    title: str
    alt: str


@dataclass(frozen=True)
class PicturesPage:
    """All charts of a design.

    Parameters
    ----------
    design_id, number, name
        Design and version.
    charts : tuple of ChartShown
        The charts.
    look : Look
        What is looked into.
    winters : int
        How many there are.
    stamp : str
        Part of the address of a chart, so that an old one is never shown.
    secret : str
        Of the link it is looked at through.
    """

    template: ClassVar[str] = "pictures.html"

    design_id: str
    number: int
    name: str
    charts: tuple[ChartShown, ...]
    look: Look
    winters: int
    stamp: str
    secret: str = ""


@dataclass(frozen=True)
class ValuesPage:
    """The values of one chart as tables.

    Parameters
    ----------
    design_id, name
        Of the design.
    title : str
        What the chart shows.
    tables : tuple of Values
        A table for each plot of it.
    back : str
        What the page of pictures was asked for, to come back to.
    """

    template: ClassVar[str] = "values.html"

    design_id: str
    name: str
    title: str
    tables: tuple[Values, ...]
    back: str = ""
