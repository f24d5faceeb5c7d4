"""Everything a rule may look at, as plain facts that need no simulation.

``proof`` is filled in once the years have been run; a rule that needs it keeps silent
until then.
"""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import Any

from sunpantry.design.models import Design
from sunpantry.design.nameplates import (
    BatteryNameplate,
    PanelNameplate,
)
from sunpantry.parts.system import Array, System
from sunpantry.phrases import phrase

# Cell temperature on a hot, still, bright day in a temperate climate [°C]; 35 °C of air
# and 1000 W/m² on a panel with a nominal operating temperature of 45 °C give 66 °C.
USUAL_HOTTEST_CELL_C = 70.0
# Gust for which a light structure near an open coast is commonly built [m/s].
USUAL_GUST_M_S = 40.0


@dataclass(frozen=True, slots=True)
class LoadFacts:
    """One load, as far as matching is concerned.

    Parameters
    ----------
    name : str
        As the person calls it.
    supply : str
        '5 V', '12 V', '24 V', '48 V' or 'mains'.
    power_w : float
        Drawn by one of them while it works [W].
    surge_w : float or None
        Highest draw of one as it starts [W]; ``None``: starts no harder than it runs.
    kind : str
        'light', 'motor', 'electronics', 'heater' or 'other'.
    plug : str
        'wired' or 'vehicle socket'.
    importance : str
        'must', 'should' or 'may'.
    quantity : int
        Equal ones.
    energy_wh_day : tuple of float
        Of all of them together, a day, January first [Wh]; empty when not known.
    """

    name: str
    supply: str
    power_w: float
    surge_w: float | None = None
    kind: str = "other"
    plug: str = "wired"
    importance: str = "should"
    quantity: int = 1
    energy_wh_day: tuple[float, ...] = ()

    @property
    def all_w(self) -> float:
        """Drawn when all of them work at once [W]."""
        return self.power_w * self.quantity

    @property
    def start_w(self) -> float:
        """Highest draw of one, starting or running [W]."""
        return max(self.power_w, self.surge_w or 0.0)


@dataclass(frozen=True, slots=True)
class Choices:
    """Habits and circumstances that no label tells.

    Parameters
    ----------
    mounting : tuple of str
        How each array is mounted: 'ground', 'roof', 'wall', 'pole' or 'carried'; the last
        one holds for all further arrays.
    inverter_fed_from : str
        'battery' or 'load output' (the controller's load terminals).
    inverter_off_when_idle : bool
        It is switched off when nothing needs it.
    loads_fed_from : str
        'either': from the controller's load terminals if these carry it, else from the
        battery; or 'load output', 'battery'.
    feeds_house_wiring : bool
        The inverter is meant to feed the sockets of a house.
    backup : str or None
        'generator', 'mains' or 'carried_battery'.
    backup_transfers : bool
        A transfer switch gives it the mains loads; it does not charge.
    vent_opening_cm2 : float or None
        Free opening of the battery's place, low and high each [cm²]; ``None``: not said.
    by_electrician : bool
        The DC side is built by a licensed electrician.
    arrays_apart : bool
        Each array has a controller of its own.
    gust_m_s : float
        Strongest gust the mounting shall stand [m/s].
    converters_named : tuple of str or None
        Converters that the design names; ``None``: there is no design.
    """

    mounting: tuple[str, ...] = ("ground",)
    inverter_fed_from: str = "battery"
    inverter_off_when_idle: bool = False
    loads_fed_from: str = "either"
    feeds_house_wiring: bool = False
    backup: str | None = None
    backup_transfers: bool = False
    vent_opening_cm2: float | None = None
    by_electrician: bool = False
    arrays_apart: bool = False
    gust_m_s: float = USUAL_GUST_M_S
    converters_named: tuple[str, ...] | None = None


@dataclass(frozen=True, slots=True)
class ProofFacts:
    """What the simulated winters say; each figure may be missing.

    Parameters
    ----------
    lowest_soc : float or None
        Lowest state of charge ever reached [-].
    coldest_battery_c : float or None
        Coldest battery temperature [°C].
    coldest_below : tuple of (float, float)
        Pairs (state of charge, coldest battery temperature while below it), rising in
        state of charge [-, °C].
    full_days_by_month : tuple of float
        Mean days in each month on which the bank got full, January first; or empty.
    hours_below_40_per_year : float or None
        Mean hours a year below 40 % charge [h].
    typical_depth : float or None
        Depth of a typical daily cycle [-].
    refused_cold_h_per_year : float or None
        Mean hours a year in which cold forbade charging [h].
    idle_share : float or None
        Share of the energy taken from the bank that the idling inverter ate [-].
    clipped_share : float or None
        Share of the array's energy that the controller's limits cut off, all year [-].
    clipped_when_wanted : float or None
        The same on the days on which the bank did not get full [-]: what clipping costs.
    spilled_share : float or None
        Share of the array's energy that found no use [-].
    """

    lowest_soc: float | None = None
    coldest_battery_c: float | None = None
    coldest_below: tuple[tuple[float, float], ...] = ()
    full_days_by_month: tuple[float, ...] = ()
    hours_below_40_per_year: float | None = None
    typical_depth: float | None = None
    refused_cold_h_per_year: float | None = None
    idle_share: float | None = None
    clipped_share: float | None = None
    clipped_when_wanted: float | None = None
    spilled_share: float | None = None


@dataclass(frozen=True, slots=True)
class Joined:
    """Further, unlike parts that are to be joined to the first array or to the bank.

    Parameters
    ----------
    panels : tuple of PanelNameplate
        Joined to the first array, one of each.
    batteries : tuple of BatteryNameplate
        Joined to the bank, one of each.
    how : str
        'series' or 'parallel'.
    """

    panels: tuple[PanelNameplate, ...] = ()
    batteries: tuple[BatteryNameplate, ...] = ()
    how: str = "parallel"


# Shared, because the search makes a case for every system it looks at.
USUAL_CHOICES = Choices()
NOTHING_JOINED = Joined()


@dataclass(frozen=True)
class Case:
    """A system, its place, its loads and its habits.

    Parameters
    ----------
    system : System
        The parts.
    coldest_c : float
        Mean of the coldest hour of each year [°C].
    never_colder_c : float or None
        Colder than any hour of many years [°C]; ``None``: as ``coldest_c``.
    hottest_cell_c : float
        Hottest cell temperature at which charging is still wanted [°C].
    loads : tuple of LoadFacts
        What is to run.
    peaks_w : tuple of (str, float)
        Highest power asked at once from a supply [W], where it is known.
    mains_v : float
        Voltage that mains appliances of the place want [V].
    whole : bool
        ``False``: only these parts are asked about; a missing part is not a fault.
    """

    system: System
    coldest_c: float = -10.0
    never_colder_c: float | None = None
    hottest_cell_c: float = USUAL_HOTTEST_CELL_C
    loads: tuple[LoadFacts, ...] = ()
    peaks_w: tuple[tuple[str, float], ...] = ()
    mains_v: float = 230.0
    choices: Choices = USUAL_CHOICES
    proof: ProofFacts | None = None
    joined: Joined = NOTHING_JOINED
    whole: bool = True

    @property
    def extreme_c(self) -> float:
        """Coldest air to reckon with over many years [°C]."""
        if self.never_colder_c is None:
            return self.coldest_c
        return min(self.coldest_c, self.never_colder_c)

    @property
    def scale(self) -> float:
        """Bank voltage over 12 V: set points on labels are for a 12 V bank [-]."""
        return self.system.bank_v / 12.0

    def peak_w(self, supply: str) -> float | None:
        """Highest power asked at once from a supply [W]; ``None``: not known."""
        return next((watts for name, watts in self.peaks_w if name == supply), None)

    def changed(self, *, keep_proof: bool = False, **parts: Any) -> Case:
        """Return the same case with other fields of the system, which has to be proven anew."""
        return replace(
            self,
            system=replace(self.system, **parts),
            proof=self.proof if keep_proof else None,
        )

    def with_array(self, index: int, **fields: Any) -> Case:
        """Return the same case with other fields in one array."""
        arrays = list(self.system.arrays)
        arrays[index] = replace(arrays[index], **fields)
        return self.changed(arrays=tuple(arrays))

    def with_bank(self, *, keep_proof: bool = False, **fields: Any) -> Case:
        """Return the same case with other fields in the bank."""
        if self.system.bank is None:
            return self
        return self.changed(keep_proof=keep_proof, bank=replace(self.system.bank, **fields))

    def chosen(self, **fields: Any) -> Case:
        """Return the same case with other choices."""
        return replace(self, choices=replace(self.choices, **fields))


def array_role(case: Case, index: int) -> str:
    """Name of an array in findings: 'array', or 'array 2' where there are several."""
    if len(case.system.arrays) == 1:
        return phrase("array")
    return phrase("array {number}", number=index + 1)


def numbered_arrays(case: Case) -> tuple[tuple[str, int, Array], ...]:
    """Every array with its name in findings and its place in the system."""
    return tuple(
        (array_role(case, index), index, array) for index, array in enumerate(case.system.arrays)
    )


def choices_of(design: Design) -> Choices:
    """Gather what a design document says of habits and circumstances.

    Parameters
    ----------
    design : Design
        The document.

    Returns
    -------
    Choices
        Defaults where the document says nothing.
    """
    inverter, battery, backup = design.inverter, design.battery, design.backup
    controller = design.controller
    return Choices(
        mounting=tuple(array.mounting for array in design.arrays) or ("ground",),
        inverter_fed_from="battery" if inverter is None else inverter.fed_from,
        loads_fed_from="either" if controller is None else controller.loads_fed_from,
        inverter_off_when_idle=inverter is not None and inverter.off_when_idle,
        backup=None if backup is None else backup.kind,
        backup_transfers=backup is not None and backup.transfer,
        vent_opening_cm2=None if battery is None else battery.vent_opening_cm2,
        converters_named=tuple(
            one.label.name if one.label is not None else str(one.part) for one in design.converters
        ),
    )
