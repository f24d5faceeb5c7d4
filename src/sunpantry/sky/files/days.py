"""The days of a record, and whether they can be of the place."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from sunpantry.design.moments import SHORT_MONTHS
from sunpantry.errors import WeatherError
from sunpantry.phrases import phrase
from sunpantry.sky.clearness import extraterrestrial_kwh_m2_day
from sunpantry.sky.files.record import DateArray, WeatherRecord, fault
from sunpantry.sky.place import Place
from sunpantry.timegrid import DAYS_PER_YEAR, MONTH_LENGTHS, FloatArray, IntArray

_BEFORE_MONTH = np.concatenate([[0], np.cumsum(MONTH_LENGTHS)[:-1]])
# The middle of the sun's day lies within half an hour of solar noon, clouds and all.
_SHIFT_TOLD_H, _SHIFT_REFUSED_H = 0.6, 2.0
_BRIGHTEST_KT, _DARKEST_BEST_KT = 1.0, 0.08


@dataclass(frozen=True, eq=False)
class SolarDays:
    """Whole days of a record, in the mean solar time of the place.

    Parameters
    ----------
    dates : ndarray of datetime64[D], shape (days,)
        Without any 29 February.
    day_of_year : ndarray of int, shape (days,)
        1…365.
    ghi_kwh_m2 : ndarray, shape (days,)
        Irradiation on the flat, NaN where a reading is missing [kWh/m²].
    temperature_c : ndarray or None, shape (days,)
        Mean air temperature [°C].
    """

    dates: DateArray
    day_of_year: IntArray
    ghi_kwh_m2: FloatArray
    temperature_c: FloatArray | None

    def monthly_mean(self, values: FloatArray) -> FloatArray:
        """Mean over the known days of each month, NaN where there are none, shape (12,)."""
        month = np.searchsorted(_BEFORE_MONTH, self.day_of_year, side="left") - 1
        known = np.isfinite(values)
        count = np.bincount(month[known], minlength=12)
        total = np.bincount(month[known], values[known], minlength=12)
        means = np.full(12, np.nan)
        means[count > 0] = total[count > 0] / count[count > 0]
        return means


def solar_days(record: WeatherRecord, place: Place) -> SolarDays:
    """Sum a regular record over the days of the place.

    Parameters
    ----------
    record : WeatherRecord
        Regular in time.
    place : Place
        Where.

    Returns
    -------
    SolarDays
        A typical year goes round: its last hours belong with its first.
    """
    per_day = round(24.0 / record.step_h)
    local = _local_times(record, place)
    ghi, air = record.ghi_w_m2, record.air_temperature_c
    if record.typical:
        year = local.astype("datetime64[Y]")
        local = local - (year - year[0]).astype(np.int64) * np.timedelta64(365, "D")
        order = np.argsort(local, kind="stable")
        local, ghi, air = local[order], ghi[order], None if air is None else air[order]
    dates, first, counts = np.unique(
        local.astype("datetime64[D]"), return_index=True, return_counts=True
    )
    day_of_year, leap = calendar_day(dates)
    whole = (counts == per_day) & ~leap
    total = np.add.reduceat(ghi, first) * record.step_h / 1000.0
    return SolarDays(
        dates=dates[whole],
        day_of_year=day_of_year[whole],
        ghi_kwh_m2=total[whole],
        temperature_c=None if air is None else (np.add.reduceat(air, first) / counts)[whole],
    )


def in_leap_day(record: WeatherRecord, place: Place) -> NDArray[np.bool_]:
    """Tell which intervals lie in a 29 February of the place."""
    return calendar_day(_local_times(record, place))[1]


def _local_times(record: WeatherRecord, place: Place) -> DateArray:
    """Times in the mean solar time of the place, whole hours; of a day, its middle."""
    middle_h = 12 if record.step_h == 24.0 else 0
    return record.starts_utc + np.timedelta64(round(place.solar_offset_h) + middle_h, "h")


def calendar_day(times: DateArray) -> tuple[IntArray, NDArray[np.bool_]]:
    """Day of a 365-day year, 1…365, of each time, and which lie in a 29 February."""
    months = times.astype("datetime64[M]")
    month = months.astype(np.int64) % 12
    day = (times.astype("datetime64[D]") - months.astype("datetime64[D]")).astype(np.int64) + 1
    leap = (month == 1) & (day == 29)
    return (_BEFORE_MONTH[month] + day - leap).astype(np.int64), leap


def cloudless(record: WeatherRecord, place: Place) -> FloatArray:
    """What the sun would give without clouds at the middle of each interval.

    Parameters
    ----------
    record : WeatherRecord
        In UTC.
    place : Place
        Where.

    Returns
    -------
    ndarray, shape (steps,)
        Good for the shape of a day, not for its height (Haurwitz; the extraterrestrial
        mean in daily files) [W/m²].
    """
    from pvlib.solarposition import declination_spencer71, equation_of_time_spencer71

    half_s = round(record.step_h * 1800)
    middle = record.starts_utc + np.timedelta64(half_s, "s")
    day, _ = calendar_day(middle)
    if record.step_h == 24.0:
        return extraterrestrial_kwh_m2_day(place.latitude, day) * 1000.0 / 24.0
    of_day = (middle - middle.astype("datetime64[D]")).astype("timedelta64[s]").astype(np.int64)
    minutes = np.asarray(equation_of_time_spencer71(day), dtype=np.float64)
    solar_h = of_day / 3600.0 + place.solar_offset_h + minutes / 60.0
    turn = np.radians(15.0 * (solar_h - 12.0))
    phi, delta = np.radians(place.latitude), np.asarray(declination_spencer71(day))
    sine = np.sin(phi) * np.sin(delta) + np.cos(phi) * np.cos(delta) * np.cos(turn)
    up = np.maximum(sine, 1e-3)
    return np.where(sine > 0.0, 1098.0 * up * np.exp(-0.057 / up), 0.0)


def clock_shift_h(record: WeatherRecord, shape: FloatArray) -> float:
    """How much later than it should the sun stands in the middle of its day [h]."""
    known = np.isfinite(record.ghi_w_m2)
    seconds = record.starts_utc.astype("datetime64[s]").astype(np.int64)[known] % 86400
    round_day = np.exp(2j * np.pi * seconds / 86400.0)
    measured = np.sum(record.ghi_w_m2[known] * round_day)
    expected = np.sum(shape[known] * round_day)
    return float(np.angle(measured / expected) * 12.0 / np.pi)


def told_about_clock(record: WeatherRecord, shape: FloatArray) -> tuple[str, ...]:
    """Compare the middle of the sun's day with solar noon.

    Parameters
    ----------
    record : WeatherRecord
        Regular in time.
    shape : ndarray, shape (steps,)
        :func:`cloudless` light.

    Returns
    -------
    tuple of str
        A note when the clock seems wrong by more than 0.6 h.

    Raises
    ------
    WeatherError
        When it is wrong by more than 2 h.
    """
    known = np.isfinite(record.ghi_w_m2)
    if record.step_h == 24.0 or not shape[known].any() or not record.ghi_w_m2[known].any():
        return ()
    shift = clock_shift_h(record, shape)
    if abs(shift) <= _SHIFT_TOLD_H:
        return ()
    side = phrase("late") if shift > 0 else phrase("early")
    if abs(shift) > _SHIFT_REFUSED_H:
        raise fault(
            record.name,
            "column time",
            f"the sun stands highest {abs(shift):.1f} h too {side} for this place",
            "times in the time zone that was stated",
            "check the time zone, the sign of the longitude and the place",
        )
    return (
        phrase(
            "The sun of this file stands highest {shift:.1f} h too {side} for the place: check "
            "its time zone and whether its times mark the start or the end of an interval.",
            shift=abs(shift),
            side=side,
        ),
    )


def refuse_wrong_unit(record: WeatherRecord, days: SolarDays, place: Place) -> None:
    """Refuse days brighter than space, or a year without one fair day.

    Parameters
    ----------
    record : WeatherRecord
        For its name.
    days : SolarDays
        Its days.
    place : Place
        Where.

    Raises
    ------
    WeatherError
        Naming the day or the brightest clearness found.
    """
    above = extraterrestrial_kwh_m2_day(place.latitude, days.day_of_year)
    lit = (above > 1.0) & np.isfinite(days.ghi_kwh_m2)
    if not lit.any():
        return
    kt = days.ghi_kwh_m2[lit] / above[lit]
    brightest = int(np.argmax(kt))
    what = f"{days.ghi_kwh_m2[lit][brightest]:.3g} kWh/m² on {days.dates[lit][brightest]}"
    if kt.max() > _BRIGHTEST_KT:
        raise fault(
            record.name,
            "column ghi",
            what,
            f"at most {above[lit][brightest]:.3g} kWh/m² reaches the place above the air",
            "check the unit (W/m² or kWh/m²) and the place",
        )
    if np.quantile(kt, 0.95) < _DARKEST_BEST_KT:
        raise fault(
            record.name,
            "column ghi",
            f"at best {what}",
            f"a fair day there gives some {0.6 * above[lit][brightest]:.2g} kWh/m²",
            "check the unit: kW/m² taken for W/m²? State it in the column's name, as ghi_kw_m2",
        )


def refuse_short(record: WeatherRecord, days: SolarDays) -> None:
    """Refuse a record that does not have most of every month of a year.

    Parameters
    ----------
    record : WeatherRecord
        For its name.
    days : SolarDays
        Its days.

    Raises
    ------
    WeatherError
        Naming the months that lack days.
    """
    known = np.isfinite(days.ghi_kwh_m2)
    have = np.zeros(DAYS_PER_YEAR + 1, dtype=bool)
    have[days.day_of_year[known]] = True
    month = np.searchsorted(_BEFORE_MONTH, np.arange(1, DAYS_PER_YEAR + 1), side="left") - 1
    share = np.bincount(month, have[1:]) / np.array(MONTH_LENGTHS)
    lacking = np.nonzero(share < 0.8)[0]
    if lacking.size:
        months = ", ".join(SHORT_MONTHS[number] for number in lacking)
        raise WeatherError(
            f"{record.name}: {int(known.sum())} whole days, too few in {months}: needs a whole "
            "year, four days in five of every month; give a longer file, or type in the monthly "
            "sun instead"
        )
