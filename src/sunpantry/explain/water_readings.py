"""What a bucket and a watch should show at the outlet of a pump."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from sunpantry.demand.water_jobs import PumpJob
from sunpantry.explain.conditions import array_output, hour_of_month
from sunpantry.explain.readings import CLEAR, CLOUDY, WIDENED, PointReading, Range
from sunpantry.parts.system import Array
from sunpantry.phrases import phrase
from sunpantry.simulate.setting import Setting
from sunpantry.simulate.water import MATCHED

# Worn impellers, bends nobody counted and what labels promise: common practice, no source.
_LEAST_FLOW, _MOST_FLOW = 0.75, 1.10


@dataclass(frozen=True)
class HourFlow:
    """Flow of a pump straight on its panels in one clock hour.

    Parameters
    ----------
    clock_h : int
        It begins at this hour of the clock.
    clear, cloudy : Range
        At the outlet [L/min].
    """

    clock_h: int
    clear: Range
    cloudy: Range


def outlet_point(pump: str, *, flow_l_min: float, is_direct: bool) -> PointReading:
    """Flow at the outlet with the pump at full power.

    Parameters
    ----------
    pump : str
        Its name.
    flow_l_min : float
        Operating point on its pipe [L/min].
    is_direct : bool
        Whether it hangs straight on its panels.
    """
    how = phrase("running; a bucket and a watch")
    if is_direct:
        how = phrase("panels in full sun; a bucket and a watch")
    return PointReading(
        phrase("Outlet of {pump}", pump=pump),
        how,
        Range(_LEAST_FLOW * flow_l_min, _MOST_FLOW * flow_l_min),
        "L/min",
        phrase(
            "Less: air drawn in, a strainer that is full, a leak, too thin a cable, a pump that "
            "turns the wrong way. Nothing though it runs: it is not filled with water; stop it."
        ),
    )


def flows_by_hour(
    setting: Setting, job: PumpJob, array: Array, *, bore_mm: float, month: int
) -> tuple[HourFlow, ...]:
    """Flow by hour under clear and cloudy sky, from the same sky as the proof.

    Parameters
    ----------
    setting : Setting
        The sky.
    job : PumpJob
        The pump.
    array : Array
        Its panels.
    bore_mm : float
        Inside diameter of its pipe [mm].
    month : int
        0 = January.

    Returns
    -------
    tuple of HourFlow
        Hours in which water comes at all.
    """
    table = job.table(bore_mm)
    shares = np.array([*CLOUDY, *CLEAR])
    hours = []
    for clock_h in range(24):
        light, air = hour_of_month(setting, array, month=month, clock_h=clock_h)
        at_light = np.quantile(light, shares)
        cell_c = float(air.mean()) + at_light * (array.panel.noct_c - 20.0) / 800.0
        _, amps, volts = array_output(array, at_light, cell_c, held_v=None)
        watts = MATCHED * amps * volts
        low = table.pumped_l_min(watts * (1.0 - WIDENED))
        high = table.pumped_l_min(watts * (1.0 + WIDENED))
        if high[3] > 0.0:
            cloudy, clear = Range(low[0], high[1]), Range(low[2], high[3])
            hours.append(HourFlow(clock_h, clear, cloudy))
    return tuple(hours)
