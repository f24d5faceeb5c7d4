"""Small random designs, and the slow way of answering them."""

from __future__ import annotations

from dataclasses import dataclass
from functools import cache
from typing import TypeVar

import numpy as np

from sunpantry.demand import demand_of
from sunpantry.design.document import parse_design
from sunpantry.design.models import Design
from sunpantry.parts.catalogue import Catalogue, shipped_catalogue
from sunpantry.parts.resolve import resolve_kit
from sunpantry.simulate.run import run_systems
from sunpantry.simulate.setting import Setting
from sunpantry.sizing.answer import Answer
from sunpantry.sizing.cost import Pricing
from sunpantry.sizing.promise import Demanded, mean_hours
from sunpantry.sizing.search import Searcher
from sunpantry.sizing.space import Choice, Space, space_of
from sunpantry.sky.climate import Climate, climate_of
from sunpantry.sky.generator import weather_years
from sunpantry.sky.place import place_at
from sunpantry.sky.weather import Weather

Part = TypeVar("Part")
WINTERS = 3
SITES = ((53.87, -9.33), (46.9, 7.4), (-1.3, 36.8), (64.5, 27.0))
TILTS = ((60.0,) * 12, (30.0,) * 12)


@cache
def sky(number: int) -> tuple[Climate, Weather]:
    """Climate and a few years of one of the sites."""
    climate = climate_of(place_at(*SITES[number]))
    return climate, weather_years(climate, years=WINTERS, seed=5)


@dataclass(frozen=True, eq=False)
class Case:
    """One small design with everything needed to answer it."""

    design: Design
    setting: Setting
    space: Space
    pricing: Pricing
    demanded: Demanded

    def searcher(self) -> Searcher:
        """Search of the case."""
        return Searcher(self.setting, self.space, self.pricing)


def few(
    rng: np.random.Generator, parts: tuple[Part, ...], least: int, most: int
) -> tuple[Part, ...]:
    """Draw some parts, kept in their order."""
    count = min(int(rng.integers(least, most + 1)), len(parts))
    chosen = sorted(rng.choice(len(parts), size=count, replace=False).tolist())
    return tuple(parts[number] for number in chosen)


def reduced_catalogue(rng: np.random.Generator) -> Catalogue:
    """A few parts of each kind from the shipped list."""
    whole = shipped_catalogue()
    panels = tuple(one for one in whole.panels if one.regulated_output_v is None)
    blocks = tuple(one for one in whole.batteries if one.nominal_v >= 6.0)
    return Catalogue(
        panels=few(rng, panels, 2, 3),
        batteries=few(rng, blocks, 3, 5),
        controllers=few(rng, whole.controllers, 3, 4),
        inverters=few(rng, whole.inverters, 4, 6),
        converters=whole.converters,
    )


def random_load(rng: np.random.Generator, number: int) -> str:
    """One load of a document."""
    supply = str(rng.choice(["12 V", "12 V", "5 V", "mains"]))
    power = float(np.round(rng.uniform(2.0, 12.0), 1))
    importance = str(rng.choice(["must", "should", "may"]))
    kind = int(rng.integers(4))
    habit = {
        0: "hours_per_day = 24",
        1: f"hours_per_day = {rng.integers(1, 7)}",
        2: 'from = "08:00"\nuntil = "17:00"\nduty = 0.5',
        3: f'from = "dusk"\nuntil = "23:30"\nmonths = "{rng.choice(["Nov-Feb", "May-Aug"])}"',
    }[kind]
    waits = ""
    if kind == 1 and rng.random() < 0.3:
        waits = 'can_wait = { days = 3, rule = "battery above 60 %" }\n'
    return (
        f'[[load]]\nname = "Load {number}"\npower = "{power} W"\nsupply = "{supply}"\n'
        f'importance = "{importance}"\n{habit}\n{waits}'
    )


def random_case(seed: int) -> Case:
    """One small design: loads, promise, terms, parts list, limits."""
    rng = np.random.default_rng(seed)
    loads = "\n".join(random_load(rng, number) for number in range(int(rng.integers(1, 4))))
    must = float(rng.choice([0.0, 0.0, 5.0]))
    should, may = float(rng.choice([0.0, 24.0, 200.0])), float(rng.choice([50.0, 200.0, 2000.0]))
    text = f"""
schema = 1
name = "Case {seed}"
winters = {WINTERS}

[site]
latitude = 50.0
longitude = 0.0

{loads}

[promise]
must = "{must} h"
should = "{should} h"
may = "{may} h"

[money]
years = {rng.choice([5, 15, 25])}
discount_rate = {rng.choice([0, 3, 8])}

[search]
max_panels = {rng.integers(2, 5)}
max_batteries = {rng.integers(2, 4)}
"""
    return case_of(text, reduced_catalogue(rng), site=int(rng.integers(len(SITES))))


def case_of(text: str, catalogue: Catalogue, *, site: int) -> Case:
    """Everything needed to answer one document at one of the sites."""
    design = parse_design(text)
    climate, weather = sky(site)
    demand = demand_of(design, climate.place, weather.grid)
    kit = resolve_kit(design, catalogue)
    space = space_of(
        design,
        kit,
        catalogue,
        demand,
        coldest_c=climate.mean_annual_minimum_c,
        latitude_deg=climate.place.latitude,
        tilts=TILTS,
    )
    setting = Setting(climate, weather, demand)
    return Case(design, setting, space, Pricing.of(design, kit), Demanded.of(design))


def brute_force(case: Case) -> Answer | None:
    """Run every system of the space and take the cheapest that keeps the promise."""
    searcher = case.searcher()
    best: Answer | None = None
    choices = list(case.space)
    for start in range(0, len(choices), 64):
        for answer in searcher.answers(choices[start : start + 64]):
            hours = np.array(answer.hours_by_class)
            if case.demanded.kept(hours, answer.hours_without_power) and (
                best is None or answer.rank < best.rank
            ):
                best = answer
    return best


def hours_of(case: Case, choices: list[Choice]) -> np.ndarray:
    """Mean hours without power by class of some systems, straight from the kernel."""
    runs = run_systems(case.setting, [case.space.system(one) for one in choices], capacity_left=0.8)
    return mean_hours(runs)[0]
