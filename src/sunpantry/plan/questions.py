"""What a design asks, brought into the terms of the rooms below."""

from __future__ import annotations

from dataclasses import dataclass
from functools import cached_property
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
from sunpantry.parts.resolve import Kit
from sunpantry.plan.direct_pump import DirectPump
from sunpantry.plan.facing import kit_of
from sunpantry.plan.pumps import choose_pumps
from sunpantry.simulate.bus import Habits
from sunpantry.simulate.setting import Ground, Setting
from sunpantry.sizing.cost import Pricing
from sunpantry.sky.from_site import SiteSky, sky_of
from sunpantry.timegrid import FloatArray

# How much darker the second verdict takes the place to be, and more where the climate is a guess.
DARKER = 0.10


@dataclass(frozen=True, eq=False)
class Question:
    """A design with everything that is looked up once for it.

    Parameters
    ----------
    design : Design
        As written.
    sky : SiteSky
        Place, climate, years.
    setting : Setting
        Sky and demand ready for simulation.
    kit : Kit
        What the design fixes.
    pricing : Pricing
        Prices and terms.
    """

    design: Design
    sky: SiteSky
    setting: Setting
    kit: Kit
    pricing: Pricing

    @cached_property
    def direct(self) -> tuple[DirectPump, ...]:
        """Pumps straight on panels, with the panels and pipes chosen for them."""
        return choose_pumps(self)

    @property
    def share_darker(self) -> float:
        """How much darker the second verdict takes the place to be [-]."""
        return max(DARKER, self.sky.climate.uncertainty_dark_fraction)

    def darker(self) -> Setting:
        """The same setting in a climate that is darker by that share."""
        return self._darker

    @cached_property
    def _darker(self) -> Setting:
        climate, weather = self.sky.darker(self.share_darker, seed=self.design.seed)
        return Setting(
            climate=climate,
            weather=weather,
            demand=self.setting.demand,
            ground=self.setting.ground,
            habits=self.setting.habits,
        )


def question_of(design: Design, *, folder: Path | None = None) -> Question:
    """Look up everything a design refers to.

    Parameters
    ----------
    design : Design
        The design.
    folder : Path, optional
        Where a relative weather file is looked for.

    Raises
    ------
    InputError, WeatherError
        When something cannot be used.
    """
    sky = sky_of(
        design.site,
        years=design.winters,
        seed=design.seed,
        step_h=design.step_h,
        folder=folder,
    )
    setting = setting_of(design, sky)
    kit = kit_of(design, setting)
    return Question(
        design=design,
        sky=sky,
        setting=setting,
        kit=kit,
        pricing=Pricing.of(design, kit),
    )


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
    """When the inverter is on without need, when the second source may run, what hangs where."""
    inverter_on = None
    if design.inverter is not None:
        inverter_on = _inverter_on(design.inverter, demand, civil)
    allowed = None
    backup = design.backup
    if backup is not None and backup.quiet_from and backup.quiet_until:
        quiet = window_share(civil, backup.quiet_from, backup.quiet_until)
        allowed = (quiet < 0.5).astype(np.float64)
    inverter, controller = design.inverter, design.controller
    return Habits(
        inverter_on=inverter_on,
        backup_allowed=allowed,
        dc_on_terminals=controller is not None and controller.loads_fed_from == "load output",
        inverter_on_terminals=inverter is not None and inverter.fed_from == "load output",
    )


def _inverter_on(choice: InverterChoice, demand: Demand, civil: CivilYear) -> FloatArray | None:
    steps = demand.grid.steps_per_year
    if choice.off_when_idle:
        return np.zeros(steps)
    if choice.from_ and choice.until:
        return window_share(civil, choice.from_, choice.until)
    return None
