"""What another part must have on its label to stand in for one of the list."""

from __future__ import annotations

import math
from collections.abc import Iterable, Iterator
from dataclasses import dataclass
from typing import Literal, Protocol

import numpy as np

from sunpantry.demand.series import Demand
from sunpantry.design.nameplates import ConverterNameplate
from sunpantry.explain.asked import coldest_open_v
from sunpantry.parts.system import Array, Bank, System
from sunpantry.phrases import phrase
from sunpantry.simulate.setting import Setting
from sunpantry.timegrid import FloatArray
from sunpantry.wiring.settings import CHEMISTRY_WORDS

Relation = Literal["at least", "at most", "is", "same"]
# What the proof can bear without being run again.
_NEARLY, _WIDER = 0.97, 1.10


@dataclass(frozen=True)
class Limit:
    """One thing to look for on a label.

    Parameters
    ----------
    label : str
        As labels call it.
    relation : str
        'at least', 'at most', 'is', or 'same' for a word.
    value : float or str
        In ``unit``.
    unit : str
        As printed.
    """

    label: str
    relation: Relation
    value: float | str
    unit: str = ""


@dataclass(frozen=True)
class PartLimits:
    """What may stand in for one part."""

    role: str
    name: str
    limits: tuple[Limit, ...]


def replacement_limits(setting: Setting, system: System) -> tuple[PartLimits, ...]:
    """Limits for every part of a system, so that a shop's other model can be checked.

    Parameters
    ----------
    setting : Setting
        Sky and demand.
    system : System
        The parts.

    Returns
    -------
    tuple of PartLimits
        In the order of the current's way.
    """
    found = [
        PartLimits(phrase("panel"), array.panel.name, tuple(_panel(setting, system, place)))
        for place, array in enumerate(system.arrays)
    ]
    if system.controller is not None:
        found.append(
            PartLimits(
                phrase("controller"), system.controller.name, tuple(_controller(setting, system))
            )
        )
    if system.bank is not None:
        found.append(
            PartLimits(
                phrase("battery"), system.bank.battery.name, tuple(_battery(system, setting.demand))
            )
        )
    if system.inverter is not None:
        limits = tuple(_inverter(system, setting.demand))
        found.append(PartLimits(phrase("inverter"), system.inverter.name, limits))
    found.extend(
        PartLimits(phrase("converter"), one.name, tuple(_converter(one, system)))
        for one in dict.fromkeys(system.converters)
    )
    return tuple(found)


class PipeLike(Protocol):
    """A pipe and the pump's operating point on it."""

    @property
    def bore_mm(self) -> float:
        """Inside diameter [mm]."""

    @property
    def head_m(self) -> float:
        """What the pump lifts against, friction included [m]."""


class WaterLike(Protocol):
    """What is read of a tank's report."""

    @property
    def pump(self) -> str:
        """Its name."""

    @property
    def pipe(self) -> PipeLike:
        """The pipe."""


def pipe_limits(waters: Iterable[WaterLike]) -> Iterator[PartLimits]:
    """Limits for the pipe of every pump: its bore, and the pressure it must bear.

    Parameters
    ----------
    waters : iterable of WaterLike
        From the plan.

    Notes
    -----
    Half as much again as the head, for the blow when a valve shuts: common practice, no
    source. A column of 10.2 m of water presses with 1 bar.
    """
    for water in waters:
        pressure = Limit(
            phrase("bears"), "at least", math.ceil(1.5 * water.pipe.head_m / 10.2), "bar"
        )
        bore = Limit(phrase("inside diameter"), "at least", water.pipe.bore_mm, "mm")
        yield PartLimits(
            phrase("pipe"), phrase("pipe of {pump}", pump=water.pump), (bore, pressure)
        )


def _panel(setting: Setting, system: System, place: int) -> Iterator[Limit]:
    array = system.arrays[place]
    panel = array.panel
    yield Limit(phrase("power"), "at least", _NEARLY * panel.power_w, "W")
    controller = system.controller
    if controller is None:
        yield from _alone(array)
        return
    grown = coldest_open_v(array, setting.climate.mean_annual_minimum_c) / panel.voc_v
    yield Limit(phrase("open-circuit voltage Voc"), "at most", controller.max_pv_voc_v / grown, "V")
    if controller.kind == "pwm":
        yield Limit(phrase("voltage at full power Vmp"), "at least", _NEARLY * panel.vmp_v, "V")
        yield Limit(phrase("voltage at full power Vmp"), "at most", _WIDER * panel.vmp_v, "V")
    else:
        least = (1.25 * system.bank_v + controller.start_headroom_v) / array.series
        yield Limit(phrase("voltage at full power Vmp"), "at least", 1.15 * least, "V")
    if controller.kind == "pwm":
        each = controller.rated_a * system.controller_count / array.parallel
        yield Limit(phrase("short-circuit current Isc"), "at most", each, "A")
    if array.count > 1:
        yield Limit(phrase("all panels"), "same", phrase("of one model"))


def _alone(array: Array) -> Iterator[Limit]:
    """A panel without a controller: what hangs on it must get the same voltage."""
    panel = array.panel
    if panel.regulated_output_v is not None:
        yield Limit(phrase("socket"), "is", panel.regulated_output_v, "V")
        return
    yield Limit(phrase("voltage at full power Vmp"), "at least", _NEARLY * panel.vmp_v, "V")
    yield Limit(phrase("open-circuit voltage Voc"), "at most", panel.voc_v, "V")
    if array.count > 1:
        yield Limit(phrase("all panels"), "same", phrase("of one model"))


def _controller(setting: Setting, system: System) -> Iterator[Limit]:
    controller = system.controller
    if controller is None:
        return
    yield Limit(phrase("kind"), "same", controller.kind.upper())
    yield Limit(phrase("battery voltage"), "is", system.bank_v, "V")
    yield Limit(phrase("charge current"), "at least", controller.rated_a, "A")
    highest = max(
        coldest_open_v(array, setting.climate.mean_annual_minimum_c) for array in system.arrays
    )
    yield Limit(phrase("panel voltage it bears"), "at least", highest, "V")
    if system.bank is not None:
        yield Limit(
            phrase("has a setting for"), "same", CHEMISTRY_WORDS[system.bank.battery.chemistry]
        )
    if controller.temperature_sensor:
        yield Limit(phrase("temperature sensor"), "same", phrase("yes"))
    if controller.load_output_a > 0.0:
        yield Limit(phrase("load terminals"), "at least", controller.load_output_a, "A")


def _converter(converter: ConverterNameplate, system: System) -> Iterator[Limit]:
    yield Limit(phrase("output voltage"), "is", converter.output_v, "V")
    yield Limit(phrase("power"), "at least", converter.rated_w, "W")
    # A 12 V battery stands at up to 14.8 V while it charges.
    yield Limit(phrase("takes an input of"), "at least", 1.25 * system.bank_v, "V")


def _battery(system: System, demand: Demand) -> Iterator[Limit]:
    bank = system.bank
    if bank is None:
        return
    battery = bank.battery
    yield Limit(phrase("kind"), "same", CHEMISTRY_WORDS[battery.chemistry])
    if battery.chemistry == "power_bank":
        yield from _power_bank(bank, demand)
        return
    yield Limit(phrase("voltage"), "is", battery.nominal_v, "V")
    hours = phrase("capacity at {hours} h", hours=f"{battery.capacity_hours:g}")
    yield Limit(hours, "at least", _NEARLY * battery.capacity_ah, "Ah")
    if system.controller is not None and battery.max_charge_a is not None:
        into = system.controller.rated_a * system.controller_count / bank.parallel
        yield Limit(phrase("charge current"), "at least", min(into, battery.max_charge_a), "A")
    if system.inverter is not None:
        out = system.inverter.rated_w / 0.85 / system.bank_v / bank.parallel
        yield Limit(phrase("discharge current"), "at least", out, "A")
    if bank.count > 1:
        yield Limit(phrase("all batteries"), "same", phrase("of one model, bought together"))


def _power_bank(bank: Bank, demand: Demand) -> Iterator[Limit]:
    """In the words of its own label."""
    yield Limit(phrase("capacity"), "at least", _NEARLY * bank.capacity_ah * 1000.0, "mAh")
    out = running_w(demand, "5 V") / 5.0
    yield Limit(phrase("output at 5 V"), "at least", out, "A")
    yield Limit(phrase("gives power while it is charged"), "same", phrase("yes"))


def _inverter(system: System, demand: Demand) -> Iterator[Limit]:
    inverter = system.inverter
    if inverter is None:
        return
    yield Limit(phrase("input"), "is", system.bank_v, "V")
    yield Limit(phrase("power"), "at least", running_w(demand, "mains"), "W")
    yield Limit(phrase("surge power"), "at least", demand.surge_w("mains"), "W")
    yield Limit(phrase("idle draw"), "at most", _WIDER * inverter.idle_w, "W")
    if inverter.waveform == "sine":
        yield Limit(phrase("output"), "same", phrase("pure sine"))


def running_w(demand: Demand, supply: str) -> float:
    """Most power that all loads of a supply draw at once, starts aside [W].

    Parameters
    ----------
    demand : Demand
        What is asked.
    supply : str
        One of '5 V', '12 V', '24 V', '48 V', 'mains'.
    """
    total: FloatArray = np.zeros(demand.grid.steps_per_year)
    for load in demand.loads:
        if load.supply == supply:
            total = total + load.running * load.peak_w
    return float(total.max())
