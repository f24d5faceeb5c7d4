"""What a design asks, brought into the terms of the rooms below."""

from __future__ import annotations

from pathlib import Path

import numpy as np

from sunpantry.demand import load_library
from sunpantry.demand.civil import CivilYear
from sunpantry.demand.demand import demand_of, window_share
from sunpantry.demand.series import Demand
from sunpantry.design.document import read_design
from sunpantry.design.kit import InverterChoice
from sunpantry.design.models import Design
from sunpantry.parts.catalogue import shipped_catalogue
from sunpantry.simulate.bus import Habits
from sunpantry.simulate.setting import Ground, Setting
from sunpantry.sky.from_site import SiteSky
from sunpantry.timegrid import FloatArray


def read_plan_design(path: Path) -> Design:
    """Read a design document, checking its part and load names too.

    Raises
    ------
    InputError
        With every problem of the document.
    """
    from sunpantry.demand.library import library_names

    return read_design(
        path,
        part_names=shipped_catalogue().part_names(),
        load_names=library_names(load_library()),
    )


def setting_of(design: Design, sky: SiteSky, *, demand: Demand | None = None) -> Setting:
    """Sky, ground, demand and habits of a design, ready for simulation.

    Parameters
    ----------
    design : Design
        The question.
    sky : SiteSky
        Its sky.
    demand : Demand, optional
        When it is known already.
    """
    grid = sky.weather.grid
    if demand is None:
        demand = demand_of(design, sky.place, grid)
    return Setting(
        climate=sky.climate,
        weather=sky.weather,
        demand=demand,
        ground=Ground(albedo=sky.albedo, horizon=sky.horizon, losses=sky.losses),
        habits=habits_of(design, demand, CivilYear.of(sky.place, grid)),
    )


def habits_of(design: Design, demand: Demand, civil: CivilYear) -> Habits:
    """When the inverter is on without need, and when the second source may run."""
    inverter_on = None
    if design.inverter is not None:
        inverter_on = _inverter_on(design.inverter, demand, civil)
    allowed = None
    backup = design.backup
    if backup is not None and backup.quiet_from and backup.quiet_until:
        quiet = window_share(civil, backup.quiet_from, backup.quiet_until)
        allowed = (quiet < 0.5).astype(np.float64)
    return Habits(inverter_on=inverter_on, backup_allowed=allowed)


def _inverter_on(choice: InverterChoice, demand: Demand, civil: CivilYear) -> FloatArray | None:
    steps = demand.grid.steps_per_year
    if choice.off_when_idle:
        return np.zeros(steps)
    if choice.from_ and choice.until:
        return window_share(civil, choice.from_, choice.until)
    return None
