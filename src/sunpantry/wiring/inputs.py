"""What the wiring needs to know: the parts, the loads, the distances, the weather's extremes."""

from __future__ import annotations

import math
from collections import Counter
from collections.abc import Mapping
from dataclasses import dataclass, field
from typing import Literal

from sunpantry.design.loads import Importance, Supply
from sunpantry.design.promise import Wiring
from sunpantry.errors import InputError, Problem
from sunpantry.parts.system import Array, System

LoadKind = Literal["light", "motor", "electronics", "heater", "fence", "other"]


@dataclass(frozen=True, slots=True)
class LoadLine:
    """One load branch: a thing, or equal things on one cable.

    Parameters
    ----------
    power_w : float
        Drawn by all of them at once while they work [W].
    surge_w : float
        Highest draw as they start [W]; 0: no more than ``power_w``.
    kind : str
        What it is, for the symbol it is drawn with.
    """

    name: str
    supply: Supply
    power_w: float
    surge_w: float = 0.0
    importance: Importance = "should"
    plug: Literal["wired", "vehicle socket"] = "wired"
    kind: LoadKind = "other"


@dataclass(frozen=True, slots=True)
class DirectLine:
    """A pump that hangs straight on panels of its own.

    Parameters
    ----------
    array : Array
        Its panels.
    power_w : float
        Its rated power [W].
    """

    name: str
    array: Array
    power_w: float


@dataclass(frozen=True)
class WiringInputs:
    """Everything the circuit, its cables and its protection are derived from.

    Parameters
    ----------
    coldest_c, hottest_c : float
        Coldest and hottest air the parts meet [°C]: the cold sets the highest array voltage,
        the heat lowers what cables in air may carry.
    winter_battery_c : float, optional
        Battery temperature in winter [°C] for the settings sheet; ``coldest_c`` when left out.
    mean_square_a2 : mapping
        Mean over the year of the square of the current [A²], by the key of a cable
        (``Circuit.cables[i].key``); it gives the yearly loss. A cable without an entry has none.
    energy_price : float
        Worth of a kilowatt-hour lost [currency/kWh].
    copper_years : float
        Years over which thicker copper may pay for itself.
    mains_v : float
        Mains voltage of the place, for which things are sold there [V].
    direct : tuple of DirectLine
        Pumps on panels of their own, beside the system or all there is.
    charger_a : float
        Greatest current of a charger run from a second source [A]; 0: there is none.
    transfer_w : float
        What a second source gives the mains appliances through a transfer switch [W]; 0:
        there is no such switch.
    second_source : str or None
        What it is: 'generator', 'mains' or 'carried_battery'.
    inverter_fed_from : str
        'battery', or 'load output': the load terminals of the controller.
    loads_fed_from : str
        'either': the direct-current loads hang on the controller's load terminals if these
        carry them all, else on the battery; 'load output': on them in any case.
    vent_opening_cm2 : float or None
        Opening of the battery's place, low and high each [cm²]; ``None``: not said.
    on_roof : bool
        Panels stand on a building.
    lightning : bool
        An exposed place: long runs above ground, a hill top, frequent storms.

    Raises
    ------
    InputError
        When two loads share a name, or a number cannot be.
    """

    system: System
    loads: tuple[LoadLine, ...] = ()
    wiring: Wiring = field(default_factory=Wiring)
    coldest_c: float = -10.0
    hottest_c: float = 30.0
    winter_battery_c: float | None = None
    mean_square_a2: Mapping[str, float] = field(default_factory=dict)
    energy_price: float = 0.35
    copper_years: float = 15.0
    currency: str = "EUR"
    mains_v: float = 230.0
    direct: tuple[DirectLine, ...] = ()
    charger_a: float = 0.0
    transfer_w: float = 0.0
    second_source: Literal["generator", "mains", "carried_battery"] | None = None
    inverter_fed_from: Literal["battery", "load output"] = "battery"
    loads_fed_from: Literal["either", "load output"] = "either"
    vent_opening_cm2: float | None = None
    on_roof: bool = False
    lightning: bool = False

    def __post_init__(self) -> None:
        names = [load.name for load in self.loads] + [line.name for line in self.direct]
        problems = [
            Problem("load.name", name, "one name a load", "give each load its own name")
            for name, times in Counter(names).items()
            if times > 1
        ]
        problems += [
            Problem(
                f"load '{load.name}'.power_w",
                f"{load.power_w:g}",
                "more than 0 W",
                "say what it draws while it works",
            )
            for load in self.loads
            if not (math.isfinite(load.power_w) and load.power_w > 0)
        ]
        if self.hottest_c < self.coldest_c:
            problems.append(
                Problem(
                    "hottest_c",
                    f"{self.hottest_c:g}",
                    f"at least the coldest, {self.coldest_c:g} °C",
                    "swap the two temperatures",
                )
            )
        if problems:
            raise InputError(problems)

    @property
    def battery_in_winter_c(self) -> float:
        """Battery temperature the winter settings are written for [°C]."""
        return self.coldest_c if self.winter_battery_c is None else self.winter_battery_c
