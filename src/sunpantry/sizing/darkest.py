"""Which winters decide: those in which a run of days brings least sun for what is asked."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from sunpantry.simulate.setting import Setting
from sunpantry.timegrid import DAYS_PER_YEAR, FloatArray, IntArray

# Lengths of the runs of days looked at [d]; each names its worst winters.
SPELLS_D = (5, 10, 20, 40, 80)
WORST_OF_EACH = 2


# A part of the year is looked at where sun over demand, mean of a month, is below so many
# times its lowest; it begins some days before, with a full store.
SCARCE_FACTOR = 2.0
SMOOTHED_D = 31
LEAD_D = 15


@dataclass(frozen=True, eq=False)
class Darkest:
    """Where in the years the promise is decided.

    Parameters
    ----------
    years : list of int
        Years to look at first, the worst first, 0 for the first; not more than ten.
    spans : numpy.ndarray, shape (n, 2)
        Scarce parts of the year: first step and end of each.
    """

    years: list[int]
    spans: IntArray


def darkest(setting: Setting, tilt_deg: tuple[float, ...], azimuth_deg: float) -> Darkest:
    """Find the winters and months with least sun for what is asked.

    They speed the search up and have no influence on its result.

    Parameters
    ----------
    setting : Setting
        Sky and demand.
    tilt_deg, azimuth_deg
        Plane whose light is looked at [°].

    Returns
    -------
    Darkest
        Years and parts of the year.
    """
    years = setting.years
    light = setting.plane(tilt_deg, azimuth_deg).poa_w_m2.reshape(years, DAYS_PER_YEAR, -1)
    asked = sum(
        (setting.demand.daily_wh(load) for load in setting.demand.loads), np.zeros(DAYS_PER_YEAR)
    )
    sun = light.mean(axis=2)
    sun /= max(float(sun.mean()), 1e-9)
    asked = asked / max(float(asked.mean()), 1e-9)
    # Three times the sun that would do on the mean of the year: what a winter array has.
    surplus = 3.0 * sun - asked
    votes = np.zeros(years)
    for days in SPELLS_D:
        worst = _lowest_mean(surplus, days)
        for place, year in enumerate(np.argsort(worst, kind="stable")[:WORST_OF_EACH]):
            votes[year] += 1.0 + 1.0 / (1 + place)
    ranked = np.argsort(-votes, kind="stable")
    chosen = [int(year) for year in ranked if votes[year] > 0.0]
    steps_per_day = setting.weather.grid.steps_per_day
    return Darkest(chosen, _scarce_spans(sun[chosen].mean(axis=0), asked) * steps_per_day)


def _scarce_spans(sun: FloatArray, asked: FloatArray) -> IntArray:
    """Days of the year with little sun for what is asked: first and end of each span."""
    window = np.ones(SMOOTHED_D) / SMOOTHED_D
    around = SMOOTHED_D // 2
    smooth_sun = np.convolve(np.pad(sun, around, mode="wrap"), window, mode="valid")
    smooth_asked = np.convolve(np.pad(asked, around, mode="wrap"), window, mode="valid")
    plenty = smooth_sun / np.maximum(smooth_asked, 1e-9)
    scarce = plenty <= SCARCE_FACTOR * plenty.min()
    led = scarce.copy()
    for days in range(1, LEAD_D + 1):
        led[:-days] |= scarce[days:]
    edges = np.diff(np.concatenate(([0], led.astype(np.int64), [0])))
    return np.stack([np.nonzero(edges == 1)[0], np.nonzero(edges == -1)[0]], axis=1)


def _lowest_mean(daily: FloatArray, days: int) -> FloatArray:
    """Lowest mean of some days in a row within each year."""
    sums = np.cumsum(np.pad(daily, ((0, 0), (1, 0))), axis=1)
    found: FloatArray = (sums[:, days:] - sums[:, :-days]).min(axis=1) / days
    return found
