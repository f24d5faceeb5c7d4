"""All charts of a plan, and the files they are written to."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from pathlib import Path
from typing import TYPE_CHECKING

from sunpantry.errors import InputError
from sunpantry.report.charts.band import all_winters, tank_level
from sunpantry.report.charts.charge import charge_map, shortfall_map, winters_charge
from sunpantry.report.charts.choice import frontier
from sunpantry.report.charts.curve import panel_curve_chart
from sunpantry.report.charts.day import days
from sunpantry.report.charts.energy import energy_flow, year_energy
from sunpantry.report.charts.life import battery_life
from sunpantry.report.charts.style import THEMES, Chart, Pen, ThemeName, theme_of
from sunpantry.report.drawing import draw
from sunpantry.report.numbers import numbers_of

if TYPE_CHECKING:
    from sunpantry.plan.types import Plan

FORMATS = ("svg", "png")


def charts_of(
    plan: Plan,
    *,
    theme: ThemeName = "light",
    winter: int | None = None,
    locale: str | None = None,
    hover: bool = False,
) -> tuple[Chart, ...]:
    """Draw every chart of a plan that has something to show.

    Parameters
    ----------
    plan : Plan
        The plan.
    theme : str
        'light' or 'dark'.
    winter : int, optional
        A winter to add to the worst and the typical one, 1 for the first.
    locale : str, optional
        How numbers are written; as at the site by default.
    hover : bool
        Whether lines tell their values to a pointer; for a screen.

    Returns
    -------
    tuple of Chart
        Charts of the battery only with a battery, of the frontier only with a choice.

    Raises
    ------
    InputError
        When the theme, the winter or the locale does not exist.
    """
    if winter is not None and not 1 <= winter <= plan.proof.winters:
        raise InputError.one(
            "winter", winter, f"1 to {plan.proof.winters}", "choose a winter that was simulated"
        )
    numbers = numbers_of(
        timezone=plan.sky.place.timezone, currency=plan.design.money.currency, locale=locale
    )
    pen = Pen(THEMES[theme_of(theme)], numbers, hover)
    found: list[Chart | None] = [year_energy(plan, pen), days(plan, pen)]
    if plan.system.bank is not None:
        found += [winters_charge(plan, pen, winter=winter), all_winters(plan, pen)]
        found += [charge_map(plan, pen)]
    found += [
        tank_level(plan, water, pen, number=number)
        for number, water in enumerate(plan.water, start=1)
    ]
    found += [shortfall_map(plan, pen), energy_flow(plan, pen), frontier(plan, pen)]
    found += [panel_curve_chart(plan, pen), battery_life(plan, pen)]
    return tuple(one for one in found if one is not None)


def write_charts(
    plan: Plan,
    directory: str | Path,
    *,
    formats: Sequence[str] = FORMATS,
    theme: ThemeName = "light",
    winter: int | None = None,
    locale: str | None = None,
) -> tuple[Path, ...]:
    """Write every chart of a plan as files.

    Parameters
    ----------
    plan : Plan
        The plan.
    directory : str or Path
        Made when it is not there.
    formats : sequence of str
        'svg' and 'png'.
    theme, winter, locale
        See :func:`charts_of`.

    Returns
    -------
    tuple of Path
        Files written, named after the charts.

    Raises
    ------
    InputError
        When a format is unknown or the directory cannot be written to.
    """
    strange = [one for one in formats if one not in FORMATS]
    if strange:
        raise InputError.one("format", strange[0], "svg or png", "choose one of them")
    charts = charts_of(plan, theme=theme, winter=winter, locale=locale)
    folder = Path(directory)
    try:
        folder.mkdir(parents=True, exist_ok=True)
        return tuple(_written(charts, folder, formats))
    except OSError as error:
        raise InputError.one(
            "directory", str(folder), "a directory that can be written to",
            error.strerror or str(error),
        ) from error  # fmt: skip


def _written(charts: Iterable[Chart], folder: Path, formats: Sequence[str]) -> Iterable[Path]:
    for chart in charts:
        for ending in formats:
            path = folder / f"{chart.name}.{ending}"
            path.write_bytes(draw(chart.spec, ending, words=chart.alt))
            yield path
