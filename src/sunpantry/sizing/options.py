"""What can be chosen, kind by kind: ways of feeding the loads, banks, controllers.

Each list holds only what could work at one bank voltage by the plainest rules; what goes
with what is the business of :mod:`sunpantry.sizing.space`.
"""

from __future__ import annotations

import math
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from itertools import product

from sunpantry.demand.series import Demand
from sunpantry.design.kit import voltage_class
from sunpantry.design.loads import SUPPLY_V
from sunpantry.design.nameplates import (
    BatteryNameplate,
    ControllerNameplate,
    ConverterNameplate,
    InverterNameplate,
)
from sunpantry.design.promise import Search
from sunpantry.parts.catalogue import Catalogue
from sunpantry.parts.resolve import Kit
from sunpantry.parts.system import Array, Bank
from sunpantry.sizing.array_options import SOCKET_V, wirings

MAINS = "mains"
MOST_CONTROLLERS = 3
MOST_EQUAL_CONVERTERS = 3


@dataclass(frozen=True)
class Feed:
    """A way of getting power from the bank to every load.

    Parameters
    ----------
    bank_v : float
        System class [V].
    inverter : InverterNameplate or None
        ``None`` where nothing runs from the mains.
    converters : tuple of ConverterNameplate
        All of them, those already there included.
    bought : tuple of ConverterNameplate
        Those to be paid for.
    inverter_owned : bool
        The inverter is already there.
    """

    bank_v: float
    inverter: InverterNameplate | None
    converters: tuple[ConverterNameplate, ...]
    bought: tuple[ConverterNameplate, ...]
    inverter_owned: bool = False


@dataclass(frozen=True)
class Control:
    """Charge controllers.

    Parameters
    ----------
    controller : ControllerNameplate or None
        ``None``: the panel has a regulator of its own.
    count : int
        Equal ones, each with an equal share of the array.
    owned : bool
        Already there.
    """

    controller: ControllerNameplate | None
    count: int = 1
    owned: bool = False


def weight_of_parts(arrays: Sequence[Array], bank: Bank | None) -> float | None:
    """Weight of panels and batteries, those already there included.

    Parameters
    ----------
    arrays : sequence of Array
        The arrays.
    bank : Bank or None
        The bank.

    Returns
    -------
    float or None
        [kg]; ``None`` where the weight of one is not known.
    """
    parts = [(array.panel.weight_kg, array.count) for array in arrays]
    if bank is not None:
        parts.append((bank.battery.weight_kg, bank.count))
    total = 0.0
    for weight, count in parts:
        if weight is None:
            return None
        total += weight * count
    return total


def bank_voltages(kit: Kit, limits: Search) -> tuple[float, ...]:
    """System classes to try [V]: the one fixed, those the document allows, or all."""
    if kit.bank_v is not None:
        return (kit.bank_v,)
    if kit.bank.battery is not None and kit.bank.series is not None:
        volts = voltage_class(kit.bank.series * kit.bank.battery.nominal_v)
        if kit.bank.battery.chemistry == "power_bank":
            volts = SOCKET_V
        return () if volts is None else (volts,)
    return limits.bank_voltages or (SOCKET_V, 12.0, 24.0, 48.0)


def feeds(
    kit: Kit, catalogue: Catalogue, limits: Search, demand: Demand, *, bank_v: float, mains_v: float
) -> tuple[Feed, ...]:
    """Ways of feeding every load from a bank of this class; empty when there is none.

    Parameters
    ----------
    kit : Kit
        What is fixed.
    catalogue : Catalogue
        What can be bought.
    limits : Search
        What may be chosen from.
    demand : Demand
        What must run.
    bank_v : float
        System class [V].
    mains_v : float
        Voltage of mains appliances [V].
    """
    fixed = tuple(one.converter for one in kit.converters for _ in range(one.count))
    paid = tuple(one.converter for one in kit.converters if not one.owned for _ in range(one.count))
    choices: list[tuple[tuple[ConverterNameplate, ...], ...]] = []
    for supply in demand.supplies():
        if supply == MAINS or SUPPLY_V[supply] == bank_v:
            continue
        if any(_converts(one, bank_v, SUPPLY_V[supply]) for one in fixed):
            continue
        offers = () if kit.no_converters else catalogue.converters
        choices.append(
            tuple(_enough(offers, bank_v, SUPPLY_V[supply], needed_w=demand.surge_w(supply)))
        )
    inverters: tuple[InverterNameplate | None, ...] = (None,)
    if MAINS in demand.supplies() or kit.inverter.inverter is not None:
        inverters = tuple(
            _inverters(kit, catalogue, limits, demand, bank_v=bank_v, mains_v=mains_v)
        )
    found = []
    for inverter in inverters:
        for added in product(*choices):
            new = tuple(one for some in added for one in some)
            found.append(
                Feed(bank_v, inverter, fixed + new, paid + new, inverter_owned=kit.inverter.owned)
            )
    return tuple(found)


def _converts(one: ConverterNameplate, bank_v: float, output_v: float) -> bool:
    return (
        abs(one.output_v - output_v) <= 0.15 * output_v
        and one.input_min_v <= bank_v <= one.input_max_v
    )


def _enough(
    offers: Sequence[ConverterNameplate], bank_v: float, output_v: float, *, needed_w: float
) -> Iterator[tuple[ConverterNameplate, ...]]:
    """Converters of one kind, as many as the largest draw needs."""
    for one in offers:
        if _converts(one, bank_v, output_v):
            count = max(math.ceil(needed_w / one.rated_w - 1e-9), 1)
            if count <= MOST_EQUAL_CONVERTERS:
                yield (one,) * count


def _inverters(
    kit: Kit,
    catalogue: Catalogue,
    limits: Search,
    demand: Demand,
    *,
    bank_v: float,
    mains_v: float,
) -> Iterator[InverterNameplate]:
    if kit.inverter.inverter is not None:
        if kit.inverter.inverter.input_v == bank_v:
            yield kit.inverter.inverter
        return
    if kit.inverter.absent:
        return
    mean_w = float(demand.by_supply_and_importance("mains").sum(axis=0).max())
    waiting_w = sum(
        load.flexible.power_w
        for load in demand.loads
        if load.flexible is not None and load.supply == MAINS
    )
    for one in catalogue.inverters:
        if (
            one.input_v == bank_v
            and abs(one.output_v - mains_v) <= 0.1 * mains_v
            and one.rated_w >= max(mean_w, waiting_w)
            and one.surge_w >= demand.surge_w("mains")
            and (limits.inverters is None or one.waveform in limits.inverters)
        ):
            yield one


def banks(
    kit: Kit, catalogue: Catalogue, limits: Search, demand: Demand, *, bank_v: float
) -> tuple[Bank | None, ...]:
    """Banks of this class; ``None`` stands for having none, where every load is patient."""
    if kit.bank.absent:
        return (None,)
    offers = catalogue.batteries if kit.bank.battery is None else (kit.bank.battery,)
    can_do_without = kit.bank.battery is None and bank_v == SOCKET_V and _all_patient(demand)
    found: list[Bank | None] = [None] if can_do_without else []
    for battery in offers:
        if (
            kit.bank.battery is None
            and limits.chemistries is not None
            and battery.chemistry not in limits.chemistries
        ):
            continue
        for series, parallel in wirings(
            kit.bank.count, kit.bank.series, kit.bank.parallel, limits.max_batteries
        ):
            if not _makes(battery, series, parallel, bank_v):
                continue
            owned = series * parallel if kit.bank.owned is None else kit.bank.owned
            # 'All of them are there' without a count: as many as the voltage needs.
            if kit.bank.owned is None and kit.bank.count is None and parallel > 1:
                continue
            found.append(
                Bank(battery, series, parallel, kit.bank.housing, min(owned, series * parallel))
            )
    return tuple(found)


def _all_patient(demand: Demand) -> bool:
    """Whether every load can wait, or has a store of its own."""
    return all(load.flexible is not None or load.own_battery is not None for load in demand.loads)


def _makes(battery: BatteryNameplate, series: int, parallel: int, bank_v: float) -> bool:
    if battery.chemistry == "power_bank":
        return bank_v == SOCKET_V and series == parallel == 1
    return voltage_class(series * battery.nominal_v) == bank_v


def controls(
    kit: Kit, catalogue: Catalogue, limits: Search, *, bank_v: float
) -> tuple[Control, ...]:
    """Controllers of this class, one or several equal ones."""
    fixed = kit.controller
    if fixed.absent:
        return (Control(None),)
    if fixed.controller is not None:
        counts = range(1, MOST_CONTROLLERS + 1) if fixed.count is None else (fixed.count,)
        if fixed.owned and fixed.count is None:
            counts = (1,)
        return tuple(Control(fixed.controller, count, fixed.owned) for count in counts)
    if bank_v == SOCKET_V:
        return (Control(None),)

    def allowed(one: ControllerNameplate) -> bool:
        return bank_v in one.bank_voltages and (
            limits.controllers is None or one.kind in limits.controllers
        )

    counts = range(1, MOST_CONTROLLERS + 1) if fixed.count is None else (fixed.count,)
    return tuple(
        Control(one, count) for one in catalogue.controllers if allowed(one) for count in counts
    )
