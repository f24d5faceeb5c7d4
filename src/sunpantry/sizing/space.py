"""The space of systems that a design leaves open, counted without being listed.

For one bank voltage a system is one choice from each of: ways of feeding the loads,
banks, arrays, controllers, tilts. What may stand together is decided by rules on
labels alone:

* a controller serves the bank's voltage and chemistry, stands the array's open-circuit
  voltage on the coldest day and its short-circuit current, and the power its maker allows;
* a panel is insulated for its string, and its voltage is high enough to charge the bank;
* the charge current stays within what is printed on the battery;
* where a largest weight is given, panels and batteries together weigh no more.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass, replace
from functools import cached_property
from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray

from sunpantry.demand.series import Demand
from sunpantry.design.models import Design
from sunpantry.design.nameplates import ControllerNameplate
from sunpantry.parts.catalogue import Catalogue
from sunpantry.parts.resolve import Kit
from sunpantry.parts.system import Bank, System
from sunpantry.physics.safe_voltage import cold_voltage_v
from sunpantry.sizing import array_options, options
from sunpantry.sizing.array_options import Arrays
from sunpantry.sizing.options import Control, Feed
from sunpantry.timegrid import FloatArray, IntArray

BoolArray = NDArray[np.bool_]

# A bank being charged, volts for each 12 V of its class: common practice, no source.
CHARGING_V_AT_12V = 13.0
# Weights are sums of printed figures: rounding aside.
ROUNDING_KG = 1e-9
# A PWM controller needs at least this voltage at maximum power, for each volt of the class.
LEAST_PWM_RATIO = 1.2


class Choice(NamedTuple):
    """One system of a space, by its place in each list."""

    group: int
    feed: int
    bank: int
    pair: int
    tilt: int


@dataclass(frozen=True, eq=False)
class Group:
    """Everything that can be built at one bank voltage.

    Parameters
    ----------
    bank_v : float
        System class [V].
    feeds, banks, arrays, controls
        The choices; see :mod:`sunpantry.sizing.options`.
    coldest_c : float
        Coldest temperature of the panels [°C].
    strict : bool
        Whether arrays and controllers must suit each other by their labels.
    most_kg : float
        Most that panels and batteries may weigh together [kg]; what has an unknown weight is
        left out then.
    """

    bank_v: float
    feeds: tuple[Feed, ...]
    banks: tuple[Bank | None, ...]
    arrays: tuple[Arrays, ...]
    controls: tuple[Control, ...]
    coldest_c: float
    strict: bool = True
    most_kg: float = np.inf

    @cached_property
    def pairs(self) -> tuple[IntArray, IntArray]:
        """Arrays and controllers that go together: two index arrays of equal length."""
        fitting = np.zeros((len(self.arrays), len(self.controls)), dtype=bool)
        facts = _ArrayFacts.of(self.arrays, self.coldest_c)
        for column, control in enumerate(self.controls):
            fitting[:, column] = (
                _fits(facts, control, self.bank_v) if self.strict else facts.power_w > 0.0
            )
        first, second = np.nonzero(fitting)
        return first.astype(np.int64), second.astype(np.int64)

    @cached_property
    def charge_a(self) -> FloatArray:
        """Current into the bank in full sun, for each pair [A]."""
        facts = _ArrayFacts.of(self.arrays, self.coldest_c)
        first, second = self.pairs
        charging_v = CHARGING_V_AT_12V * self.bank_v / 12.0
        found = np.zeros(first.size)
        for column, control in enumerate(self.controls):
            here = second == column
            one = control.controller
            if one is None:
                continue
            if one.kind == "pwm":
                found[here] = facts.isc_a[first[here]]
            else:
                offered = facts.power_w[first[here]] * one.efficiency_pct / 100.0 / charging_v
                found[here] = np.minimum(offered, one.rated_a * control.count)
        return found

    @cached_property
    def power_w(self) -> FloatArray:
        """Rated array power of each pair [W]."""
        return np.array([one.power_w for one in self.arrays])[self.pairs[0]]

    @cached_property
    def tilt_open(self) -> BoolArray:
        """Pairs whose array has a tilt to be chosen."""
        opened: BoolArray = np.array([one.tilt_open for one in self.arrays])[self.pairs[0]]
        return opened

    @cached_property
    def weight_kg(self) -> FloatArray:
        """Weight of the panels of each pair, not a number where it is not known [kg]."""
        known = [options.weight_of_parts(one.fixed, None) for one in self.arrays]
        return np.array([np.nan if one is None else one for one in known])[self.pairs[0]]

    @property
    def lightest_kg(self) -> float:
        """Weight of the lightest that goes together, whatever may be carried; infinite: unknown."""
        least = [np.inf]
        for bank in self.banks:
            bank_kg = options.weight_of_parts((), bank)
            if bank_kg is not None:
                panels_kg = self.weight_kg[self._charge(bank)]
                least.extend((panels_kg[~np.isnan(panels_kg)] + bank_kg).tolist())
        return min(least)

    def suits(self, bank: Bank | None) -> BoolArray:
        """Which pairs may charge a bank, and are light enough with it."""
        suited = self._charge(bank)
        if np.isinf(self.most_kg):
            return suited
        bank_kg = options.weight_of_parts((), bank)
        if bank_kg is None:
            return np.zeros(suited.size, dtype=bool)
        light: BoolArray = self.weight_kg + bank_kg <= self.most_kg + ROUNDING_KG
        return suited & light

    def _charge(self, bank: Bank | None) -> BoolArray:
        first, second = self.pairs
        without = np.array([one.controller is None for one in self.controls])
        if bank is None:
            return without[second]
        if not self.strict:
            return np.ones(first.size, dtype=bool)
        battery = bank.battery
        chemistry = np.array(
            [
                one.controller is None or battery.chemistry in one.controller.chemistries
                for one in self.controls
            ]
        )
        suited: BoolArray = chemistry[second]
        if battery.max_charge_a is not None:
            suited = suited & (self.charge_a <= battery.max_charge_a * bank.parallel + 1e-9)
        return suited

    def count(self, tilts: int) -> int:
        """Systems in the group."""
        ways = np.where(self.tilt_open, tilts, 1)
        return len(self.feeds) * sum(int(ways[self.suits(bank)].sum()) for bank in self.banks)


@dataclass(frozen=True, eq=False)
class _ArrayFacts:
    voc_v: FloatArray
    vmp_v: FloatArray
    isc_a: FloatArray
    power_w: FloatArray
    insulated: BoolArray
    regulated: BoolArray
    parallel: tuple[tuple[int, ...], ...]

    @classmethod
    def of(cls, arrays: tuple[Arrays, ...], coldest_c: float) -> _ArrayFacts:
        def voc_v(whole: Arrays) -> list[float]:
            return [
                cold_voltage_v(
                    voc_v=one.panel.voc_v,
                    series=one.series,
                    temperature_c=min(coldest_c, 25.0),
                    temp_coeff_voc_pct_per_k=one.panel.temp_coeff_voc_pct_per_k,
                )
                for one in whole.fixed
            ]

        return cls(
            voc_v=np.array([max(voc_v(whole)) for whole in arrays]),
            vmp_v=np.array([min(a.series * a.panel.vmp_v for a in w.fixed) for w in arrays]),
            isc_a=np.array([sum(a.parallel * a.panel.isc_a for a in w.fixed) for w in arrays]),
            power_w=np.array([whole.power_w for whole in arrays]),
            insulated=np.array(
                [
                    all(
                        volts <= one.panel.max_system_voltage_v
                        for volts, one in zip(voc_v(whole), whole.fixed, strict=True)
                    )
                    for whole in arrays
                ]
            ),
            regulated=np.array(
                [any(a.panel.regulated_output_v is not None for a in w.fixed) for w in arrays]
            ),
            parallel=tuple(tuple(a.parallel for a in whole.fixed) for whole in arrays),
        )


def _fits(facts: _ArrayFacts, control: Control, bank_v: float) -> BoolArray:
    one = control.controller
    if one is None:
        return facts.insulated
    shared = np.array([all(p % control.count == 0 for p in each) for each in facts.parallel])
    amps = facts.isc_a / control.count
    fits: BoolArray = (
        facts.insulated
        & ~facts.regulated
        & shared
        & (facts.voc_v <= one.max_pv_voc_v)
        & (facts.vmp_v >= _least_vmp_v(one, bank_v))
    )
    if one.max_pv_isc_a is not None:
        fits &= amps <= one.max_pv_isc_a
    if one.kind == "pwm":
        fits &= amps <= one.rated_a
    if one.max_pv_power_w_at_12v is not None:
        limit_w = one.max_pv_power_w_at_12v * bank_v / 12.0 * control.count
        fits &= facts.power_w <= limit_w
    return fits


def _least_vmp_v(one: ControllerNameplate, bank_v: float) -> float:
    if one.kind == "pwm":
        return LEAST_PWM_RATIO * bank_v
    return bank_v + one.start_headroom_v


@dataclass(frozen=True, eq=False)
class Space:
    """All systems that a design leaves open.

    Parameters
    ----------
    groups : tuple of Group
        One for each bank voltage that can serve the loads.
    tilts : tuple of tuple of float
        Candidates where a tilt is open, each twelve months [°].
    too_heavy_from_kg : float
        Where nothing is left since all is too heavy: the least that would have to be carried
        [kg]; infinite otherwise.
    """

    groups: tuple[Group, ...]
    tilts: tuple[tuple[float, ...], ...]
    too_heavy_from_kg: float = np.inf

    @cached_property
    def systems(self) -> int:
        """How many systems the space holds."""
        return sum(group.count(len(self.tilts)) for group in self.groups)

    def no_heavier_than(self, most_kg: float) -> Space:
        """The same space without what weighs more, its choices numbered as here."""
        return Space(
            tuple(replace(one, most_kg=min(most_kg, one.most_kg)) for one in self.groups),
            self.tilts,
        )

    def holds(self, choice: Choice) -> bool:
        """Whether a choice of the space without a largest weight is light enough for this one."""
        group = self.groups[choice.group]
        return np.isinf(group.most_kg) or bool(group.suits(group.banks[choice.bank])[choice.pair])

    def tilts_of(self, group: int, pair: int) -> int:
        """Tilts open for a pair of array and controller: 1 where it is fixed."""
        return len(self.tilts) if self.groups[group].tilt_open[pair] else 1

    def system(self, choice: Choice) -> System:
        """Build one system."""
        group = self.groups[choice.group]
        feed, bank = group.feeds[choice.feed], group.banks[choice.bank]
        arrays = group.arrays[group.pairs[0][choice.pair]]
        control = group.controls[group.pairs[1][choice.pair]]
        tilt = self.tilts[choice.tilt] if self.tilts else ()
        return System(
            bank_v=group.bank_v,
            arrays=tuple(
                one if one.tilt_deg else replace(one, tilt_deg=tilt) for one in arrays.fixed
            ),
            bank=bank,
            controller=control.controller,
            inverter=feed.inverter,
            converters=feed.converters,
            controller_count=control.count,
            controller_owned=control.owned,
            inverter_owned=feed.inverter_owned,
        )

    def __iter__(self) -> Iterator[Choice]:
        """Every system, in a fixed order; only for small spaces."""
        for number, group in enumerate(self.groups):
            suited = [np.nonzero(group.suits(bank))[0] for bank in group.banks]
            for feed in range(len(group.feeds)):
                for bank, pairs in enumerate(suited):
                    for pair in pairs.tolist():
                        for tilt in range(self.tilts_of(number, pair)):
                            yield Choice(number, feed, bank, pair, tilt)


def space_of(
    design: Design,
    kit: Kit,
    catalogue: Catalogue,
    demand: Demand,
    *,
    coldest_c: float,
    latitude_deg: float,
    tilts: tuple[tuple[float, ...], ...],
) -> Space:
    """Everything that could be built for a design.

    Parameters
    ----------
    design : Design
        For the limits of the search and the mains voltage.
    kit : Kit
        What is fixed.
    catalogue : Catalogue
        What can be bought.
    demand : Demand
        What must run.
    coldest_c : float
        Coldest temperature of the panels in a usual year [°C].
    latitude_deg : float
        Where: open azimuths face the equator [°].
    tilts : tuple of tuple of float
        Candidates where a tilt is open, each twelve months [°].

    Returns
    -------
    Space
        Where not one combination passes the rules on labels, those between array,
        controller and bank are left aside, so that what is fixed can still be judged.
        Weight is no such rule: where everything is too heavy, the space is empty.
    """
    limits = design.search
    equator_deg = 180.0 if latitude_deg >= 0.0 else 0.0
    groups = []
    for bank_v in options.bank_voltages(kit, limits):
        group = Group(
            bank_v=bank_v,
            feeds=options.feeds(
                kit, catalogue, limits, demand, bank_v=bank_v, mains_v=design.site.mains_v
            ),
            banks=options.banks(kit, catalogue, limits, demand, bank_v=bank_v),
            arrays=array_options.arrays(
                kit, catalogue, limits, bank_v=bank_v, equator_deg=equator_deg
            ),
            controls=options.controls(kit, catalogue, limits, bank_v=bank_v),
            coldest_c=coldest_c,
        )
        if group.feeds and group.banks and group.arrays and group.controls:
            groups.append(group)
    whole = Space(tuple(groups), tilts)
    if not whole.systems:
        whole = Space(tuple(replace(group, strict=False) for group in groups), tilts)
    if limits.max_weight_kg is not None:
        whole = whole.no_heavier_than(limits.max_weight_kg)
    left = tuple(group for group in whole.groups if group.count(1))
    lightest_kg = np.inf if left else min((one.lightest_kg for one in groups), default=np.inf)
    return Space(left, tilts, lightest_kg if limits.max_weight_kg is not None else np.inf)
