"""Ten days of a handful of unlike designs, for comparing two ways of running the kernel.

Run as a module it prints every result as hexadecimal floats, one line an array.
"""

from __future__ import annotations

import sys

import numpy as np
from tests.simulate.rig import Told, asked, battery, row, run

from sunpantry.physics.battery import BatteryModel
from sunpantry.simulate import layout as at
from sunpantry.timegrid import FloatArray

DAYS = 10


def weather(days: int = DAYS, *, seed: int = 5) -> tuple[FloatArray, FloatArray]:
    """Two sources, a tracked and a direct one of some 60 W, and a cold spell [°C]."""
    hours = np.arange(24 * days)
    height = np.clip(np.sin((hours % 24 - 7) / 10 * np.pi), 0.0, None)
    cloud = np.random.default_rng(seed).beta(1.0, 1.5, days)[hours // 24]
    light = height * cloud
    lit = (light > 0.0).astype(np.float64)
    tracked = np.stack([60.0 * light, 17.0 * lit, 21.0 * lit])
    direct = np.stack([3.4 * light, 3.3 * light, 3.0 * light])
    cold = 8.0 - 14.0 * np.sin(hours / hours.size * np.pi)
    return np.stack([tracked, direct]), cold


def designs() -> tuple[list[FloatArray], list[BatteryModel | None]]:
    """Chemistries, controllers, shedding, second source, power bank, too small an inverter."""
    models = [
        battery("agm", capacity_ah=7.0),
        battery("flooded", capacity_ah=35.0),
        battery("lifepo4", capacity_ah=12.0, heater_w=5.0),
        battery("power_bank", capacity_ah=10.0),
    ]
    inverter = {
        at.INVERTER_W: 60.0,
        at.INVERTER_P0: 3.0,
        at.INVERTER_K1: 0.05,
        at.INVERTER_K2: 1e-3,
        at.INVERTER_CUT_V: 10.5,
        at.INVERTER_RESTART_V: 12.4,
    }
    direct = {at.SOURCE: 1.0, at.IS_MPPT: 0.0, at.RATED_A: 10.0, at.COMP_V_PER_K: -0.024}
    shed = {at.SHED_SHOULD: 0.5, at.SHED_MAY: 0.7}
    backup = {at.BACKUP_W: 40.0, at.BACKUP_ON: 0.4, at.BACKUP_OFF: 0.8}
    rows = [
        row(models[0], columns={**inverter, at.HEADROOM_V: 3.0, at.RATED_A: 3.0}),
        row(models[1], columns={at.CURVE: 1.0, **inverter, **direct, **shed, at.EQUALISE_V: 15.0}),
        row(models[1], columns={at.CURVE: 1.0, **inverter, **direct, **backup, at.OWN_A: 0.02}),
        row(models[2], columns={at.CURVE: 2.0, **inverter, **shed, at.STRINGS: 2.0}),
        row(models[3], columns={at.CURVE: 3.0, at.OUTPUT_W_MIN: 2.5, at.INVERTER_W: 60.0}),
    ]
    return rows, list(models)


def told(step_h: float = 1.0, *, years: int = 1, year_by_year: bool = False) -> Told:
    """Run them, the ten days taken as one "year" or as several."""
    sun, cold = weather()
    rows, models = designs()
    steps = cold.size
    evening = (np.arange(steps) % 24 >= 17).astype(np.float64)
    loads = asked(
        steps, dc0=1.0, dc1=4.0 * evening, ac1=12.0 * evening, ac2=55.0 * evening,
        surge=90.0 * evening, idle=1.0, backup=1.0,
    )  # fmt: skip
    flexible = np.array([[[20.0, 30.0, 0.6, 0.0, 2.0, 0.0], [15.0, 20.0, 2.0, 1.0, 1.0, 0.0]]])
    jobs = np.cumsum((np.arange(steps) % 24 == 6) * 25.0)
    return run(
        rows, sun=sun, loads=loads, models=models, cell_c=cold, step_h=step_h,
        flexible=flexible, arrived=np.stack([jobs, jobs])[None], years=years,
        year_by_year=year_by_year,
    )  # fmt: skip


def hexadecimal(result: Told) -> list[str]:
    """Every number of a result to the last bit, one line an array."""
    arrays = (result.totals, result.yearly, result.monthly, result.traces, result.served)
    return [" ".join(float(value).hex() for value in array.ravel()) for array in arrays]


if __name__ == "__main__":
    sys.stdout.write("\n".join(hexadecimal(told())) + "\n")
