"""What a meter should show on the first day: from the same sky and curves as the proof.

Ranges are honest, not tight: the sky of an hour is taken from a share of all such hours in
all winters, and each end is widened by what a label (5 %) and a cheap meter (3 %) may be
out (common practice, no source).
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass

import numpy as np

from sunpantry.demand.series import LoadSeries
from sunpantry.design.loads import SUPPLY_V
from sunpantry.explain.conditions import array_output, hour_of_month
from sunpantry.parts.system import Bank, System
from sunpantry.phrases import Phrase, phrase
from sunpantry.simulate.columns import bank_model
from sunpantry.simulate.setting import Setting
from sunpantry.timegrid import FloatArray

WIDENED = 0.08
# Shares of the hours, from dull to bright, that count as cloudy and as clear.
CLOUDY, CLEAR = (0.10, 0.50), (0.75, 0.98)
# Below this the hour is left out: nothing to read.
_LEAST_W_M2 = 25.0
MAINS_TOLERANCE, CONVERTER_TOLERANCE = 0.10, 0.05
SEASONS = (11, 2, 5, 8)


@dataclass(frozen=True)
class Range:
    """What a reading should lie between."""

    low: float
    high: float


@dataclass(frozen=True)
class HourReading:
    """One clock hour.

    Parameters
    ----------
    clock_h : int
        It begins at this hour of the clock.
    open_v : Range
        Array with nothing connected, any daylight [V].
    clear_a, cloudy_a : Range
        Current into the battery while it takes all it can get [A].
    """

    clock_h: int
    open_v: Range
    clear_a: Range
    cloudy_a: Range


@dataclass(frozen=True)
class MonthReadings:
    """The hours of a day in one month, 0 = January."""

    month: int
    hours: tuple[HourReading, ...]


@dataclass(frozen=True)
class PointReading:
    """One point to put the meter to.

    Parameters
    ----------
    where, how : str
        Which terminals, and in which state.
    expected : Range
        In ``unit``.
    unit : str
        'V', 'A', 'W' or 'L/min'.
    if_not : str
        What it means otherwise.
    """

    where: str
    how: str
    expected: Range
    unit: str
    if_not: str


@dataclass(frozen=True)
class RestVoltage:
    """Voltage of the bank after some hours of rest, at a state of charge."""

    charge: float
    volts: float


@dataclass(frozen=True)
class FirstReadings:
    """Everything to read on commissioning day.

    Parameters
    ----------
    months : tuple of MonthReadings
        One, or one a season.
    points : tuple of PointReading
        In the order of work.
    loads : tuple of PointReading
        The lead of each load.
    rest : tuple of RestVoltage
        From full to empty; without a bank none.
    charging_v : float
        Battery voltage the currents are worked out for [V].
    """

    months: tuple[MonthReadings, ...]
    points: tuple[PointReading, ...]
    loads: tuple[PointReading, ...]
    rest: tuple[RestVoltage, ...]
    charging_v: float


def first_readings(
    setting: Setting,
    system: System,
    *,
    charging_v: float,
    mains_v: float = 230.0,
    month: int | None = None,
) -> FirstReadings:
    """Work out what the meter should show.

    Parameters
    ----------
    setting : Setting
        Sky and demand.
    system : System
        The parts.
    charging_v : float
        Voltage of the battery while it charges, not yet full [V].
    mains_v : float
        Voltage of the inverter's output [V].
    month : int, optional
        0 = January; the four seasons by default.

    Returns
    -------
    FirstReadings
    """
    chosen = SEASONS if month is None else (month,)
    months = tuple(_month(setting, system, one, charging_v) for one in chosen)
    return FirstReadings(
        months=months,
        points=tuple(_points(system, months, mains_v)),
        loads=tuple(_load_point(load) for load in setting.demand.loads),
        rest=rest_voltages(system.bank) if system.bank is not None else (),
        charging_v=system.arrays[0].panel.regulated_output_v or charging_v,
    )


def rest_voltages(bank: Bank) -> tuple[RestVoltage, ...]:
    """Voltage at rest from full to empty, in quarters of the charge given in 20 hours.

    Parameters
    ----------
    bank : Bank
        The bank.

    Returns
    -------
    tuple of RestVoltage
    """
    model = bank_model(bank)
    shares = np.array([1.0, 0.75, 0.5, 0.25, 0.0])
    charge, cell_v = zip(*model.constants.rest_points, strict=True)
    volts = model.cells * np.interp(shares, charge, cell_v)
    return tuple(
        RestVoltage(float(share), float(volt)) for share, volt in zip(shares, volts, strict=True)
    )


def _month(setting: Setting, system: System, month: int, charging_v: float) -> MonthReadings:
    hours = []
    for clock_h in range(24):
        reading = _hour(setting, system, month, clock_h, charging_v)
        if reading is not None:
            hours.append(reading)
    return MonthReadings(month, tuple(hours))


def _hour(
    setting: Setting, system: System, month: int, clock_h: int, charging_v: float
) -> HourReading | None:
    shares = np.array([*CLOUDY, *CLEAR])
    amps = np.zeros(4)
    watts = np.zeros(4)
    open_ends: list[float] = []
    brightest = 0.0
    pwm = system.controller is not None and system.controller.kind == "pwm"
    for array in system.arrays:
        light, air = hour_of_month(setting, array, month=month, clock_h=clock_h)
        at_light = np.quantile(light, shares)
        brightest = max(brightest, float(at_light[-1]))
        cell_c = float(air.mean()) + at_light * (array.panel.noct_c - 20.0) / 800.0
        held = charging_v if pwm else None
        open_v, current, volts = array_output(array, at_light, cell_c, held_v=held)
        amps += current
        watts += current * volts
        open_ends += [float(open_v[one]) for one in range(4) if at_light[one] > _LEAST_W_M2]
    if brightest < _LEAST_W_M2 or not open_ends:
        return None
    into = _into_battery(system, amps, watts, charging_v, pwm=pwm)
    return HourReading(
        clock_h=clock_h,
        open_v=Range(min(open_ends) * (1.0 - WIDENED / 2.0), max(open_ends) * (1.0 + WIDENED / 2)),
        cloudy_a=_widened(into[0], into[1]),
        clear_a=_widened(into[2], into[3]),
    )


def _into_battery(
    system: System, amps: FloatArray, watts: FloatArray, charging_v: float, *, pwm: bool
) -> FloatArray:
    if pwm or system.controller is None:
        into = amps
    else:
        into = watts * (system.controller.efficiency_pct / 100.0) / charging_v
    if system.controller is None:
        return _through_sockets(system, into, watts)
    return np.minimum(into, system.controller.rated_a * system.controller_count)


def _through_sockets(system: System, amps: FloatArray, watts: FloatArray) -> FloatArray:
    """Current out of the sockets of panels with a regulator of their own."""
    panel = system.arrays[0].panel
    if panel.regulated_output_v is None:
        return amps
    out = watts * (panel.regulated_efficiency_pct / 100.0) / panel.regulated_output_v
    most = panel.regulated_max_a
    return out if most is None else np.minimum(out, most * system.arrays[0].count)


def _widened(low: float, high: float) -> Range:
    return Range(float(low) * (1.0 - WIDENED), float(high) * (1.0 + WIDENED))


def _points(
    system: System, months: tuple[MonthReadings, ...], mains_v: float
) -> Iterator[PointReading]:
    bank = system.bank
    if bank is not None and bank.battery.chemistry != "power_bank":
        rest = rest_voltages(bank)
        tolerance = 0.01 * rest[0].volts
        yield PointReading(
            phrase("Battery terminals"),
            phrase("nothing connected, rested for some hours; red lead on plus"),
            Range(rest[2].volts - tolerance, rest[0].volts + tolerance),
            "V",
            phrase(
                "Lower: charge it before use, and measure again after a day. Near nothing: a fuse "
                "or the battery's own switch is open. A minus sign: the leads are swapped."
            ),
        )
    opens = [hour.open_v for month in months for hour in month.hours]
    regulated = system.arrays[0].panel.regulated_output_v
    if regulated is not None:
        yield PointReading(
            phrase("Socket of the panel"),
            phrase("bright daylight, nothing plugged in; a plug-in tester"),
            Range(regulated * (1.0 - CONVERTER_TOLERANCE), regulated * (1.0 + CONVERTER_TOLERANCE)),
            "V",
            phrase("Nothing: too little light, or the plug is not home."),
        )
    elif opens:
        yield PointReading(
            phrase("Array leads"),
            phrase("isolator open, daylight; red lead on plus"),
            Range(min(one.low for one in opens), max(one.high for one in opens)),
            "V",
            phrase(
                "About half, or a whole panel's voltage less: a panel is left out or turned "
                "round. Nothing: a connector is not home. A minus sign: swap before closing "
                "anything."
            ),
        )
    yield from _supply_points(system, mains_v)


def _supply_points(system: System, mains_v: float) -> Iterator[PointReading]:
    for converter in dict.fromkeys(system.converters):
        volts = converter.output_v
        yield PointReading(
            phrase("Output of {name}", name=converter.name),
            phrase("battery connected, nothing plugged in"),
            Range(volts * (1.0 - CONVERTER_TOLERANCE), volts * (1.0 + CONVERTER_TOLERANCE)),
            "V",
            phrase("Nothing: its fuse, or its input is the wrong way round."),
        )
    inverter = system.inverter
    if inverter is not None:
        amps = inverter.idle_w / system.bank_v
        yield PointReading(
            phrase("Battery lead of {name}", name=inverter.name),
            phrase("switched on, nothing plugged in; a clamp for direct current"),
            Range(amps * 0.6, amps * 1.4),
            "A",
            phrase(
                "More: something is plugged in after all, or the label promises too much; it "
                "counts day and night."
            ),
        )
        yield PointReading(
            phrase("Socket of {name}", name=inverter.name),
            phrase(
                "switched on; a plug-in meter, or one rated for mains, fingers behind the guards"
            ),
            Range(mains_v * (1.0 - MAINS_TOLERANCE), mains_v * (1.0 + MAINS_TOLERANCE)),
            "V",
            phrase("Much lower with a modified-sine inverter: the meter is not a true-RMS one.")
            if inverter.waveform == "modified"
            else phrase("Nothing: it has switched off; read its lamp and the battery's voltage."),
        )


def _load_point(load: LoadSeries) -> PointReading:
    """Amps in the lead; for the mains watts at the socket, which nobody has to open."""
    unit = "W" if load.supply == "mains" else "A"
    value = load.peak_w if load.supply == "mains" else load.peak_w / float(SUPPLY_V[load.supply])
    return PointReading(
        phrase("Lead of {name}", name=load.name),
        _all_running(load.supply),
        Range(value * 0.75, value * 1.25),
        unit,
        phrase(
            "More: it draws more than was planned; change the figure in the design and plan again. "
            "Nothing: fuse, switch or polarity."
        ),
    )


def _all_running(supply: str) -> Phrase:
    if supply == "mains":
        return phrase("all of it running, at mains; a plug-in energy meter")
    if supply == "5 V":
        return phrase("all of it running, at 5 V; a USB tester between")
    return phrase("all of it running, at {supply}; amps in its lead or by a clamp", supply=supply)
