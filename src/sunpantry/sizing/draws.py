"""What the loads draw from the battery bus at least, for each way of feeding them."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, field

import numpy as np

from sunpantry.parts.system import System
from sunpantry.simulate import layout as at
from sunpantry.simulate.bus import BusLoads
from sunpantry.simulate.columns import inverter_columns
from sunpantry.simulate.setting import Setting
from sunpantry.timegrid import FloatArray


@dataclass(frozen=True, eq=False)
class BusDraw:
    """Least power that each class draws from the bus, and the most of it.

    Parameters
    ----------
    by_class_w : numpy.ndarray, shape (steps, 3)
        Each class with its share of the inverter's losses on top of the classes before [W].
    most_w : numpy.ndarray, shape (3,)
        Largest of each [W].
    most_together_w : float
        Largest sum [W].
    idle_w : float
        Drawn by converters all the time [W].
    inverter_idle_w : float
        Drawn by the inverter while it is on with nothing to do [W]; not in ``by_class_w``,
        for it draws nothing while the loads are disconnected.
    should_above, may_above : float
        State of charge below which each class is switched off; negative: never [-].
    """

    by_class_w: FloatArray
    most_w: FloatArray
    most_together_w: float
    idle_w: float
    inverter_idle_w: float
    should_above: float
    may_above: float


def bus_draw(loads: BusLoads, system: System) -> BusDraw:
    """Sum up what the loads of a system draw at least."""
    row = np.zeros(at.DESIGN_COLUMNS)
    inverter_columns(row, system)
    loads.fill_columns(row, system)
    steps = loads.steps.reshape(-1, loads.steps_per_year, at.LOAD_COLUMNS).min(axis=0)
    ac = np.cumsum(steps[:, at.L_AC : at.L_AC + at.CLASSES], axis=1)
    running = ac > 0.0
    losses = running * row[at.INVERTER_P0] + row[at.INVERTER_K1] * ac + row[at.INVERTER_K2] * ac**2
    together = np.cumsum(steps[:, at.L_DC : at.L_DC + at.CLASSES], axis=1) + ac + losses
    by_class = np.diff(together, axis=1, prepend=0.0)
    by_class = np.maximum(by_class, 0.0)
    return BusDraw(
        by_class_w=by_class,
        most_w=by_class.max(axis=0),
        most_together_w=float(by_class.sum(axis=1).max()),
        idle_w=loads.idle_w,
        inverter_idle_w=float(row[at.INVERTER_IDLE_W] * (steps[:, at.L_IDLE] > 0.0).mean()),
        should_above=float(row[at.SHED_SHOULD]),
        may_above=float(row[at.SHED_MAY]),
    )


@dataclass(eq=False)
class Draws:
    """Rows of what the loads draw, one for each way of feeding them.

    Parameters
    ----------
    setting : Setting
        For the loads.
    """

    setting: Setting
    rows: list[BusDraw] = field(default_factory=list)
    _known: dict[object, int] = field(default_factory=dict)

    def row(self, system: System) -> int:
        """Row of what the loads draw from the bus of a system."""
        key = (self.setting.loads_key(system), system.inverter)
        if key not in self._known:
            self._known[key] = len(self.rows)
            self.rows.append(bus_draw(self.setting.loads(system), system))
        return self._known[key]

    def least_row(self, systems: Sequence[System]) -> int:
        """Row of the least that any of some ways of feeding the loads draws."""
        rows = tuple(self.row(system) for system in systems)
        key = ("least", rows)
        if key not in self._known:
            draws = [self.rows[row] for row in rows]
            self._known[key] = len(self.rows)
            self.rows.append(
                BusDraw(
                    by_class_w=np.min([one.by_class_w for one in draws], axis=0),
                    most_w=np.max([one.most_w for one in draws], axis=0),
                    most_together_w=max(one.most_together_w for one in draws),
                    idle_w=min(one.idle_w for one in draws),
                    inverter_idle_w=min(one.inverter_idle_w for one in draws),
                    should_above=min(one.should_above for one in draws),
                    may_above=min(one.may_above for one in draws),
                )
            )
        return self._known[key]

    def means_w(self, systems: Sequence[System]) -> list[float]:
        """Mean power that the loads of each system draw [W]."""
        draws = [self.rows[self.row(system)] for system in systems]
        return [
            float(one.by_class_w.sum(axis=1).mean()) + one.idle_w + one.inverter_idle_w
            for one in draws
        ]

    def no_easier(self, systems: Sequence[System]) -> list[list[int]]:
        """For each way of feeding the loads, those that draw no less in any hour.

        Parameters
        ----------
        systems : sequence of System
            One for each way.
        """
        draws = [self.rows[self.row(system)] for system in systems]
        cut_v = [0.0 if one.inverter is None else one.inverter.cutoff_v for one in systems]
        return [
            [
                other
                for other, theirs in enumerate(draws)
                if theirs.idle_w >= mine.idle_w
                and theirs.inverter_idle_w >= mine.inverter_idle_w
                and cut_v[other] >= cut_v[number]
                and bool(np.all(theirs.by_class_w >= mine.by_class_w - 1e-12))
            ]
            for number, mine in enumerate(draws)
        ]
