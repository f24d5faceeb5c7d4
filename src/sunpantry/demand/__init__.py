"""Loads and habits turned into power on each supply, step by step."""

from sunpantry.demand.demand import demand_of, window_share
from sunpantry.demand.library import (
    LibraryLoad,
    complete_design,
    find_load,
    library_names,
    load_library,
)
from sunpantry.demand.series import Demand, Flexible, LoadSeries, OwnBattery
from sunpantry.demand.water import TankDemand, water_of

__all__ = [
    "Demand",
    "Flexible",
    "LibraryLoad",
    "LoadSeries",
    "OwnBattery",
    "TankDemand",
    "complete_design",
    "demand_of",
    "find_load",
    "library_names",
    "load_library",
    "water_of",
    "window_share",
]
