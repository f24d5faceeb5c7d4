"""The system with its numbers, where its picture shows them."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING, Any

import numpy as np

from sunpantry.figures import Figure
from sunpantry.web import picture_whys

if TYPE_CHECKING:
    from sunpantry.parts.system import System
    from sunpantry.simulate.proof import Proof
    from sunpantry.simulate.setting import Setting

JUNE, DECEMBER = 5, 11
MAINS = "mains"


@dataclass(frozen=True)
class Sunny:
    """The array in the picture.

    Parameters
    ----------
    words : str
        '2 × 100 W panel'.
    power_w, volts, amps : float
        Rated power, and voltage and current at it [W, V, A].
    tilt_deg, azimuth_deg : float
        How it faces [°].
    june_wh, december_wh : float
        Taken from it on a mean day [Wh].
    figures : tuple of Figure
        How these come about.
    """

    words: str
    power_w: float
    volts: float
    amps: float
    tilt_deg: float
    azimuth_deg: float
    june_wh: float
    december_wh: float
    figures: tuple[Figure, ...]


@dataclass(frozen=True)
class Jar:
    """The battery in the picture.

    Parameters
    ----------
    words : str
        Name and count.
    volts, amp_hours, watt_hours : float
        Of the bank [V, Ah, Wh].
    june, december : float
        Mean state of charge [-].
    lowest : float
        In any winter [-].
    figures : tuple of Figure
        How these come about.
    """

    words: str
    volts: float
    amp_hours: float
    watt_hours: float
    june: float
    december: float
    lowest: float
    figures: tuple[Figure, ...]


@dataclass(frozen=True)
class Shelf:
    """One supply in the picture: everything that runs on 12 V, on the mains, …

    Parameters
    ----------
    supply : str
        '5 V', '12 V', '24 V', '48 V' or 'mains'.
    through : str
        Converter or inverter between it and the battery; empty where there is none.
    volts, watts, amps : float
        With everything on it running [V, W, A].
    june_wh, december_wh : float
        Asked for on a mean day [Wh].
    names : tuple of str
        What hangs on it.
    figures : tuple of Figure
        How these come about.
    """

    supply: str
    through: str
    volts: float
    watts: float
    amps: float
    june_wh: float
    december_wh: float
    names: tuple[str, ...]
    figures: tuple[Figure, ...]


@dataclass(frozen=True)
class Picture:
    """The system with its numbers; see the classes of its fields."""

    sunny: tuple[Sunny, ...]
    controller: str
    controller_kind: str
    controller_a: float
    controller_figures: tuple[Figure, ...]
    bank_v: float
    jar: Jar | None
    shelves: tuple[Shelf, ...]
    june_served_wh: float
    december_served_wh: float


def picture_of(setting: Setting, system: System, proof: Proof) -> Picture:
    """Put the numbers of a system where its picture shows them."""
    june, december = proof.months[JUNE], proof.months[DECEMBER]
    whole_w = max(system.array_power_w, 1e-9)
    sunny = tuple(
        Sunny(
            words=f"{array.count} × {array.panel.name}",
            power_w=array.power_w,
            volts=array.series * array.panel.vmp_v,
            amps=array.parallel * array.panel.imp_a,
            tilt_deg=float(np.mean(array.tilt_deg)),
            azimuth_deg=array.azimuth_deg,
            june_wh=june.gathered_wh * array.power_w / whole_w,
            december_wh=december.gathered_wh * array.power_w / whole_w,
            figures=picture_whys.array_figures(
                array, june, december, share=array.power_w / whole_w
            ),
        )
        for array in system.arrays
    )
    jar = None
    if system.bank is not None:
        bank = system.bank
        jar = Jar(
            words=f"{bank.count} × {bank.battery.name}",
            volts=bank.nominal_v,
            amp_hours=bank.capacity_ah,
            watt_hours=bank.energy_wh,
            june=june.mean_charge,
            december=december.mean_charge,
            lowest=min(month.lowest_charge for month in proof.months),
            figures=picture_whys.bank_figures(bank, proof),
        )
    controller = system.controller
    return Picture(
        sunny=sunny,
        controller="" if controller is None else controller.name,
        controller_kind="" if controller is None else controller.kind,
        controller_a=0.0 if controller is None else controller.rated_a * system.controller_count,
        controller_figures=() if controller is None else picture_whys.controller_figures(system),
        bank_v=system.bank_v,
        jar=jar,
        shelves=_shelves(setting, system),
        june_served_wh=june.served_wh,
        december_served_wh=december.served_wh,
    )


def _shelves(setting: Setting, system: System) -> tuple[Shelf, ...]:
    shelves = []
    for supply in dict.fromkeys(load.supply for load in setting.demand.loads):
        here = [load for load in setting.demand.loads if load.supply == supply]
        if supply == MAINS:
            inverter = system.inverter
            volts = 230.0 if inverter is None else inverter.output_v
            through = "" if inverter is None else inverter.name
        else:
            volts = float(supply.split()[0])
            through = next((c.name for c in system.converters if c.output_v == volts), "")
        watts = sum(load.peak_w for load in here)
        daily = [daily_wh(setting, load) for load in here]
        shelves.append(
            Shelf(
                supply=supply,
                through=through,
                volts=volts,
                watts=watts,
                amps=watts / volts,
                june_wh=sum(one[JUNE] for one in daily),
                december_wh=sum(one[DECEMBER] for one in daily),
                names=tuple(load.name for load in here),
                figures=picture_whys.shelf_figures(
                    [(load.name, load.peak_w, one) for load, one in zip(here, daily, strict=True)],
                    volts=volts,
                ),
            )
        )
    return tuple(shelves)


def daily_wh(setting: Setting, load: Any) -> list[float]:
    """Asked for on a mean day of each month, jobs that can wait included."""
    grid = setting.demand.grid
    wanted = load.power_w * grid.step_h
    if load.flexible is not None:
        wanted = wanted + load.flexible.arrivals_wh
    sums = np.bincount(grid.month, weights=wanted, minlength=12)
    days = np.bincount(grid.month, minlength=12) / grid.steps_per_day
    return [float(total / count) for total, count in zip(sums, days, strict=True)]
