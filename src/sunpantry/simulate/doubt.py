"""How the answer would be with a battery as poor as the typical figures may be wrong.

Much of what a battery is stands on no label: its resistance, what the cold takes, how much
of a charge stays in it. The model takes typical figures from handbooks and practice, many of
them from memory. Here they all err to the dark side at once, each by the amount below, and
the years are run again. What a label does tell is left as it is.

Validity: as the simulation. Departures: the errors are taken as certain and all together,
which is the worst and not the likely case; those of panels are left out, for they are small
(see ``physics.panel_fit``), and those of the sun are told on their own.

References
----------
Labels are met to 95 % in the first cycles: IEC 60896, IEC 61427-1 (from memory). Cold: IEEE 485
cell-size factors against IEC 60896-11, which part by a tenth of the capacity about 0 °C (from
memory). The rest: common practice, no source.
"""

from __future__ import annotations

from dataclasses import dataclass

from sunpantry.parts.system import System
from sunpantry.simulate import layout as at
from sunpantry.simulate.run import Rows
from sunpantry.simulate.setting import Setting
from sunpantry.timegrid import FloatArray

CAPACITY_FACTOR = 0.95
RESISTANCE_FACTOR = 1.5
COLD_FACTOR = 1.25
LEAK_FACTOR = 1.5
GAS_FACTOR = 2.0
COULOMBIC_LESS = 0.02


@dataclass(frozen=True)
class Poorer:
    """What such a battery does to the answer.

    Parameters
    ----------
    hours_without_power_per_year : float
        Mean over the years, anything short [h].
    lowest_charge : float
        Lowest state of charge of any year [-].
    """

    hours_without_power_per_year: float
    lowest_charge: float


def make_poorer(row: FloatArray, system: System) -> None:
    """Turn the typical figures in a design row to the dark side.

    Parameters
    ----------
    row : numpy.ndarray, shape (DESIGN_COLUMNS,)
        Changed in place.
    system : System
        Whose bank tells what its label says.
    """
    if system.bank is None:
        return
    battery = system.bank.battery
    if battery.internal_resistance_ohm is None:
        for column in (at.DISCHARGE_OHM, at.CHARGE_OHM, at.SURGE_OHM):
            row[column] *= RESISTANCE_FACTOR
    if battery.self_discharge_pct_per_month is None:
        row[at.LEAK_PER_H] *= LEAK_FACTOR
    row[at.COLD_CAPACITY] *= COLD_FACTOR
    row[at.COLD_RESISTANCE] *= COLD_FACTOR
    row[at.COLD_CHARGE_RESISTANCE] *= COLD_FACTOR
    row[at.GAS_A] *= GAS_FACTOR
    row[at.COULOMBIC] -= COULOMBIC_LESS


def run_poorer(setting: Setting, system: System, *, capacity_left: float) -> Poorer | None:
    """Run a system through every year with a battery poorer than typical.

    Parameters
    ----------
    setting : Setting
        Sky and demand.
    system : System
        The system; a second source is not part of it.
    capacity_left : float
        Share of the capacity left without that doubt [-].

    Returns
    -------
    Poorer or None
        ``None`` without a battery.
    """
    if system.bank is None:
        return None
    rows = Rows(setting, capacity_left=capacity_left * CAPACITY_FACTOR)
    rows.add(system)
    make_poorer(rows.designs[0], system)
    yearly = rows.run().yearly[0]
    return Poorer(
        hours_without_power_per_year=float(yearly[:, at.Y_ANY_HOURS].mean()),
        lowest_charge=float(yearly[:, at.Y_LOWEST].min()),
    )
