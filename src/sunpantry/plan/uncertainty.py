"""Which loads are worth measuring: what a fifth more of each would do to the answer."""

from __future__ import annotations

from dataclasses import replace

import numpy as np

from sunpantry.demand.series import Demand, LoadSeries
from sunpantry.parts.system import System
from sunpantry.phrases import phrase
from sunpantry.plan.types import Uncertain
from sunpantry.simulate import layout as at
from sunpantry.simulate.run import run_systems
from sunpantry.simulate.second_source import SecondSource
from sunpantry.simulate.setting import Setting
from sunpantry.timegrid import FloatArray

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
        then by what the second source brings, by the lowest charge, by the energy.
    """
    typical = [load for load in setting.demand.loads if load.typical]
    if not typical:
        return ()

    def measured(demand: Demand) -> FloatArray:
        """Hours without [h/year], mean lowest charge [-], brought in [Wh/year]."""
        runs = run_systems(
            setting.with_demand(demand),
            [system],
            capacity_left=capacity_left,
            second_source=second_source,
        )
        columns = [at.Y_ANY_HOURS, at.Y_LOWEST, at.Y_BACKUP_WH]
        return np.asarray(runs.yearly[0][:, columns].mean(axis=0))

    as_planned = measured(setting.demand)
    ranked = []
    for load in typical:
        added_h, higher, more_wh = (
            measured(_with_more(setting.demand, load)) - as_planned
        ).tolist()
        ranked.append((added_h, more_wh, -higher, setting.demand.yearly_wh(load), load))
    ranked.sort(key=lambda one: one[:4], reverse=True)
    return tuple(
        _told(load, added_h=added_h, more_wh=more_wh, lower=lower)
        for added_h, more_wh, lower, _, load in ranked[:WORTH_MEASURING]
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


def _told(load: LoadSeries, *, added_h: float, more_wh: float, lower: float) -> Uncertain:
    if added_h >= 0.05:
        effect = phrase("would add {added_h:.1f} hours a year without power", added_h=added_h)
    elif more_wh >= 100.0:
        effect = phrase(
            "would take {more_wh:.1f} kWh a year more from the second source",
            more_wh=more_wh / 1000.0,
        )
    elif lower >= 0.005:
        effect = phrase("would take the lowest charge of a winter down by {lower:.0%}", lower=lower)
    else:
        effect = phrase("would hardly be felt")
    if load.supply == "mains":
        how = phrase("a plug-in energy meter")
    else:
        how = phrase("a meter in its lead, or a multimeter in series for its current")
    return Uncertain(
        load=load.name,
        added_hours=added_h,
        words=phrase(
            "{name}: its figures are typical, not measured; a fifth more {effect}. Measure it "
            "over a week with {how}.",
            name=load.name,
            effect=effect,
            how=how,
        ),
    )
