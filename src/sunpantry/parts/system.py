"""A whole small system: arrays, bank, controller and the ways of getting power out.

These are decided things: every count and wiring is a number. The search makes many
of them, the design document may fix all or some of one.
"""

from __future__ import annotations

from dataclasses import dataclass

from sunpantry.design.nameplates import (
    BatteryNameplate,
    ControllerNameplate,
    ConverterNameplate,
    InverterNameplate,
    PanelNameplate,
)


@dataclass(frozen=True)
class Array:
    """Equal panels, wired ``series`` × ``parallel``, facing one way.

    Parameters
    ----------
    tilt_deg : tuple of float
        Tilt from the horizontal for each month [°], January first; twelve equal
        numbers for a fixed array.
    azimuth_deg : float
        Compass direction faced [°], 0 = north, 90 = east, 180 = south.
    owned : int
        How many of the panels are already there and cost nothing.
    shaded_groups : int
        Groups of cells of each panel that stand in shade, cut out by their bypass diodes.
    """

    panel: PanelNameplate
    series: int
    parallel: int
    tilt_deg: tuple[float, ...]
    azimuth_deg: float
    owned: int = 0
    shaded_groups: int = 0

    @property
    def count(self) -> int:
        """Panels in the array."""
        return self.series * self.parallel

    @property
    def power_w(self) -> float:
        """Rated power at standard test conditions [W]."""
        return self.count * self.panel.power_w


@dataclass(frozen=True)
class Bank:
    """Equal batteries, wired ``series`` × ``parallel``.

    ``housing`` says where they stand: ``shed`` follows the air slowly, ``house`` stays
    near room temperature, ``buried`` follows the ground, ``outdoors`` follows the air.
    """

    battery: BatteryNameplate
    series: int
    parallel: int
    housing: str = "shed"
    owned: int = 0

    @property
    def count(self) -> int:
        """Batteries in the bank."""
        return self.series * self.parallel

    @property
    def nominal_v(self) -> float:
        """Nominal voltage of the bank [V]."""
        return self.series * self.battery.nominal_v

    @property
    def capacity_ah(self) -> float:
        """Rated capacity at the rate on the label [Ah]."""
        return self.parallel * self.battery.capacity_ah

    @property
    def energy_wh(self) -> float:
        """Rated energy: nominal voltage times rated capacity [Wh]."""
        return self.nominal_v * self.capacity_ah


@dataclass(frozen=True)
class System:
    """Everything between the sun and the loads.

    Parameters
    ----------
    bank_v : float
        System class: 5, 12, 24 or 48 V (a 12.8 V LiFePO4 battery makes a 12 V bank).
    bank : Bank or None
        ``None`` for a direct supply with no store but the device's own.
    controller : ControllerNameplate or None
        ``None`` where the panel has its own regulator or there is no bank.
    controller_count : int
        Equal controllers in parallel, each with an equal share of the array.
    """

    bank_v: float
    arrays: tuple[Array, ...]
    bank: Bank | None
    controller: ControllerNameplate | None
    inverter: InverterNameplate | None = None
    converters: tuple[ConverterNameplate, ...] = ()
    controller_count: int = 1
    controller_owned: bool = False
    inverter_owned: bool = False

    @property
    def array_power_w(self) -> float:
        """Rated power of all arrays [W]."""
        return sum(array.power_w for array in self.arrays)
