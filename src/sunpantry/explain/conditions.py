"""Light and warmth at a clock hour of a month, and what the panels make of them."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import UTC, datetime
from zoneinfo import ZoneInfo

import numpy as np

from sunpantry.parts.curves import panel_model
from sunpantry.parts.system import Array
from sunpantry.phrases import phrase
from sunpantry.physics.array_losses import joining_factor
from sunpantry.physics.panel import current_at_voltage, maximum_power, open_circuit_voltage
from sunpantry.simulate.setting import Setting
from sunpantry.timegrid import DAYS_PER_YEAR, NOMINAL_YEAR, FloatArray

CURVE_POINTS = 49
# A month with less than this share of the brightest one is polar night.
_SOME_LIGHT = 0.01


@dataclass(frozen=True)
class Sky:
    """One state of the sky over a panel.

    Parameters
    ----------
    words : str
        'a clear noon in June'.
    light_w_m2 : float
        Light on the cells [W/m²].
    air_c, cell_c : float
        Temperature of the air and of the cells [°C].
    """

    words: str
    light_w_m2: float
    air_c: float
    cell_c: float


@dataclass(frozen=True)
class PanelCurve:
    """Current and voltage of one panel under one sky, new, without losses of joining.

    Parameters
    ----------
    sky : Sky
        The sky.
    voltage_v, current_a : tuple of float
        The curve, from short circuit to open circuit [V], [A].
    held_v, held_a : float
        Where a PWM controller holds it: at the battery's voltage [V], [A].
    best_v, best_a : float
        Where an MPPT controller holds it: at the most power [V], [A].
    """

    sky: Sky
    voltage_v: tuple[float, ...]
    current_a: tuple[float, ...]
    held_v: float
    held_a: float
    best_v: float
    best_a: float

    @property
    def held_w(self) -> float:
        """Power at the battery's voltage [W]."""
        return self.held_v * self.held_a

    @property
    def best_w(self) -> float:
        """Most power [W]."""
        return self.best_v * self.best_a


def utc_offset_h(timezone: str, month: int, *, day: int = 15) -> float:
    """Hours that the clock is ahead of UTC on a day of the nominal year.

    Parameters
    ----------
    timezone : str
        IANA name.
    month : int
        0 = January.
    day : int
        Day of the month; its middle by default.
    """
    noon = datetime(NOMINAL_YEAR, month + 1, day, 12, tzinfo=UTC)
    offset = noon.astimezone(ZoneInfo(timezone)).utcoffset()
    return offset.total_seconds() / 3600.0 if offset is not None else 0.0


def hour_of_month(setting: Setting, array: Array, *, month: int, clock_h: int) -> FloatArray:
    """Light and air in one clock hour of a month, over all years.

    Parameters
    ----------
    setting : Setting
        The sky.
    array : Array
        Which way it looks.
    month : int
        0 = January.
    clock_h : int
        Hour of the civil day, 0 to 23.

    Returns
    -------
    ndarray, shape (2, steps)
        Light on the cells [W/m²] and temperature of the air [°C].
    """
    light = setting.plane(array.tilt_deg, array.azimuth_deg)
    grid = light.grid
    offset = utc_offset_h(setting.weather.place.timezone, month)
    utc_h = (clock_h - offset) % 24.0
    # Where the clock is apart from UTC by part of a step, an hour lies in two steps.
    part = (utc_h / grid.step_h) % 1.0

    def taken(first_h: float) -> FloatArray:
        hours = (grid.hour_utc - first_h + 1e-9) % 24.0
        inside = (grid.month == month) & (hours < 1.0)
        return np.stack(
            [light.poa_w_m2[:, inside].reshape(-1), light.air_temperature_c[:, inside].reshape(-1)]
        )

    first_h = utc_h - part * grid.step_h
    if part < 1e-9:
        return taken(first_h)
    return (1.0 - part) * taken(first_h) + part * taken(first_h + grid.step_h)


def brightest_hour(setting: Setting, array: Array, *, month: int) -> int:
    """Clock hour of a month with the most light on an array.

    Parameters
    ----------
    setting : Setting
        The sky.
    array : Array
        Which way it looks.
    month : int
        0 = January.
    """
    means = [
        float(hour_of_month(setting, array, month=month, clock_h=hour)[0].mean())
        for hour in range(24)
    ]
    return int(np.argmax(means))


def light_by_month(setting: Setting, array: Array) -> FloatArray:
    """Mean light on an array in each month, January first, shape (12,) [kWh/m² a day]."""
    light = setting.plane(array.tilt_deg, array.azimuth_deg)
    total = np.bincount(light.grid.month, light.poa_w_m2.mean(axis=0), minlength=12)
    days = np.bincount(light.grid.month, minlength=12) / (light.grid.steps_per_year / DAYS_PER_YEAR)
    return np.asarray(total * light.grid.step_h / 1000.0 / days)


def darkest_month(setting: Setting, array: Array) -> int:
    """Month with the least light on an array, polar night left out, 0 = January.

    Parameters
    ----------
    setting : Setting
        The sky.
    array : Array
        Which way it looks.
    """
    light = light_by_month(setting, array)
    return int(np.where(light > _SOME_LIGHT * light.max(), light, np.inf).argmin())


def sky_at(
    setting: Setting, array: Array, *, month: int, clock_h: int, share: float, words: str
) -> Sky:
    """Pick one state of the sky out of an hour of a month.

    Parameters
    ----------
    setting, array, month, clock_h
        See :func:`hour_of_month`.
    share : float
        Share of such hours with less light [-].
    words : str
        What to call it.
    """
    light, air = hour_of_month(setting, array, month=month, clock_h=clock_h)
    at_light = float(np.quantile(light, share))
    near = np.argsort(np.abs(light - at_light))[: max(5, light.size // 20)]
    air_c = float(air[near].mean())
    cell_c = air_c + at_light * (array.panel.noct_c - 20.0) / 800.0
    return Sky(words, at_light, air_c, cell_c)


def panel_curve(array: Array, sky: Sky, *, held_v: float) -> PanelCurve:
    """Draw the curve of one panel of an array.

    Parameters
    ----------
    array : Array
        For its panel.
    sky : Sky
        Light and warmth.
    held_v : float
        Voltage at which a PWM controller holds the panel [V].
    """
    model = panel_model(array.panel)
    end = float(
        open_circuit_voltage(model, irradiance_w_m2=sky.light_w_m2, cell_temperature_c=sky.cell_c)
    )
    # The knee needs more points than the flat part: they are crowded towards its end.
    volts = end * np.sqrt(np.linspace(0.0, 1.0, CURVE_POINTS))
    here = {"irradiance_w_m2": sky.light_w_m2, "cell_temperature_c": sky.cell_c}
    amps = current_at_voltage(model, voltage_v=volts, **here)
    held_a = float(current_at_voltage(model, voltage_v=held_v, **here))
    best = maximum_power(model, **here)
    return PanelCurve(
        sky,
        tuple(volts.tolist()),
        tuple(amps.tolist()),
        held_v,
        held_a,
        float(best.voltage_v),
        float(best.current_a),
    )


def array_output(
    array: Array, light_w_m2: FloatArray, cell_c: FloatArray, *, held_v: float | None
) -> tuple[FloatArray, FloatArray, FloatArray]:
    """Open-circuit voltage, current and voltage at work of a whole array.

    Parameters
    ----------
    array : Array
        Its panels and how they are joined.
    light_w_m2, cell_c : ndarray
        Light on the cells [W/m²] and their temperature [°C].
    held_v : float or None
        Voltage a PWM controller holds the array at [V]; ``None`` for the most power.

    Returns
    -------
    tuple of ndarray
        Open-circuit voltage [V], current [A] and voltage at work [V]; the current with the
        losses of joining, the panels as good as new.
    """
    model = panel_model(array.panel)
    here = {"irradiance_w_m2": light_w_m2, "cell_temperature_c": cell_c}
    open_v = open_circuit_voltage(model, **here) * array.series
    left = joining_factor(panels=array.count)
    if held_v is None:
        best = maximum_power(model, **here)
        return open_v, best.current_a * array.parallel * left, best.voltage_v * array.series
    amps = current_at_voltage(model, voltage_v=held_v / array.series, **here)
    return open_v, amps * array.parallel * left, np.full_like(amps, held_v)


def curves_of(setting: Setting, system_array: Array, *, bank_v: float) -> tuple[PanelCurve, ...]:
    """Curves of a panel under a bright summer noon and a middling midwinter one.

    Parameters
    ----------
    setting : Setting
        The sky.
    system_array : Array
        The array.
    bank_v : float
        Voltage of the battery while it charges [V].

    Returns
    -------
    tuple of PanelCurve
        The brightest month's clear noon, the darkest month's middling noon.
    """
    from sunpantry.design.moments import MONTHS

    means = light_by_month(setting, system_array)
    skies = []
    for month, share, clear in (
        (int(means.argmax()), 0.9, True),
        (darkest_month(setting, system_array), 0.5, False),
    ):
        hour = brightest_hour(setting, system_array, month=month)
        words = phrase("a middling noon in {month}", month=MONTHS[month])
        if clear:
            words = phrase("a clear noon in {month}", month=MONTHS[month])
        skies.append(
            sky_at(setting, system_array, month=month, clock_h=hour, share=share, words=words)
        )
    held_v = bank_v / system_array.series
    return tuple(panel_curve(system_array, sky, held_v=held_v) for sky in skies)
