"""Panels and pipe for a pump that hangs straight on a panel: the cheapest that keep the tank.

More panel, or a wider pipe, never gives less water in any hour, so a tank is never drier
for it. Candidates are tried from the cheapest upwards; the first that keeps the promise
is the answer, and speaks for all dearer ones.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass, replace

from sunpantry.demand.water_jobs import PipeChoice, PumpJob
from sunpantry.design.promise import Search
from sunpantry.errors import SearchError
from sunpantry.parts.catalogue import shipped_catalogue
from sunpantry.parts.resolve import ArrayKit
from sunpantry.parts.system import Array
from sunpantry.phrases import phrase
from sunpantry.simulate.setting import Setting
from sunpantry.simulate.water import DirectPumping, DirectRun
from sunpantry.sizing.cost import Pricing
from sunpantry.sizing.promise import ROOM_H
from sunpantry.sizing.tilts import tilt_candidates

OPEN_ARRAY = ArrayKit(None, None, None, None, 0, None, None, "ground")
# Tilts are compared by the panel power that each needs, to this share of it.
TILT_TO = 0.02


@dataclass(frozen=True, eq=False)
class DirectPump:
    """What was chosen for one direct pump.

    Parameters
    ----------
    job : PumpJob
        The pump, with the pipe chosen.
    array : Array
        Its panels.
    run : DirectRun
        All years.
    kept : bool
        Whether the tank's hours without water are within the promise.
    spoke_for, simulated : int
        Combinations of panels and pipe that the answer speaks for, and that were run.
    """

    job: PumpJob
    array: Array
    run: DirectRun
    kept: bool
    spoke_for: int
    simulated: int


@dataclass(frozen=True)
class _Candidate:
    cost: float
    array: Array
    pipe: PipeChoice


def choose_direct(
    setting: Setting,
    job: PumpJob,
    *,
    kit: ArrayKit,
    limits: Search,
    pricing: Pricing,
    allowed_h: float,
) -> DirectPump:
    """Choose panels and pipe for one direct pump.

    Parameters
    ----------
    setting : Setting
        The sky.
    job : PumpJob
        The pump and its tank.
    kit : ArrayKit
        What the document fixes of the panels.
    limits : Search
        Most panels, and most power.
    pricing : Pricing
        Prices.
    allowed_h : float
        Hours a year that the tank may be dry [h].

    Raises
    ------
    SearchError
        When no panel may be taken.
    """
    trial = DirectPumping(setting, job)
    pipes = _pipes(job)
    equator_deg = 180.0 if setting.weather.place.latitude >= 0.0 else 0.0
    candidates = sorted(
        _candidates(kit, limits, pricing, pipes, equator_deg),
        key=lambda one: (one.cost, -one.array.power_w, -one.pipe.bore_mm),
    )
    if not candidates:
        raise SearchError(
            phrase(
                "No panel on the list may be taken for {name}: raise max_panels or max_panel_power "
                "in [search].",
                name=job.pump.name,
            )
        )
    tilt = kit.tilt_deg or _best_tilt(trial, candidates[-1], equator_deg, allowed_h)
    for number, one in enumerate(candidates, start=1):
        array = replace(one.array, tilt_deg=tilt)
        dry_h = trial.dry_hours(array, one.pipe, allowed_h=allowed_h + ROOM_H)
        if dry_h <= allowed_h + ROOM_H:
            return _chosen(trial, array, one.pipe, len(candidates), number, kept=True)
    best = max(candidates, key=lambda one: (one.array.power_w, one.pipe.bore_mm))
    array = replace(best.array, tilt_deg=tilt)
    count = len(candidates)
    return _chosen(trial, array, best.pipe, count, count, kept=False)


def _chosen(
    trial: DirectPumping,
    array: Array,
    pipe: PipeChoice,
    spoke_for: int,
    simulated: int,
    *,
    kept: bool,
) -> DirectPump:
    job = replace(trial.job, pipe=pipe)
    return DirectPump(job, array, trial.run(array, pipe), kept, spoke_for, simulated)


def _pipes(job: PumpJob) -> tuple[PipeChoice, ...]:
    """Pipes to try: the one given, or every size in which the water runs calmly."""
    if job.pump.pipe_bore_mm is not None:
        return (job.pipe,)
    calm = tuple(one for one in job.offered if one.is_calm and one.flow_l_min > 0.0)
    return calm or (job.offered[-1],)


def _candidates(
    kit: ArrayKit,
    limits: Search,
    pricing: Pricing,
    pipes: tuple[PipeChoice, ...],
    equator_deg: float,
) -> Iterator[_Candidate]:
    azimuth_deg = equator_deg if kit.azimuth_deg is None else kit.azimuth_deg
    panels = (kit.panel,) if kit.panel is not None else shipped_catalogue().panels
    for panel in panels:
        if panel.regulated_output_v is not None:
            continue
        counts = range(1, limits.max_panels + 1) if kit.count is None else (kit.count,)
        for count in counts:
            too_much = limits.max_panel_power_w and count * panel.power_w > limits.max_panel_power_w
            if kit.count is None and too_much:
                break
            owned = count if kit.owned is None else min(kit.owned, count)
            series = kit.series or 1
            array = Array(panel, series, max(count // series, 1), (), azimuth_deg, owned)
            array = replace(array, shaded_groups=kit.shaded_groups)
            cost = pricing.worth_paying(panel, array.count - owned)
            for pipe in pipes:
                yield _Candidate(cost + (pipe.price or 0.0), array, pipe)


def _best_tilt(
    trial: DirectPumping, most: _Candidate, equator_deg: float, allowed_h: float
) -> tuple[float, ...]:
    """Tilt at which the least panel power keeps the tank; that of most water where none does."""
    found: list[tuple[float, float, tuple[float, ...]]] = []
    limit_h = allowed_h + ROOM_H
    for tilt in tilt_candidates(trial.setting, equator_deg):
        array = replace(most.array, tilt_deg=tilt)
        dry_h = trial.dry_hours(array, most.pipe)
        low, high = 0.0, 1.0
        while dry_h <= limit_h and high - low > TILT_TO * high:
            middle = 0.5 * (low + high)
            if trial.dry_hours(array, most.pipe, allowed_h=limit_h, share=middle) <= limit_h:
                high = middle
            else:
                low = middle
        found.append((high, max(dry_h - limit_h, 0.0), tilt))
    return min(found)[2]
