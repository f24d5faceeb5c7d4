"""The hand method beside the simulation: what a handbook would size, step by step.

A teacher can follow it with a pocket calculator; where it differs from the simulated
answer, the difference is told.
"""

from __future__ import annotations

import numpy as np

from sunpantry.demand.series import Demand
from sunpantry.design.loads import SUPPLY_V
from sunpantry.design.moments import MONTHS
from sunpantry.figures import Figure, Given
from sunpantry.parts.system import Bank, System
from sunpantry.phrases import phrase
from sunpantry.physics import handbook
from sunpantry.physics.chemistry import CHEMISTRIES
from sunpantry.simulate.setting import Setting
from sunpantry.timegrid import MONTH_LENGTHS, FloatArray

# Depths that handbooks allow: in the whole of the autonomy, and in one day.
DEPTHS = {"lead": (0.80, 0.20), "lithium": (0.90, 0.80)}
DC_EFFICIENCY = 0.88
WORKSHEET = phrase("SAND87-7023 worksheets (Sandia, 1988; factors from memory)")


def hand_method(setting: Setting, system: System) -> tuple[Figure, ...]:
    """Size the system by the handbook procedure, each step a figure.

    Parameters
    ----------
    setting : Setting
        Sky and demand.
    system : System
        The system planned: its bank voltage, tilt and kinds of part are taken over, its
        sizes are compared.

    Returns
    -------
    tuple of Figure
        Empty for a system without a bank or an array.
    """
    if system.bank is None or not system.arrays:
        return ()
    energy = daily_energy_by_month(setting.demand, system)
    sun = sun_hours_by_month(setting, system)
    month = int(np.argmax(energy / np.maximum(sun, 1e-3)))
    daily_wh, hours = float(energy[month]), float(sun[month])
    charge_ah = handbook.daily_charge_ah(daily_wh, system.bank_v)
    corrected_ah = handbook.corrected_charge_ah(charge_ah)
    return (
        _energy(daily_wh, month, setting.demand),
        _sun(hours, month, system),
        _charge(charge_ah, corrected_ah, daily_wh, system.bank_v),
        *_battery(setting, system, charge_ah),
        *_array(system, corrected_ah, hours),
    )


def daily_energy_by_month(demand: Demand, system: System) -> FloatArray:
    """Energy drawn from the battery bus on a mean day of each month, shape (12,) [Wh]."""
    total = np.zeros(12)
    days = np.array(MONTH_LENGTHS, dtype=np.float64)
    for load in demand.loads:
        efficiency = _efficiency(load.supply, system)
        total += demand.monthly_wh(load) / days / efficiency
    return total


def _efficiency(supply: str, system: System) -> float:
    if supply not in SUPPLY_V:
        inverter = system.inverter
        return 0.85 if inverter is None else inverter.rated_efficiency_pct / 100.0
    return 1.0 if SUPPLY_V[supply] == system.bank_v else DC_EFFICIENCY


def sun_hours_by_month(setting: Setting, system: System) -> FloatArray:
    """Peak sun hours on the first array, mean of each month, shape (12,) [h/day]."""
    array = system.arrays[0]
    light = setting.plane(array.tilt_deg, array.azimuth_deg)
    mean_year = light.poa_w_m2.mean(axis=0) * setting.step_h / 1000.0
    by_month = np.bincount(setting.month_of, weights=mean_year, minlength=12)
    return np.asarray(by_month / np.array(MONTH_LENGTHS))


def _energy(daily_wh: float, month: int, demand: Demand) -> Figure:
    days = MONTH_LENGTHS[month]
    return Figure(
        name=phrase("by hand: energy asked for on a day in {month}", month=MONTHS[month]),
        value=daily_wh,
        unit="Wh/day",
        formula="sum over the loads of power × hours × duty / efficiency of their supply",
        inputs=tuple(
            Given(load.name, float(demand.monthly_wh(load)[month]) / days, "Wh/day")
            for load in demand.loads
        ),
        source=phrase(
            "{worksheet}; the month in which demand over sun is largest", worksheet=WORKSHEET
        ),
    )


def _sun(hours: float, month: int, system: System) -> Figure:
    array = system.arrays[0]
    return Figure(
        name=phrase("by hand: peak sun hours in {month}", month=MONTHS[month]),
        value=hours,
        unit="h/day",
        formula="mean light on the tilted panel / (1000 W/m²)",
        inputs=(
            Given("tilt", array.tilt_deg[month], "°"),
            Given("azimuth", array.azimuth_deg, "°"),
        ),
        source="the plan's own sky",
    )


def _charge(charge_ah: float, corrected_ah: float, daily_wh: float, bank_v: float) -> Figure:
    return Figure(
        name="by hand: charge the array must give in a day",
        value=corrected_ah,
        unit="Ah/day",
        formula="energy a day / battery voltage / (wire efficiency × battery efficiency)",
        inputs=(
            Given("energy a day", daily_wh, "Wh/day"),
            Given("battery voltage", bank_v, "V"),
            Given("charge drawn in a day", charge_ah, "Ah/day"),
            Given("wire efficiency", handbook.WIRE_EFFICIENCY),
            Given("battery efficiency", handbook.BATTERY_EFFICIENCY),
        ),
        source=WORKSHEET,
    )


def _battery(setting: Setting, system: System, charge_ah: float) -> tuple[Figure, ...]:
    bank = system.bank
    if bank is None:
        return ()
    critical = any(load.importance == 0 for load in setting.demand.loads)
    latitude = setting.weather.place.latitude
    low, high = handbook.usual_autonomy_days(latitude, critical=critical)
    days = Figure(
        name="by hand: days of autonomy to plan for",
        value=low,
        unit="days",
        formula="from the latitude, longer where something must never fail",
        inputs=(
            Given("latitude", latitude, "°"),
            Given("something must never fail", phrase("yes") if critical else phrase("no")),
            Given("usual at most", high, "days"),
        ),
        source="common practice, no source",
    )
    coldest_c = float(np.quantile(setting.cells_c(bank.housing), 0.05))
    return (days, *_capacity(bank, system.bank_v, charge_ah, days=low, coldest_c=coldest_c))


def _capacity(
    bank: Bank, bank_v: float, charge_ah: float, *, days: float, coldest_c: float
) -> tuple[Figure, ...]:
    """Battery by the handbook, and the days that the planned one really gives."""
    chemistry = CHEMISTRIES[bank.battery.chemistry]
    depth, daily_depth = DEPTHS["lead" if chemistry.is_lead_acid else "lithium"]
    cold = 1.0 / (1.0 - min(max(chemistry.capacity_per_k * (25.0 - coldest_c), 0.0), 0.8))
    capacity = handbook.capacity_by_standard_ah(
        daily_ah=charge_ah,
        days=days,
        max_depth=depth,
        max_daily_depth=daily_depth,
        temperature_factor=cold,
    )
    return (
        Figure(
            name="by hand: battery capacity",
            value=capacity,
            unit="Ah",
            formula=(
                phrase(
                    "largest of (days × charge a day / depth, charge a day / daily depth, days "
                    "× charge a day / 0.8) × cold factor × 1.10; the plan has {capacity_ah:.0f} "
                    "Ah, proven by simulation",
                    capacity_ah=bank.capacity_ah,
                )
            ),
            inputs=(
                Given("charge drawn in a day", charge_ah, "Ah/day"),
                Given("days of autonomy", days, "days"),
                Given("depth of discharge allowed", depth),
                Given("depth allowed in a day", daily_depth),
                Given("cold factor", cold),
            ),
            source="IEEE 1013 procedure (from memory); cold factor from the plan's battery model",
        ),
        Figure(
            name="days the planned battery carries the loads without sun",
            value=bank.energy_wh * depth / max(charge_ah * bank_v, 1e-9),
            unit="days",
            formula="nominal energy × depth of discharge allowed / energy a day",
            inputs=(
                Given("nominal energy", bank.energy_wh, "Wh"),
                Given("depth of discharge allowed", depth),
                Given("energy a day", charge_ah * bank_v, "Wh/day"),
            ),
            source="rule of thumb; the simulation does not use it",
        ),
    )


def _array(system: System, corrected_ah: float, hours: float) -> tuple[Figure, ...]:
    array = system.arrays[0]
    power_w = corrected_ah * system.bank_v / (max(hours, 1e-3) * handbook.MODULE_DERATE)
    pwm = system.controller is not None and system.controller.kind == "pwm"
    kind = "PWM" if pwm else "MPPT"
    if pwm:
        # a panel tied to the battery's voltage gives its current, not its power
        amps = corrected_ah / (max(hours, 1e-3) * handbook.MODULE_DERATE)
        power_w = amps * array.panel.vmp_v * array.series
    return (
        Figure(
            name="by hand: array power",
            value=power_w,
            unit="W",
            formula=phrase(
                "charge a day / (peak sun hours × 0.9), as current at the panel's voltage; the "
                "plan has {array_power_w:.0f} W, proven by simulation",
                array_power_w=system.array_power_w,
            )
            if pwm
            else phrase(
                "charge a day × battery voltage / (peak sun hours × 0.9); the plan has "
                "{array_power_w:.0f} W, proven by simulation",
                array_power_w=system.array_power_w,
            ),
            inputs=(
                Given("charge the array must give", corrected_ah, "Ah/day"),
                Given("peak sun hours", hours, "h/day"),
                Given("controller", kind),
                Given("panel voltage at maximum power", array.panel.vmp_v * array.series, "V"),
            ),
            source=WORKSHEET,
        ),
    )
