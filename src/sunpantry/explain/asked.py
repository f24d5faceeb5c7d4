"""What an explanation reads of a plan, and the two voltages that many of them need."""

from __future__ import annotations

from collections.abc import Callable
from typing import Protocol

import numpy as np

from sunpantry.demand.series import Demand
from sunpantry.design.models import Design
from sunpantry.parts.curves import panel_model
from sunpantry.parts.system import Array, System
from sunpantry.physics.panel import open_circuit_voltage
from sunpantry.simulate import layout as at
from sunpantry.simulate.proof import Proof
from sunpantry.simulate.setting import Setting
from sunpantry.sky.from_site import SiteSky

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


def charging_v(plan: PlanLike) -> float:
    """Mean voltage of the battery while it charges [V]; that of the system without one."""
    traces = plan.proof_new.traces
    charging = traces[at.TR_CURRENT] > 0.0
    if plan.system.bank is None or not charging.any():
        return plan.system.bank_v
    volts, amps = traces[at.TR_VOLT][charging], traces[at.TR_CURRENT][charging]
    return float(np.average(volts, weights=amps))


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
