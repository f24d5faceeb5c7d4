"""A battery bank as the simulation sees it: two wells of energy behind a voltage curve.

The wells hold energy rather than charge, so that the energy balance closes exactly in
every step; the open-circuit voltage follows the *head* of the available well. A fast
discharge lowers that head, the voltage sags and the bank is empty early; at rest the
wells level out and the voltage recovers.

Validity: banks of 5 to 48 V in small solar systems, discharged over hours to days, -20 to 45 °C.

Departures from the source: the kinetic model of Manwell & McGowan is written for
charge. Open-circuit voltage spans about ±4 % of its mean over the usable range, and
so does the difference between a share of the energy and a share of the charge. Hysteresis of
LiFePO4 and the slow drift of a resting voltage are left out.

References
----------
Wells: ``physics.kinetic``. Voltage, resistance, gassing: ``physics.battery_step``. Constants of
each chemistry: ``physics.chemistry``.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, replace
from functools import lru_cache

import numpy as np

from sunpantry.physics.chemistry import CHEMISTRIES, Chemistry
from sunpantry.physics.kinetic import Wells, capacity_at, fit_wells
from sunpantry.timegrid import FloatArray

# Points of the tabulated voltage curve, equally spaced in head from 0 to 1.
CURVE_POINTS = 65
# The Shepherd term of the discharge must not run off before the wells are empty.
SHORTEST_REACH = 1.02
# The handbooks' rest voltages are told against the charge given in 20 hours.
REST_HOURS = 20.0
# The voltage falls off over the last tenth of the content, or sooner, also where the label has
# almost the same capacity at every rate: the published battery of tests/referee, and the sealed
# ones on the market, which have given 95 % at 1.85 V per cell (data sheets, from memory).
SHORTEST_KNEE = 0.10
WORN_OUT = 0.80  # a battery is worn out at 80 % of its rated capacity (IEC 61427-1, IEEE 1013)


@dataclass(frozen=True)
class BatteryModel:
    """Constants of a whole bank.

    Parameters
    ----------
    chemistry : str
        Key of :data:`sunpantry.physics.chemistry.CHEMISTRIES`.
    cells : float
        Cells in series.
    rated_ah : float
        Capacity of the bank at the rate on its label [Ah].
    wells : Wells
        Kinetic constants; ``slow_capacity_ah`` is that of the bank.
    slow_energy_wh : float
        Energy in both wells of the full bank [Wh].
    empty_head : float
        Head left, after rest, when the bank has given its rated capacity [-].
    curve_v : tuple of float
        Open-circuit voltage of the bank against head, ``CURVE_POINTS`` values [V].
    discharge_ohm, charge_ohm, surge_ohm : float
        Resistances of the bank at 25 °C [Ω].
    """

    chemistry: str
    cells: float
    rated_ah: float
    wells: Wells
    slow_energy_wh: float
    empty_head: float
    curve_v: tuple[float, ...]
    discharge_ohm: float
    charge_ohm: float
    surge_ohm: float
    max_charge_a: float
    max_discharge_a: float
    min_charge_c: float
    coulombic: float
    self_discharge_per_month: float
    cycles: float
    cycle_depth: float
    calendar_years: float
    absorption_v: float
    float_v: float
    heater_w: float = 0.0
    input_efficiency: float = 1.0

    @property
    def constants(self) -> Chemistry:
        """Constants of the chemistry."""
        return CHEMISTRIES[self.chemistry]

    @property
    def nominal_v(self) -> float:
        """Nominal voltage of the bank [V]."""
        return self.cells * self.constants.cell_v

    @property
    def drain_reach(self) -> float:
        """Shepherd ``C`` of the discharge, as a share of the content of both wells [-]."""
        return max(self.constants.drain_reach * (1.0 - self.empty_head), SHORTEST_REACH)

    @property
    def rated_energy_wh(self) -> float:
        """Energy given between full and the rated capacity taken [Wh]."""
        return self.slow_energy_wh * (1.0 - self.empty_head)

    def worn(self, capacity_left: float) -> BatteryModel:
        """Return the same bank aged: less capacity left, and a resistance grown to match.

        The resistance of a battery at the end of its life (80 %) is taken as one and a
        half times that of a new one (common practice, no source).
        """
        growth = 1.0 + 2.5 * (1.0 - capacity_left)
        return replace(
            self,
            rated_ah=self.rated_ah * capacity_left,
            wells=replace(self.wells, slow_capacity_ah=self.wells.slow_capacity_ah * capacity_left),
            slow_energy_wh=self.slow_energy_wh * capacity_left,
            discharge_ohm=self.discharge_ohm * growth,
            charge_ohm=self.charge_ohm * growth,
            surge_ohm=self.surge_ohm * growth,
        )


@lru_cache(maxsize=256)
def _unit_wells(chemistry: str, hours: float, others: tuple[tuple[float, float], ...]) -> Wells:
    """Wells of a battery of 1 Ah at ``hours``, from its label and the typical curve.

    Capacities on the label take the place of the typical ones near the same rate.
    """
    ratios = CHEMISTRIES[chemistry].rate_ratios
    if not ratios:
        return Wells(available_fraction=1.0, rate_per_h=1.0, slow_capacity_ah=1.0)
    times, shares = (np.array(column) for column in zip(*ratios, strict=True))
    at_label = float(np.interp(np.log(hours), np.log(times), shares))
    label = {hours: 1.0, **dict(others)}
    points = {
        float(time): float(share) / at_label
        for time, share in zip(times, shares, strict=True)
        if all(max(time / h, h / time) > 1.5 for h in label)
    }
    fitted = fit_wells(_rising({**points, **label}))
    scale = 1.0 / capacity_at(fitted, hours)
    return Wells(fitted.available_fraction, fitted.rate_per_h, fitted.slow_capacity_ah * scale)


def _rising(points: Mapping[float, float]) -> dict[float, float]:
    """Drop typical points that contradict the label: capacity must not fall with time."""
    hours = sorted(points)
    capacities = np.maximum.accumulate([points[h] for h in hours])
    return {h: float(capacity) for h, capacity in zip(hours, capacities, strict=True)}


def voltage_curve(chemistry: Chemistry, *, rest_head: float, cells: float) -> FloatArray:
    """Open-circuit voltage of the bank against the head of the available well.

    Parameters
    ----------
    rest_head : float
        Head at rest when the charge of 20 hours has been taken [-].
    cells : float
        Cells in series.

    Returns
    -------
    numpy.ndarray
        Shape (CURVE_POINTS,) [V].
    """
    rated = np.array([point[0] for point in chemistry.rest_points])
    volts = np.array([point[1] for point in chemistry.rest_points])
    heads = rest_head + (1.0 - rest_head) * rated
    if chemistry.rate_ratios:
        knee = max(rest_head, SHORTEST_KNEE)
        above = heads > knee
        volts = np.concatenate(([chemistry.empty_v, np.interp(knee, heads, volts)], volts[above]))
        heads = np.concatenate(([0.0, knee], heads[above]))
    grid = np.linspace(0.0, 1.0, CURVE_POINTS)
    return np.asarray(np.interp(grid, heads, volts) * cells)


def battery_model(
    *,
    chemistry: str,
    nominal_v: float,
    capacity_ah: float,
    capacity_hours: float = 20.0,
    other_capacities_ah: Mapping[float, float] | None = None,
    series: int = 1,
    parallel: int = 1,
    internal_resistance_ohm: float | None = None,
    max_charge_a: float | None = None,
    max_discharge_a: float | None = None,
    min_charge_c: float | None = None,
    self_discharge_per_month: float | None = None,
    cycles: float | None = None,
    cycle_depth: float = 0.5,
    calendar_years: float | None = None,
    absorption_v: float | None = None,
    float_v: float | None = None,
    heater_w: float = 0.0,
    input_efficiency: float = 1.0,
    capacity_left: float = 1.0,
) -> BatteryModel:
    """Turn the label of one battery, and how many there are, into the model of the bank.

    Parameters
    ----------
    chemistry : str
        'flooded', 'agm', 'gel', 'lifepo4' or 'power_bank'.
    nominal_v, capacity_ah, capacity_hours : float
        Of one battery [V, Ah, h].
    other_capacities_ah : mapping, optional
        Further capacities on the label, hours to Ah.
    series, parallel : int
        Wiring of the bank.
    internal_resistance_ohm : float, optional
        Ohmic resistance of one battery [Ω]; it replaces the typical surge resistance, and
        the hour-scale ones keep their typical ratio to it.
    capacity_left : float
        1 for new, 0.8 for worn out.

    Returns
    -------
    BatteryModel
        Of the whole bank.
    """
    constants = CHEMISTRIES[chemistry]
    cells = nominal_v / constants.cell_v
    wells, empty_head = _wells_of(
        chemistry, capacity_ah * parallel, capacity_hours, capacity_ah, other_capacities_ah or {}
    )
    rest_head = 1.0 - capacity_at(wells, REST_HOURS) / wells.slow_capacity_ah
    curve = voltage_curve(constants, rest_head=rest_head, cells=cells * series)
    ohm_per_ah = cells * series / (capacity_ah * parallel)
    typical_surge_ohm = constants.surge_ohm_ah * ohm_per_ah
    surge_ohm = (internal_resistance_ohm or 0.0) * series / parallel or typical_surge_ohm
    ratio = surge_ohm / typical_surge_ohm
    leak = self_discharge_per_month
    model = BatteryModel(
        chemistry=chemistry,
        cells=cells * series,
        rated_ah=capacity_ah * parallel,
        wells=wells,
        slow_energy_wh=wells.slow_capacity_ah * float(np.trapezoid(curve, dx=1 / (curve.size - 1))),
        empty_head=empty_head,
        curve_v=tuple(curve.tolist()),
        discharge_ohm=constants.discharge_ohm_ah * ohm_per_ah * ratio,
        charge_ohm=constants.charge_ohm_ah * ohm_per_ah * ratio,
        surge_ohm=surge_ohm,
        max_charge_a=parallel * (max_charge_a or constants.charge_c_rate * capacity_ah),
        max_discharge_a=parallel * (max_discharge_a or constants.discharge_c_rate * capacity_ah),
        min_charge_c=constants.min_charge_c if min_charge_c is None else min_charge_c,
        coulombic=constants.coulombic,
        self_discharge_per_month=constants.self_discharge_per_month if leak is None else leak,
        cycles=constants.cycles_at_half if cycles is None else cycles,
        cycle_depth=0.5 if cycles is None else cycle_depth,
        calendar_years=calendar_years or constants.calendar_years,
        absorption_v=series * (absorption_v or constants.absorption_v * cells),
        float_v=series * (float_v or constants.float_v * cells),
        heater_w=heater_w * series * parallel,
        input_efficiency=input_efficiency,
    )
    return model if capacity_left == 1.0 else model.worn(capacity_left)


def _wells_of(
    chemistry: str,
    bank_ah: float,
    hours: float,
    label_ah: float,
    others_ah: Mapping[float, float],
) -> tuple[Wells, float]:
    """Wells of the bank, and the head left at rest when its rated capacity is taken."""
    others = tuple((float(h), value / label_ah) for h, value in sorted(others_ah.items()))
    unit = _unit_wells(chemistry, float(hours), others)
    wells = replace(unit, slow_capacity_ah=unit.slow_capacity_ah * bank_ah)
    return wells, max(0.0, 1.0 - 1.0 / unit.slow_capacity_ah)
