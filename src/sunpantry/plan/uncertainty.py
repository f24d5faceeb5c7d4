"""Which loads are worth measuring: what a fifth more of each would do to the answer."""

from __future__ import annotations

from dataclasses import replace

from sunpantry.demand.series import Demand, LoadSeries
from sunpantry.parts.system import System
from sunpantry.plan.types import Uncertain
from sunpantry.simulate import layout as at
from sunpantry.simulate.run import run_systems
from sunpantry.simulate.second_source import SecondSource
from sunpantry.simulate.setting import Setting

WORTH_MEASURING = 3
MORE = 1.20


def worth_measuring(
    setting: Setting,
    system: System,
    *,
    capacity_left: float,
    second_source: SecondSource | None,
) -> tuple[Uncertain, ...]:
    """Rank the loads whose figures are typical by what 20 % more of each would do.

    Parameters
    ----------
    setting : Setting
        Sky and demand.
    system : System
        The system planned.
    capacity_left : float
        Of the battery [-].
    second_source : SecondSource, optional
        What helps out.

    Returns
    -------
    tuple of Uncertain
        At most three, the most telling first: by the hours without power that are added,
        then by the energy.
    """
    typical = [load for load in setting.demand.loads if load.typical]
    if not typical:
        return ()

    def missing(demand: Demand) -> tuple[float, float]:
        runs = run_systems(
            setting.with_demand(demand),
            [system],
            capacity_left=capacity_left,
            second_source=second_source,
        )
        year = runs.yearly[0]
        lowest = float(year[:, at.Y_LOWEST].mean())
        return float(year[:, at.Y_ANY_HOURS].mean()), lowest

    hours, lowest = missing(setting.demand)
    ranked = []
    for load in typical:
        more_hours, less_charge = missing(_with_more(setting.demand, load))
        energy = setting.demand.yearly_wh(load)
        ranked.append((more_hours - hours, lowest - less_charge, energy, load))
    ranked.sort(key=lambda one: (-one[0], -one[1], -one[2]))
    return tuple(
        _told(load, added_h=added, lower=lower)
        for added, lower, _, load in ranked[:WORTH_MEASURING]
    )


def _with_more(demand: Demand, load: LoadSeries) -> Demand:
    flexible = load.flexible
    if flexible is not None:
        flexible = replace(
            flexible,
            arrivals_wh=flexible.arrivals_wh * MORE,
            job_wh=flexible.job_wh * MORE,
            holds_wh=flexible.holds_wh * MORE,
            start_wh=flexible.start_wh * MORE,
        )
    more = replace(load, power_w=load.power_w * MORE, flexible=flexible)
    return replace(demand, loads=tuple(more if one is load else one for one in demand.loads))


def _told(load: LoadSeries, *, added_h: float, lower: float) -> Uncertain:
    if added_h >= 0.05:
        effect = f"would add {added_h:.1f} hours a year without power"
    elif lower >= 0.005:
        effect = f"would take the lowest charge of a winter down by {lower:.0%}"
    else:
        effect = "would hardly be felt"
    if load.supply == "mains":
        how = "a plug-in energy meter"
    else:
        how = "a meter in its lead, or a multimeter in series for its current"
    return Uncertain(
        load=load.name,
        added_hours=added_h,
        words=f"{load.name}: its figures are typical, not measured; a fifth more {effect}. "
        f"Measure it over a week with {how}.",
    )
