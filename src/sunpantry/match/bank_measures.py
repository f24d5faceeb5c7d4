"""What a bank wants and stands: cells, set points, currents, cold."""

from __future__ import annotations

import math
from dataclasses import dataclass

from sunpantry.match.case import Case
from sunpantry.parts.system import Bank
from sunpantry.phrases import phrase
from sunpantry.physics.chemistry import CHEMISTRIES, Chemistry
from sunpantry.physics.enclosure import HOUSINGS

KIND_WORDS = {
    "flooded": phrase("flooded lead-acid"),
    "agm": "AGM",
    "gel": "gel",
    "lifepo4": "LiFePO4",
    "power_bank": phrase("power bank"),
}
HOUSING_NAMES = {
    "house": phrase("house"),
    "shed": phrase("shed"),
    "buried": phrase("buried"),
    "outdoors": phrase("outdoors"),
}
LEAD_ACID = frozenset({"flooded", "agm", "gel"})
# From the dawn of the coldest day to its mean [K], and from there to the mean of the month:
# common practice, no source.
HALF_DAILY_SWING_K = 5.0
COLD_SPELL_K = 5.0
DAY_H = 24.0
HALF_FULL = 0.5


@dataclass(frozen=True, slots=True)
class Window:
    """Usual set points of a chemistry, V per cell at 25 °C (from memory).

    Parameters
    ----------
    absorb_low_v, absorb_high_v, float_high_v : float
        Absorption between the first two, float at most the third [V].
    grace_v : float
        How far outside is still no harm [V]; 0.05 V is 0.3 V on a 12 V battery.
    """

    absorb_low_v: float
    absorb_high_v: float
    float_high_v: float
    grace_v: float


WINDOWS: dict[str, Window] = {
    "flooded": Window(2.40, 2.47, 2.25, 0.05),
    "agm": Window(2.40, 2.45, 2.30, 0.05),
    "gel": Window(2.35, 2.40, 2.30, 0.05),
    "lifepo4": Window(3.50, 3.65, 3.40, 0.05),
}


def constants(bank: Bank) -> Chemistry:
    """Constants of the bank's chemistry."""
    return CHEMISTRIES[bank.battery.chemistry]


def cells(bank: Bank) -> int:
    """Cells in series."""
    if bank.battery.chemistry == "power_bank":
        return bank.series
    return max(1, round(bank.nominal_v / constants(bank).cell_v))


def is_lead(case: Case) -> bool:
    """Whether the bank is a lead-acid one."""
    bank = case.system.bank
    return bank is not None and bank.battery.chemistry in LEAD_ACID


def max_charge_a(bank: Bank) -> float:
    """Highest charge current: of the label, else the usual one of the chemistry [A]."""
    label_a = bank.battery.max_charge_a
    return bank.parallel * (
        constants(bank).charge_c_rate * bank.battery.capacity_ah if label_a is None else label_a
    )


def max_discharge_a(bank: Bank) -> float:
    """Highest discharge current: of the label, else the usual one of the chemistry [A]."""
    label_a = bank.battery.max_discharge_a
    return bank.parallel * (
        constants(bank).discharge_c_rate * bank.battery.capacity_ah if label_a is None else label_a
    )


def least_charge_c(bank: Bank) -> float:
    """Coldest temperature at which the bank may be charged [°C]."""
    label_c = bank.battery.min_charge_temperature_c
    return constants(bank).min_charge_c if label_c is None else label_c


def half_full_v(bank: Bank, *, amps: float) -> float:
    """Voltage of a half-full bank in the second in which it gives a current [V]."""
    chemistry, count = constants(bank), cells(bank)
    label_ohm = bank.battery.internal_resistance_ohm
    ohm = chemistry.surge_ohm_ah * count / bank.capacity_ah
    if label_ohm:
        ohm = label_ohm * bank.series / bank.parallel
    rest_v = count * next(volts for soc, volts in chemistry.rest_points if soc >= HALF_FULL)
    return rest_v - amps * ohm


def absorption_v(case: Case) -> float:
    """Highest regular charge voltage of the bank at 25 °C [V]."""
    controller, bank = case.system.controller, case.system.bank
    if bank is not None and (controller is None or controller.adjustable):
        label_v = bank.battery.absorption_v
        return bank.series * label_v if label_v else cells(bank) * constants(bank).absorption_v
    return (14.4 if controller is None else controller.absorption_v) * case.scale


def highest_bank_v(case: Case) -> float:
    """Highest voltage the bank sees: absorption raised by the cold [V]."""
    controller = case.system.controller
    at_25_v = absorption_v(case)
    if controller is None or case.system.bank is None or not is_lead(case):
        return at_25_v
    if controller.temperature_sensor:
        per_k = controller.temp_comp_mv_per_cell_k / 1000.0 * cells(case.system.bank)
        at_25_v += max(0.0, per_k * (coldest_battery_c(case) - 25.0))
    return at_25_v


def housed_coldest_c(coldest_air_c: float, housing: str) -> float:
    """Estimate the coldest temperature of a battery where it stands.

    The daily swing reaches it evened out as through a first-order lag; what lags by days
    also misses part of the cold spell.

    Parameters
    ----------
    coldest_air_c : float
        Coldest hour of a usual year [°C].
    housing : str
        Key of ``HOUSINGS``.

    Returns
    -------
    float
        Temperature [°C].

    References
    ----------
    Damping of a first-order lag, 1/√(1 + (2πτ/24)²); swings are common practice, no
    source. A simulated temperature replaces this estimate.
    """
    place = HOUSINGS[housing]
    turns = 2.0 * math.pi * place.lag_h / DAY_H
    felt = 1.0 / math.sqrt(1.0 + turns * turns)
    days = place.lag_h / DAY_H
    warmed = coldest_air_c + HALF_DAILY_SWING_K * (1.0 - felt) + COLD_SPELL_K * min(days, 1.0)
    return warmed if place.lowest_c is None else max(warmed, place.lowest_c)


def coldest_battery_c(case: Case) -> float:
    """Coldest temperature of the bank: of the simulation, else estimated [°C]."""
    if case.proof is not None and case.proof.coldest_battery_c is not None:
        return case.proof.coldest_battery_c
    bank = case.system.bank
    return housed_coldest_c(case.coldest_c, "outdoors" if bank is None else bank.housing)
