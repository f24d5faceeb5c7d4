"""One figure for each explanation, computed from the reader's own plan."""

from __future__ import annotations

from collections.abc import Callable

from sunpantry.design.moments import MONTHS
from sunpantry.explain.asked import PlanLike, Write, charging_v, coldest_open_v
from sunpantry.explain.conditions import (
    brightest_hour,
    curves_of,
    darkest_month,
    light_by_month,
    sky_at,
)
from sunpantry.explain.readings import rest_voltages
from sunpantry.parts.curves import panel_model
from sunpantry.parts.system import Array
from sunpantry.phrases import joined, phrase
from sunpantry.physics.cable import loop_resistance_ohm, smallest_size_mm2
from sunpantry.physics.panel import open_circuit_voltage, short_circuit_current
from sunpantry.wiring.build import PANEL_LEAD_M


def plainly(value: float, unit: str) -> str:
    """Write a number when no other way of writing is chosen: three digits and the unit."""
    number = f"{value:.3g}"
    return number + unit if unit in ("°", "%") else f"{number} {unit}".strip()


def _panel(plan: PlanLike, write: Write) -> str:
    array = plan.system.arrays[0]
    month = darkest_month(plan.setting, array)
    hour = brightest_hour(plan.setting, array, month=month)
    noons: dict[str, str] = {}
    for share, name in ((0.95, "bright"), (0.25, "grey")):
        sky = sky_at(plan.setting, array, month=month, clock_h=hour, share=share, words=name)
        here = {"irradiance_w_m2": sky.light_w_m2, "cell_temperature_c": sky.cell_c}
        model = panel_model(array.panel)
        noons[f"{name}_a"] = write(float(short_circuit_current(model, **here)), "A")
        noons[f"{name}_v"] = write(float(open_circuit_voltage(model, **here)), "V")
    where = phrase("leads open and leads joined")
    if array.panel.regulated_output_v is not None:
        where = phrase(
            "open and joined, before its regulator makes {volts} of it",
            volts=_socket(array, write),
        )
    return phrase(
        "Your {panel} in {month}: on a bright noon {bright_v} and {bright_a}, on a grey noon "
        "{grey_v} and {grey_a}, {where}. The volts stay, the amps follow the light.",
        panel=array.panel.name,
        month=MONTHS[month],
        where=where,
        **noons,
    )


def _socket(array: Array, write: Write) -> str:
    return write(array.panel.regulated_output_v or 0.0, "V")


def _volts(plan: PlanLike, write: Write) -> str:
    if not plan.demand.loads:
        power = write(plan.system.array_power_w, "W")
        return phrase("Your panels give up to {power}.", power=power)
    load = max(plan.demand.loads, key=plan.demand.yearly_wh)
    daily = plan.demand.yearly_wh(load) / 365.0
    volts = plan.system.bank_v
    words = phrase(
        "Your {load} draws {power} and takes {energy} on a mean day: at {volts} that is {amps}.",
        load=load.name,
        power=write(load.peak_w, "W"),
        energy=write(daily, "Wh"),
        volts=write(volts, "V"),
        amps=write(load.peak_w / volts, "A"),
    )
    bank = plan.system.bank
    if bank is None:
        return words
    return words + phrase(
        " Your battery, {charge} at {volts}, holds {energy}.",
        charge=write(bank.capacity_ah, "Ah"),
        volts=write(bank.nominal_v, "V"),
        energy=write(bank.energy_wh, "Wh"),
    )


def _limits(plan: PlanLike, write: Write) -> str:
    bank = plan.system.bank
    if bank is None:
        return _without_battery(plan, write)
    full, half = (rest_voltages(bank)[place].volts for place in (0, 2))
    lowest = min(winter.lowest_charge for winter in plan.proof.winter_list)
    rests = phrase(
        "Your battery rests at {full} when full and {half} when half full.",
        full=write(full, "V"),
        half=write(half, "V"),
    )
    if bank.battery.chemistry == "power_bank":
        energy = write(bank.energy_wh, "Wh")
        rests = phrase("Your power bank minds its {energy} itself.", energy=energy)
    return rests + phrase(
        " In {winters} simulated winters it never sinks below {lowest}, and it gets full on "
        "{days} of days.",
        winters=plan.proof.winters,
        lowest=write(round(100.0 * lowest), "%"),
        days=write(round(100.0 * plan.proof.full_day_share), "%"),
    )


def _controller(plan: PlanLike, write: Write) -> str:
    controller = plan.system.controller
    array = plan.system.arrays[0]
    coldest = plan.setting.climate.mean_annual_minimum_c
    here = {
        "cold": write(round(coldest), "°C"),
        "volts": write(coldest_open_v(array, coldest), "V"),
    }
    if controller is None and array.panel.regulated_output_v is not None:
        socket = _socket(array, write)
        return phrase("Your panel has a regulator of its own and gives {volts}.", volts=socket)
    if controller is None:
        return phrase(
            "At {cold}, in full light, your panels give {volts}; there is no charge controller in "
            "your system.",
            **here,
        )
    return phrase(
        "At {cold}, in full light, your panels give {volts}; your controller takes {limit}.",
        limit=write(controller.max_pv_voc_v, "V"),
        **here,
    )


def _cable(plan: PlanLike, write: Write) -> str:
    array = plan.system.arrays[0]
    amps = array.panel.imp_a * array.parallel
    length = plan.design.wiring.run_m("array")
    if array.panel.regulated_output_v is not None:
        # It comes with a lead.
        length = plan.design.wiring.runs.get("array", PANEL_LEAD_M)
    volts = array.panel.vmp_v * array.series
    size = smallest_size_mm2(
        current_a=amps,
        capacity_needed_a=1.25 * array.panel.isc_a * array.parallel,
        length_m=length,
        allowed_drop_v=0.03 * volts,
    )
    sent = {"amps": write(amps, "A"), "length": write(length, "m"), "share": write(3.0, "%")}
    if size is None:
        return phrase(
            "Your panels send {amps} over {length}: no single cable in the table keeps the loss "
            "to {share}.",
            **sent,
        )
    lost = amps * amps * loop_resistance_ohm(length_m=length, size_mm2=size)
    return phrase(
        "Your panels send {amps} over {length}. To lose no more than {share} takes {size}, which "
        "then warms itself with {lost} at full sun.",
        size=write(size, "mm²"),
        lost=write(lost, "W"),
        **sent,
    )


def _idle(plan: PlanLike, write: Write) -> str:
    inverter = plan.system.inverter
    asked = sum(load.energy_wh_per_year for load in plan.proof.loads) / 365.0
    if inverter is None:
        return phrase(
            "You have no inverter. One that idles at 8 W would take {idle} a day; your loads take "
            "{asked}.",
            idle=write(192.0, "Wh"),
            asked=write(asked, "Wh"),
        )
    return phrase(
        "Your inverter idles at {power}: left on, {idle} a day, while your loads take {asked}. As "
        "planned it costs {lost} a day, losses under load included.",
        power=write(inverter.idle_w, "W"),
        idle=write(inverter.idle_w * 24.0, "Wh"),
        asked=write(asked, "Wh"),
        lost=write(plan.proof.audit.inverter_wh / 365.0, "Wh"),
    )


def _winter(plan: PlanLike, write: Write) -> str:
    array = plan.system.arrays[0]
    light = light_by_month(plan.setting, array)
    dark, bright = int(light.argmin()), int(light.argmax())
    return phrase(
        "On your panels {bright_month} brings {bright} a day and {dark_month} {dark}. {kept} of "
        "{winters} winters pass with nothing missing.",
        bright_month=MONTHS[bright],
        bright=write(float(light[bright]), "kWh/m²"),
        dark_month=MONTHS[dark],
        dark=write(float(light[dark]), "kWh/m²"),
        kept=plan.proof.winters_without_shortfall,
        winters=plan.proof.winters,
    )


def _tilt(plan: PlanLike, write: Write) -> str:
    array = plan.system.arrays[0]
    dark = darkest_month(plan.setting, array)
    flat, mine, upright = (
        float(light_by_month(plan.setting, _tilted(array, tilt))[dark])
        for tilt in (0.0, array.tilt_deg[dark], 90.0)
    )
    return phrase(
        "Your panels in {month}: laid flat {flat} a day, at your {tilt} {mine}, upright {upright}.",
        month=MONTHS[dark],
        flat=write(flat, "kWh/m²"),
        tilt=write(array.tilt_deg[dark], "°"),
        mine=write(mine, "kWh/m²"),
        upright=write(upright, "kWh/m²"),
    )


def _tilted(array: Array, tilt_deg: float) -> Array:
    from dataclasses import replace

    return replace(array, tilt_deg=(tilt_deg,) * 12)


def _pwm(plan: PlanLike, write: Write) -> str:
    array = plan.system.arrays[0]
    if plan.system.controller is None:
        return phrase(
            "There is no charge controller: your {power} panel feeds what hangs on it by itself.",
            power=write(array.panel.power_w, "W"),
        )
    curves = curves_of(plan.setting, array, bank_v=charging_v(plan))
    words = [
        phrase(
            "On {sky} one of your panels gives {held} held at the battery's voltage and {best} at "
            "its best point.",
            sky=one.sky.words,
            held=write(one.held_w, "W"),
            best=write(one.best_w, "W"),
        )
        for one in curves
    ]
    return joined(words, " ")


def _series(plan: PlanLike, write: Write) -> str:
    array = plan.system.arrays[0]
    volts, amps = array.panel.vmp_v, array.panel.imp_a
    one = {"volts": write(volts, "V"), "amps": write(amps, "A")}
    if array.count == 1:
        return phrase(
            "Your one panel gives {volts} and {amps} in full sun. Two of them in series would give "
            "{twice_v} and {amps}, in parallel {volts} and {twice_a}.",
            twice_v=write(2.0 * volts, "V"),
            twice_a=write(2.0 * amps, "A"),
            **one,
        )
    return phrase(
        "Yours: {series} in series by {parallel} in parallel, {here_v} and {here_a} in full sun. "
        "All in series: {all_v} and {amps}. All in parallel: {volts} and {all_a}.",
        series=array.series,
        parallel=array.parallel,
        here_v=write(volts * array.series, "V"),
        here_a=write(amps * array.parallel, "A"),
        all_v=write(volts * array.count, "V"),
        all_a=write(amps * array.count, "A"),
        **one,
    )


_KINDS = {
    "lifepo4": phrase("lithium iron phosphate"),
    "power_bank": phrase("a power bank"),
}


def _chemistry(plan: PlanLike, write: Write) -> str:
    bank = plan.system.bank
    if bank is None:
        return _without_battery(plan, write)
    coldest = float(plan.setting.cells_c(bank.housing).min())
    life = plan.proof.life
    here = {
        "kind": _KINDS.get(bank.battery.chemistry, phrase("lead-acid")),
        "cold": write(round(coldest, 1), "°C"),
    }
    if life is None:
        return phrase(
            "Yours is {kind}. Where it stands, the coldest hour of all winters is {cold}.", **here
        )
    return phrase(
        "Yours is {kind} and should last between {low} and {high} years. Where it stands, the "
        "coldest hour of all winters is {cold}.",
        low=write(round(life.low_years), ""),
        high=write(round(life.high_years), ""),
        **here,
    )


def _safety(plan: PlanLike, write: Write) -> str:
    from sunpantry.simulate.columns import bank_model

    array = plan.system.arrays[0]
    volts = coldest_open_v(array, plan.setting.climate.mean_annual_minimum_c)
    words = phrase("The highest voltage your panels can reach is {volts}.", volts=write(volts, "V"))
    bank = plan.system.bank
    if bank is None:
        return words
    if bank.battery.chemistry == "power_bank":
        return words + phrase(
            " Your power bank holds {energy}: crushed, wet or overheated it can give them all back "
            "at once, as fire.",
            energy=write(bank.energy_wh, "Wh"),
        )
    model = bank_model(bank)
    return words + phrase(
        " A spanner across your battery would draw up to about {amps}.",
        amps=write(round(model.curve_v[-1] / model.surge_ohm, -2), "A"),
    )


def _without_battery(plan: PlanLike, write: Write) -> str:
    asked = sum(load.energy_wh_per_year for load in plan.proof.loads) / 365.0
    return phrase(
        "You have no battery: the {energy} of a mean day are used as the sun brings them, or not "
        "at all.",
        energy=write(asked, "Wh"),
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
