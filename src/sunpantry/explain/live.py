"""One figure for each explanation, computed from the reader's own plan."""

from __future__ import annotations

from collections.abc import Callable
from typing import Protocol

import numpy as np

from sunpantry.demand.series import Demand
from sunpantry.design.models import Design
from sunpantry.design.moments import MONTHS
from sunpantry.explain.conditions import (
    brightest_hour,
    curves_of,
    darkest_month,
    light_by_month,
    sky_at,
)
from sunpantry.explain.readings import rest_voltages
from sunpantry.parts.curves import panel_model
from sunpantry.parts.system import Array, System
from sunpantry.physics.cable import loop_resistance_ohm, smallest_size_mm2
from sunpantry.physics.panel import open_circuit_voltage, short_circuit_current
from sunpantry.simulate import layout as at
from sunpantry.simulate.proof import Proof
from sunpantry.simulate.setting import Setting
from sunpantry.sky.from_site import SiteSky
from sunpantry.wiring.build import PANEL_LEAD_M

Write = Callable[[float, str], str]


class PlanLike(Protocol):
    """What an explanation reads of a plan."""

    @property
    def design(self) -> Design:
        """The question."""

    @property
    def sky(self) -> SiteSky:
        """Place and climate."""

    @property
    def demand(self) -> Demand:
        """What is asked."""

    @property
    def system(self) -> System:
        """The parts."""

    @property
    def proof(self) -> Proof:
        """With a worn battery."""

    @property
    def proof_new(self) -> Proof:
        """With a new battery."""

    @property
    def setting(self) -> Setting:
        """What the runs shared."""


def plainly(value: float, unit: str) -> str:
    """Write a number when no other way of writing is chosen: three digits and the unit."""
    number = f"{value:.3g}"
    return number + unit if unit in ("°", "%") else f"{number} {unit}".strip()


def charging_v(plan: PlanLike) -> float:
    """Mean voltage of the battery while it charges [V]; that of the system without one."""
    traces = plan.proof_new.traces
    charging = traces[at.TR_CURRENT] > 0.0
    if plan.system.bank is None or not charging.any():
        return plan.system.bank_v
    volts, amps = traces[at.TR_VOLT][charging], traces[at.TR_CURRENT][charging]
    return float(np.average(volts, weights=amps))


def _panel(plan: PlanLike, write: Write) -> str:
    array = plan.system.arrays[0]
    month = darkest_month(plan.setting, array)
    hour = brightest_hour(plan.setting, array, month=month)
    words = []
    for share, sky_word in ((0.95, "bright"), (0.25, "grey")):
        sky = sky_at(plan.setting, array, month=month, clock_h=hour, share=share, words=sky_word)
        here = {"irradiance_w_m2": sky.light_w_m2, "cell_temperature_c": sky.cell_c}
        model = panel_model(array.panel)
        amps = float(short_circuit_current(model, **here))
        volts = float(open_circuit_voltage(model, **here))
        words.append(f"on a {sky_word} noon {write(volts, 'V')} and {write(amps, 'A')}")
    where = "leads open and leads joined"
    if array.panel.regulated_output_v is not None:
        where = f"open and joined, before its regulator makes {_socket(array, write)} of it"
    return (
        f"Your {array.panel.name} in {MONTHS[month]}: {words[0]}, {words[1]}, {where}. The volts "
        "stay, the amps follow the light."
    )


def _socket(array: Array, write: Write) -> str:
    return write(array.panel.regulated_output_v or 0.0, "V")


def _volts(plan: PlanLike, write: Write) -> str:
    if not plan.demand.loads:
        return f"Your panels give up to {write(plan.system.array_power_w, 'W')}."
    load = max(plan.demand.loads, key=plan.demand.yearly_wh)
    daily = plan.demand.yearly_wh(load) / 365.0
    volts = plan.system.bank_v
    words = (
        f"Your {load.name} draws {write(load.peak_w, 'W')} and takes {write(daily, 'Wh')} on a "
        f"mean day: at {write(volts, 'V')} that is {write(load.peak_w / volts, 'A')}"
    )
    bank = plan.system.bank
    if bank is None:
        return words + "."
    return (
        f"{words}. Your battery, {write(bank.capacity_ah, 'Ah')} at {write(bank.nominal_v, 'V')}, "
        f"holds {write(bank.energy_wh, 'Wh')}."
    )


def _limits(plan: PlanLike, write: Write) -> str:
    bank = plan.system.bank
    if bank is None:
        return _without_battery(plan, write)
    full, half = (rest_voltages(bank)[place].volts for place in (0, 2))
    lowest = min(winter.lowest_charge for winter in plan.proof.winter_list)
    rests = (
        f"Your battery rests at {write(full, 'V')} when full and {write(half, 'V')} when half full."
        if bank.battery.chemistry != "power_bank"
        else f"Your power bank minds its {write(bank.energy_wh, 'Wh')} itself."
    )
    return (
        f"{rests} In {plan.proof.winters} simulated winters it never sinks below "
        f"{write(round(100.0 * lowest), '%')}, and it gets full on "
        f"{write(round(100.0 * plan.proof.full_day_share), '%')} of days."
    )


def coldest_open_v(array: Array, coldest_c: float) -> float:
    """Open-circuit voltage of a whole array in full light on the coldest morning [V].

    Parameters
    ----------
    array : Array
        Panels and how many stand in a row.
    coldest_c : float
        Temperature of the cells before the light has warmed them [°C].
    """
    one = open_circuit_voltage(
        panel_model(array.panel), irradiance_w_m2=1000.0, cell_temperature_c=coldest_c
    )
    return float(one) * array.series


def _controller(plan: PlanLike, write: Write) -> str:
    controller = plan.system.controller
    array = plan.system.arrays[0]
    coldest = plan.setting.climate.mean_annual_minimum_c
    volts = coldest_open_v(array, coldest)
    words = f"At {write(round(coldest), '°C')}, in full light, your panels give {write(volts, 'V')}"
    if controller is None and array.panel.regulated_output_v is not None:
        return f"Your panel has a regulator of its own and gives {_socket(array, write)}."
    if controller is None:
        return f"{words}; there is no charge controller in your system."
    return f"{words}; your controller takes {write(controller.max_pv_voc_v, 'V')}."


def _cable(plan: PlanLike, write: Write) -> str:
    array = plan.system.arrays[0]
    amps = array.panel.imp_a * array.parallel
    length = plan.design.wiring.run_m("array")
    if array.panel.regulated_output_v is not None:
        # It comes with a lead.
        length = plan.design.wiring.runs.get("array", PANEL_LEAD_M)
    lost_words = f"To lose no more than {write(3.0, '%')}"
    volts = array.panel.vmp_v * array.series
    size = smallest_size_mm2(
        current_a=amps,
        capacity_needed_a=1.25 * array.panel.isc_a * array.parallel,
        length_m=length,
        allowed_drop_v=0.03 * volts,
    )
    if size is None:
        return (
            f"Your panels send {write(amps, 'A')} over {write(length, 'm')}: no single cable in "
            f"the table keeps the loss to {write(3.0, '%')}."
        )
    lost = amps * amps * loop_resistance_ohm(length_m=length, size_mm2=size)
    return (
        f"Your panels send {write(amps, 'A')} over {write(length, 'm')}. {lost_words} takes "
        f"{write(size, 'mm²')}, which then warms itself with {write(lost, 'W')} at full sun."
    )


def _idle(plan: PlanLike, write: Write) -> str:
    inverter = plan.system.inverter
    asked = sum(load.energy_wh_per_year for load in plan.proof.loads) / 365.0
    if inverter is None:
        return (
            f"You have no inverter. One that idles at 8 W would take {write(192.0, 'Wh')} a day; "
            f"your loads take {write(asked, 'Wh')}."
        )
    idle = inverter.idle_w * 24.0
    lost = plan.proof.audit.inverter_wh / 365.0
    return (
        f"Your inverter idles at {write(inverter.idle_w, 'W')}: left on, {write(idle, 'Wh')} a "
        f"day, while your loads take {write(asked, 'Wh')}. As planned it costs "
        f"{write(lost, 'Wh')} a day, losses under load included."
    )


def _winter(plan: PlanLike, write: Write) -> str:
    array = plan.system.arrays[0]
    light = light_by_month(plan.setting, array)
    dark, bright = int(light.argmin()), int(light.argmax())
    return (
        f"On your panels {MONTHS[bright]} brings {write(float(light[bright]), 'kWh/m²')} a day and "
        f"{MONTHS[dark]} {write(float(light[dark]), 'kWh/m²')}. "
        f"{plan.proof.winters_without_shortfall} of {plan.proof.winters} winters pass with "
        "nothing missing."
    )


def _tilt(plan: PlanLike, write: Write) -> str:
    array = plan.system.arrays[0]
    dark = darkest_month(plan.setting, array)
    tried = {
        tilt: float(light_by_month(plan.setting, _tilted(array, tilt))[dark])
        for tilt in (0.0, array.tilt_deg[dark], 90.0)
    }
    flat, mine, upright = tried[0.0], tried[array.tilt_deg[dark]], tried[90.0]
    return (
        f"Your panels in {MONTHS[dark]}: laid flat {write(flat, 'kWh/m²')} a day, at your "
        f"{write(array.tilt_deg[dark], '°')} {write(mine, 'kWh/m²')}, upright "
        f"{write(upright, 'kWh/m²')}."
    )


def _tilted(array: Array, tilt_deg: float) -> Array:
    from dataclasses import replace

    return replace(array, tilt_deg=(tilt_deg,) * 12)


def _pwm(plan: PlanLike, write: Write) -> str:
    array = plan.system.arrays[0]
    if plan.system.controller is None:
        return (
            f"There is no charge controller: your {write(array.panel.power_w, 'W')} panel feeds "
            "what hangs on it by itself."
        )
    curves = curves_of(plan.setting, array, bank_v=charging_v(plan))
    words = [
        f"On {one.sky.words} one of your panels gives {write(one.held_w, 'W')} held at the "
        f"battery's voltage and {write(one.best_w, 'W')} at its best point"
        for one in curves
    ]
    return f"{words[0]}. {words[1]}."


def _series(plan: PlanLike, write: Write) -> str:
    array = plan.system.arrays[0]
    volts, amps = array.panel.vmp_v, array.panel.imp_a
    if array.count == 1:
        return (
            f"Your one panel gives {write(volts, 'V')} and {write(amps, 'A')} in full sun. Two of "
            f"them in series would give {write(2.0 * volts, 'V')} and {write(amps, 'A')}, in "
            f"parallel {write(volts, 'V')} and {write(2.0 * amps, 'A')}."
        )
    return (
        f"Yours: {array.series} in series by {array.parallel} in parallel, "
        f"{write(volts * array.series, 'V')} and {write(amps * array.parallel, 'A')} in full sun. "
        f"All in series: {write(volts * array.count, 'V')} and {write(amps, 'A')}. "
        f"All in parallel: {write(volts, 'V')} and {write(amps * array.count, 'A')}."
    )


def _chemistry(plan: PlanLike, write: Write) -> str:
    bank = plan.system.bank
    if bank is None:
        return _without_battery(plan, write)
    coldest = float(plan.setting.cells_c(bank.housing).min())
    life = plan.proof_new.life
    years = ""
    if life is not None:
        low, high = (write(round(one), "") for one in (life.low_years, life.high_years))
        years = f" and should last between {low} and {high} years"
    kind = "lithium iron phosphate" if bank.battery.chemistry == "lifepo4" else "lead-acid"
    if bank.battery.chemistry == "power_bank":
        kind = "a power bank"
    return (
        f"Yours is {kind}{years}. Where it stands, the coldest hour of all winters is "
        f"{write(round(coldest, 1), '°C')}."
    )


def _safety(plan: PlanLike, write: Write) -> str:
    from sunpantry.simulate.columns import bank_model

    array = plan.system.arrays[0]
    volts = coldest_open_v(array, plan.setting.climate.mean_annual_minimum_c)
    words = f"The highest voltage your panels can reach is {write(volts, 'V')}"
    bank = plan.system.bank
    if bank is None:
        return words + "."
    if bank.battery.chemistry == "power_bank":
        return (
            f"{words}. Your power bank holds {write(bank.energy_wh, 'Wh')}: crushed, wet or "
            "overheated it can give them all back at once, as fire."
        )
    model = bank_model(bank)
    return (
        f"{words}. A spanner across your battery would draw up to about "
        f"{write(round(model.curve_v[-1] / model.surge_ohm, -2), 'A')}."
    )


def _without_battery(plan: PlanLike, write: Write) -> str:
    asked = sum(load.energy_wh_per_year for load in plan.proof.loads) / 365.0
    return (
        f"You have no battery: the {write(asked, 'Wh')} of a mean day are used as the sun brings "
        "them, or not at all."
    )


LIVE: dict[str, Callable[[PlanLike, Write], str]] = {
    "panel": _panel,
    "volts-amps-watts": _volts,
    "battery-limits": _limits,
    "controller": _controller,
    "thick-cable": _cable,
    "inverter-idle": _idle,
    "winter": _winter,
    "tilt": _tilt,
    "pwm-mppt": _pwm,
    "series-parallel": _series,
    "lead-lithium": _chemistry,
    "safety": _safety,
}


def live_words(topic: str, plan: PlanLike, write: Write = plainly) -> str:
    """The figure of a topic for a plan, in a sentence or two.

    Parameters
    ----------
    topic : str
        A key of :data:`LIVE`.
    plan : PlanLike
        The reader's plan.
    write : callable
        Writes a number with its unit.

    Returns
    -------
    str
        Empty for a plan without panels.
    """
    if not plan.system.arrays:
        return ""
    return LIVE[topic](plan, write)
