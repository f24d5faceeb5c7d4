"""What a failed trial says about weaker systems.

A system whose bank is no larger, of the same kind and with the same set points, whose
loads draw no less, and which gets clearly less sun in the scarce part of the year, cannot
do better than one that has failed clearly. 'Clearly' matters twice, because switching has
a memory. A load shed at 30 % of charge comes back at 40 %, and after the low-voltage
disconnect has opened once it stays open until the bank has recovered, in a dark month for
many days: one unlucky evening of the stronger system can cost it more than a weaker one,
that has shed its lesser loads earlier, ever loses. So the sun must be less by
``CLEARLY_LESS``, and the failure must exceed what is allowed by ``FAILED_FACTOR`` and
``FAILED_H``; after a lesser failure it must be less by ``FAR_LESS``. How large such freaks
are in the kernel is measured in ``tests/sizing/test_monotone.py``: some hundred hours for
the most important class, some ten hours for the others.
"""

from __future__ import annotations

from dataclasses import dataclass, field

import numpy as np

from sunpantry.design.moments import HOURS_PER_DAY
from sunpantry.parts.system import System
from sunpantry.sizing.bounds import Bounds
from sunpantry.sizing.lanes import Block
from sunpantry.sizing.space import Choice, Group, Space
from sunpantry.timegrid import FloatArray, IntArray

CLEARLY_LESS = 0.97
FAR_LESS = 0.85
# Must, should, may, anything at all; sum over the dark years [h].
FAILED_FACTOR = 1.25
FAILED_H = (500.0, 60.0, 60.0, 500.0)
# A string this far above the bank's voltage loses nothing by it.
AMPLE_VOLTAGE = 1.6

Kind = tuple[int, int, int, int, int]


@dataclass(frozen=True, eq=False)
class Strength:
    """How strong some pairs of array and controllers are.

    Parameters
    ----------
    sun_wh : numpy.ndarray
        Mean daily energy after the controller in the scarce part of the dark years [Wh/d].
    limit_a : numpy.ndarray
        Current limit of the controllers [A].
    spare_v : numpy.ndarray
        String voltage less what the controller needs, nothing counted above an ample
        one [V].
    set_points : numpy.ndarray of int
        Which kind of controller; those of one kind differ in size and losses alone.
    """

    sun_wh: FloatArray
    limit_a: FloatArray
    spare_v: FloatArray
    set_points: IntArray


@dataclass(eq=False)
class Dominance:
    """Failures so far and what they rule out, for one promise.

    Parameters
    ----------
    space : Space
        The space.
    bounds : Bounds
        For the light of the dark years.
    """

    space: Space
    bounds: Bounds
    _failed: dict[Kind, list[tuple[float, ...]]] = field(default_factory=dict)
    _set_points: dict[int, IntArray] = field(default_factory=dict)
    _banks: dict[int, list[tuple[int, int]]] = field(default_factory=dict)
    _harder: dict[int, list[list[int]]] = field(default_factory=dict)
    _known: dict[tuple[int, int, int], tuple[float, float, float]] = field(default_factory=dict)

    def strength(self, group: int, pairs: IntArray, tilt: int) -> Strength:
        """Strength of pairs of one group under one tilt."""
        one = self.space.groups[group]
        controls = one.pairs[1][pairs]
        sun, limit, spare = (np.empty(pairs.size) for _ in range(3))
        for place, pair in enumerate(pairs.tolist()):
            sun[place], limit[place], spare[place] = self._facts(group, pair, tilt)
        return Strength(sun, limit, spare, self._kinds(group)[controls])

    def _facts(self, group: int, pair: int, tilt: int) -> tuple[float, float, float]:
        key = (group, pair, tilt)
        if key not in self._known:
            self._known[key] = self._work_out(self.space.groups[group], group, pair, tilt)
        return self._known[key]

    def _work_out(
        self, group: Group, number: int, pair: int, tilt: int
    ) -> tuple[float, float, float]:
        system = self.space.system(Choice(number, 0, 0, pair, tilt))
        one, count = system.controller, system.controller_count
        sun_wh = sum(
            self.bounds.light.scarce_wh_per_day(row) * times
            for row, times in self.bounds.light.middle_parts(system)
        )
        volts = min(array.series * array.panel.vmp_v for array in system.arrays)
        ample = AMPLE_VOLTAGE * group.bank_v
        if one is None:
            panel = system.arrays[0].panel
            share = panel.regulated_efficiency_pct / 100.0
            return sun_wh * share, panel.regulated_max_a or np.inf, ample
        own_wh = one.self_consumption_a * count * group.bank_v * HOURS_PER_DAY
        limit_a = one.rated_a * count
        if one.max_pv_power_w_at_12v is not None:
            limit_a = min(limit_a, one.max_pv_power_w_at_12v / 12.0 * count)
        share = 1.0 if one.kind == "pwm" else one.efficiency_pct / 100.0
        return sun_wh * share - own_wh, limit_a, min(volts - one.start_headroom_v, ample)

    def _kinds(self, group: int) -> IntArray:
        """Kind of each controller choice of a group."""
        if group not in self._set_points:
            known: dict[object, int] = {}
            found = []
            for control in self.space.groups[group].controls:
                one = control.controller
                key: object = None
                if one is not None:
                    fixed = (one.disconnect_v, one.reconnect_v, one.absorption_v, one.float_v)
                    key = (
                        one.kind,
                        one.absorption_h,
                        one.equalise_v,
                        one.temp_comp_mv_per_cell_k if one.temperature_sensor else None,
                        None if one.adjustable else fixed,
                    )
                found.append(known.setdefault(key, len(known)))
            self._set_points[group] = np.array(found, dtype=np.int64)
        return self._set_points[group]

    def bank_kind(self, group: int, bank: int) -> tuple[int, int]:
        """Kind of a bank (battery and series) and its parallel strings."""
        if group not in self._banks:
            known: dict[tuple[str, int], int] = {}
            found = []
            for one in self.space.groups[group].banks:
                if one is None:
                    found.append((-1, 1))
                else:
                    key = (one.battery.name, one.series)
                    found.append((known.setdefault(key, len(known)), one.parallel))
            self._banks[group] = found
        return self._banks[group][bank]

    def _no_easier(self, group: int, feed: int) -> list[int]:
        """Feeds whose loads draw no less in any hour than those of one feed, itself included."""
        if group not in self._harder:
            self._harder[group] = self.bounds.draws.no_easier(self._fed(group))
        return self._harder[group][feed]

    def drawn_w(self, group: int) -> list[float]:
        """Mean power that the loads draw under each feed of a group [W]."""
        return self.bounds.draws.means_w(self._fed(group))

    def _fed(self, group: int) -> list[System]:
        """One system without array for each feed of a group."""
        one = self.space.groups[group]
        return [
            System(one.bank_v, (), one.banks[0], None, feed.inverter, feed.converters)
            for feed in one.feeds
        ]

    def fail(self, choice: Choice, *, clearly: bool) -> None:
        """Remember that a system has failed."""
        pair = np.array([choice.pair])
        strength = self.strength(choice.group, pair, choice.tilt)
        kind, parallel = self.bank_kind(choice.group, choice.bank)
        fact = (
            float(parallel),
            float(strength.sun_wh[0]) * (CLEARLY_LESS if clearly else FAR_LESS),
            float(strength.limit_a[0]),
            float(strength.spare_v[0]),
        )
        for feed in self._no_easier(choice.group, choice.feed):
            key = (choice.group, kind, feed, choice.tilt, int(strength.set_points[0]))
            known = self._failed.setdefault(key, [])
            if not any(all(a >= b for a, b in zip(old, fact, strict=True)) for old in known):
                known[:] = [
                    old for old in known if not all(a <= b for a, b in zip(old, fact, strict=True))
                ]
                known.append(fact)

    def open_ones(self, block: Block, strength: Strength, set_point: int) -> np.ndarray:
        """Which pairs of a block, all with one kind of controller, are not ruled out."""
        kind, parallel = self.bank_kind(block.group, block.bank)
        key = (block.group, kind, block.feed, block.tilt, set_point)
        ruled_out = np.zeros(strength.sun_wh.size, dtype=bool)
        for strings, sun_wh, limit_a, spare_v in self._failed.get(key, ()):
            if strings >= parallel:
                ruled_out |= (
                    (strength.sun_wh <= sun_wh)
                    & (strength.limit_a <= limit_a)
                    & (strength.spare_v <= spare_v)
                )
        return ~ruled_out
