"""Speed of the simulation kernel, beside a plain C loop and a NumPy loop over hours.

Designs are real ones: parts of the shipped list, the sky of Carrowmoor over 30 winters.
Times are of the processor where one thread runs, of the clock where all do or a person
waits; the quickest of a few rounds.
"""

from __future__ import annotations

import resource
import time
from collections.abc import Callable
from dataclasses import dataclass

import numba
import numpy as np

from benchmarks import c_loop, numpy_loop
from sunpantry.demand.demand import demand_of
from sunpantry.design.document import parse_design
from sunpantry.parts.catalogue import Catalogue, shipped_catalogue
from sunpantry.parts.system import Array, Bank, System
from sunpantry.simulate import kernel
from sunpantry.simulate.proof import prove
from sunpantry.simulate.run import run_systems
from sunpantry.simulate.setting import Setting
from sunpantry.sky.climate import climate_of
from sunpantry.sky.generator import weather_years
from sunpantry.sky.place import place_at

YEARS, DESIGNS, ROUNDS = 30, 64, 4
NUMPY_STEPS = 1000
PROMISE_H = (0.0, 24.0, 200.0)
DESIGN = """
schema = 1
name = "Hut"
[site]
latitude = 53.87
longitude = -9.33
[[load]]
name = "Fence"
power = "2 W"
supply = "12 V"
hours_per_day = 24
importance = "must"
[[load]]
name = "Lamps"
power = "12 W"
supply = "12 V"
hours_per_day = 5
importance = "should"
[[load]]
name = "Laptop"
power = "45 W"
supply = "mains"
hours_per_day = 2
importance = "may"
"""


@dataclass
class Heard:
    """The arrays of a kernel call, kept while it is made."""

    arrays: tuple[np.ndarray, ...] = ()
    step_h: float = 1.0

    def __call__(self, *arguments: object) -> int:
        """Stand in for the kernel."""
        arrays = [one for one in arguments if isinstance(one, np.ndarray)]
        self.arrays = tuple(arrays)
        self.step_h = next(one for one in arguments if isinstance(one, float))
        return real_kernel(*arguments)


real_kernel = kernel.run_designs


def setting() -> Setting:
    """Thirty winters at Carrowmoor, and something to run."""
    design = parse_design(DESIGN)
    place = place_at(53.87, -9.33)
    climate = climate_of(place)
    weather = weather_years(climate, years=YEARS, seed=1)
    return Setting(climate, weather, demand_of(design, place, weather.grid))


def systems(parts: Catalogue) -> list[System]:
    """Panels, batteries and both kinds of controller in turn."""
    panels = [one for one in parts.panels if 16.0 < one.vmp_v < 22.0][:4]
    batteries = [
        one for one in parts.batteries if 11.0 < one.nominal_v < 14.0 and one.capacity_ah >= 18.0
    ]
    switched = next(one for one in parts.controllers if one.kind == "pwm" and one.rated_a >= 10)
    tracking = next(one for one in parts.controllers if one.kind == "mppt")
    inverter = next(one for one in parts.inverters if one.input_v == 12.0)
    made = []
    for number in range(DESIGNS):
        panel = panels[number % len(panels)]
        array = Array(panel, 1, 1 + number // 4 % 4, (60.0,) * 12, 180.0)
        bank = Bank(batteries[number // 2 % len(batteries)], 1, 1)
        made.append(System(12.0, (array,), bank, (switched, tracking)[number % 2], inverter))
    return made


def quickest(
    work: Callable[[], object], *, clock: Callable[[], float], rounds: int = ROUNDS
) -> float:
    """Shortest time of a few rounds [s]."""
    times = []
    for _ in range(rounds):
        begun = clock()
        work()
        times.append(clock() - begun)
    return min(times)


def listen(hut: Setting, chosen: list[System]) -> Heard:
    """Run once, keeping what the kernel was given."""
    heard = Heard()
    kernel.run_designs = heard
    try:
        run_systems(hut, chosen)
    finally:
        kernel.run_designs = real_kernel
    return heard


def again(heard: Heard) -> Callable[[], tuple[np.ndarray, ...]]:
    """The same kernel call, into arrays of its own: totals, yearly, monthly, traces."""
    before, after = heard.arrays[:12], heard.arrays[12:]

    def call() -> tuple[np.ndarray, ...]:
        fresh = tuple(np.zeros_like(one) for one in after)
        real_kernel(*before, heard.step_h, 0, fresh[1].shape[1], *fresh)
        return fresh

    return call


def first_year(heard: Heard) -> Heard:
    """The same call cut to its first year."""
    designs, states, sun, place, month, curves, cells, loads, flexible, arrived, *rest = (
        heard.arrays
    )
    served, allowed, totals, yearly, monthly, traces = rest
    lit = sun.shape[2] // yearly.shape[1]
    cut = (
        designs, states, np.ascontiguousarray(sun[:, :, :lit]), place, month, curves,
        np.ascontiguousarray(cells[:, : place.size]), loads, flexible, arrived,
        served, allowed, totals, np.ascontiguousarray(yearly[:, :1]), monthly, traces,
    )  # fmt: skip
    return Heard(cut, heard.step_h)


def against_c(heard: Heard, hours: float, kernel_s: float) -> dict[str, float]:
    """Ratio to the C loop, and how far the two agree.

    They are compared over one year: a bank that is charged at a given current and
    discharged at a given power amplifies any difference by some per cent a cycle as long
    as it gets neither full nor empty, so that in the worst systems rounding takes twenty
    years to show.
    """
    loop = c_loop.build()
    if loop is None:
        return {}
    year = first_year(heard)
    apart = 0.0
    for ours, theirs in zip(again(year)(), loop(year.arrays, year.step_h), strict=False):
        scale = np.abs(ours).max(axis=tuple(range(ours.ndim - 1))) + 1e-12
        apart = max(apart, float((np.abs(ours - theirs) / scale).max()))
    assert apart < 1e-9, f"the C loop is apart by {apart:.2g}"
    c_s = quickest(lambda: loop(heard.arrays, heard.step_h), clock=time.process_time)
    return {
        "kernel.c_loop_million_design_hours_per_s": hours / c_s / 1e6,
        "kernel.ratio_to_c_loop": c_s / kernel_s,
        "kernel.apart_from_c_loop": apart,
    }


def figures() -> dict[str, float]:
    """Measure."""
    hut = setting()
    chosen = systems(shipped_catalogue())
    heard = listen(hut, chosen)
    call = again(heard)
    hours = DESIGNS * YEARS * 8760.0
    threads = numba.get_num_threads()
    numba.set_num_threads(1)
    one_s = quickest(call, clock=time.process_time)
    numba.set_num_threads(threads)
    all_s = quickest(call, clock=time.perf_counter)
    numpy_s = quickest(
        lambda: numpy_loop.run(heard.arrays, NUMPY_STEPS), clock=time.process_time, rounds=2
    )
    numpy_rate = DESIGNS * NUMPY_STEPS / numpy_s
    best = chosen[5]
    what_if_s = quickest(lambda: run_systems(hut, [best]), clock=time.perf_counter, rounds=8)
    proof_s = quickest(
        lambda: prove(hut, best, promise_h=PROMISE_H), clock=time.perf_counter, rounds=8
    )
    return {
        "kernel.million_design_hours_per_s_one_thread": hours / one_s / 1e6,
        "kernel.million_design_hours_per_s_all_threads": hours / all_s / 1e6,
        "kernel.threads": float(threads),
        **against_c(heard, hours, one_s),
        "kernel.ratio_to_numpy_loop": hours / one_s / numpy_rate,
        "kernel.what_if_ms": what_if_s * 1e3,
        "kernel.proof_with_traces_ms": proof_s * 1e3,
        "kernel.peak_memory_mb": resource.getrusage(resource.RUSAGE_SELF).ru_maxrss / 1024.0,
    }
