"""The referee's loads, from docs/model.md sections 1.3 and 2.2."""

from __future__ import annotations

import math
from dataclasses import dataclass, field

from sunpantry.demand.series import Demand
from sunpantry.design.nameplates import InverterNameplate
from sunpantry.parts.system import System

VOLTS = {"5 V": 5.0, "12 V": 12.0, "24 V": 24.0, "48 V": 48.0}
SHED_BELOW = {1: 0.30, 2: 0.45}


@dataclass(frozen=True)
class Inverter:
    """Loss model from a label."""

    rated_w: float
    idle_w: float
    waiting_w: float
    linear: float
    square_per_w: float
    cut_v: float
    restart_v: float

    @classmethod
    def of(cls, plate: InverterNameplate, system_v: float) -> Inverter:
        """From the label."""
        i = plate.idle_w / plate.rated_w
        peak = 100.0 / plate.peak_efficiency_pct - 1.0
        rating = 100.0 / plate.rated_efficiency_pct - 1.0
        square = (math.sqrt(i) + math.sqrt(rating - peak)) ** 2
        linear = peak - 2.0 * math.sqrt(i * square)
        if linear < 0.0 or square < i:
            linear, square = 0.0, max(rating - i, 0.0)
        return cls(
            rated_w=plate.rated_w,
            idle_w=plate.idle_w,
            waiting_w=plate.idle_w if plate.search_w is None else plate.search_w,
            linear=linear,
            square_per_w=square / plate.rated_w,
            cut_v=plate.cutoff_v * system_v / 12.0,
            restart_v=plate.restart_v * system_v / 12.0,
        )

    def loss_w(self, ac_w: float) -> float:
        """Everything lost while it carries so much."""
        return self.idle_w + self.linear * ac_w + self.square_per_w * ac_w**2

    def more_w(self, room_w: float, ac_w: float, lost_w: float) -> float:
        """What it can carry more from so much at the bus, found by halving."""
        before = ac_w + self.loss_w(ac_w) if ac_w > 0.0 else lost_w
        low, high = 0.0, max(room_w, 0.0)
        for _ in range(60):
            middle = 0.5 * (low + high)
            if ac_w + middle + self.loss_w(ac_w + middle) - before <= room_w:
                low = middle
            else:
                high = middle
        return low


@dataclass
class Queue:
    """Jobs of one load that wait for sun."""

    power_w: float
    deadline: int
    above: float | None
    mains: bool
    importance: int
    least_w: float
    start_w: float
    arrivals_wh: list[float]
    waiting: list[tuple[int, float]] = field(default_factory=list)
    missed_wh: float = 0.0
    done_wh: float = 0.0

    def backlog_wh(self) -> float:
        """Energy still to be done."""
        return sum(energy for _, energy in self.waiting)

    def drop_overdue(self, t: int) -> None:
        """Give up jobs whose deadline passes in this step."""
        self.missed_wh += sum(e for arrived, e in self.waiting if t - arrived >= self.deadline)
        self.waiting = [job for job in self.waiting if t - job[0] < self.deadline]

    def work(self, energy_wh: float) -> None:
        """Do the oldest first."""
        self.done_wh += energy_wh
        while energy_wh > 0.0 and self.waiting:
            arrived, energy = self.waiting[0]
            if energy > energy_wh:
                self.waiting[0] = (arrived, energy - energy_wh)
                return
            energy_wh -= energy
            del self.waiting[0]


@dataclass(frozen=True)
class Asked:
    """Everything that is asked of a system through the year."""

    dc_w: tuple[list[float], list[float], list[float]]
    ac_w: tuple[list[float], list[float], list[float]]
    surge_w: list[float]
    dc_surge_w: tuple[list[float], list[float], list[float]]
    dc_peak_w: tuple[list[float], list[float], list[float]]
    queues: list[Queue]
    converters_w: float
    shed_below: dict[int, float]


def _dc_efficiency(system: System, supply: str) -> float:
    own = 1.0
    if system.bank is not None and system.bank.battery.chemistry == "power_bank":
        own = system.bank.battery.output_efficiency_pct / 100.0
    volts = VOLTS[supply]
    if volts == system.bank_v:
        return own
    fitting = [
        one
        for one in system.converters
        if abs(one.output_v / volts - 1.0) <= 0.15
        and one.input_min_v <= system.bank_v <= one.input_max_v
    ]
    chosen = max(fitting, key=lambda one: (one.rated_w, one.efficiency_pct))
    idle_share = chosen.idle_w / chosen.rated_w
    return own / max(100.0 / chosen.efficiency_pct - idle_share, 1.0)


def _dc_surge_w(demand: Demand, system: System, worst: int, part_of_start: float) -> list[float]:
    """What the DC loads up to a class may draw above their mean, at the bus."""
    found = []
    fed = [
        (load, _dc_efficiency(system, load.supply))
        for load in demand.loads
        if load.supply != "mains" and load.flexible is None and load.importance <= worst
    ]
    for t in range(demand.grid.steps_per_year):
        full = sum(load.peak_w / part for load, part in fed if load.running[t])
        mean = sum(load.power_w[t] / part for load, part in fed)
        starts = [(load.surge_w - load.peak_w) / part for load, part in fed if load.running[t]]
        found.append(max(float(full - mean) + part_of_start * max(starts, default=0.0), 0.0))
    return found


def asked_of(demand: Demand, system: System) -> Asked:
    """Bring the loads to the bus, or to the inverter's output."""
    steps = demand.grid.steps_per_year
    dc, ac = (
        ([0.0] * steps, [0.0] * steps, [0.0] * steps),
        ([0.0] * steps, [0.0] * steps, [0.0] * steps),
    )
    running, start, mean = [0.0] * steps, [0.0] * steps, [0.0] * steps
    dc_surge = [_dc_surge_w(demand, system, worst, 1.0) for worst in range(3)]
    dc_peak = [_dc_surge_w(demand, system, worst, 0.0) for worst in range(3)]
    queues, present = [], set()
    for load in demand.loads:
        mains = load.supply == "mains"
        part = 1.0 if mains else _dc_efficiency(system, load.supply)
        power = [float(p) for p in load.power_w]
        target = (ac if mains else dc)[load.importance]
        for t in range(steps):
            target[t] += power[t] / part
            if mains and load.flexible is None:
                mean[t] += power[t]
                if load.running[t]:
                    running[t] += load.peak_w
                    start[t] = max(start[t], load.surge_w - load.peak_w)
        if any(power) or load.flexible is not None:
            present.add(load.importance)
        jobs = load.flexible
        if jobs is not None:
            direct = system.bank is None
            queues.append(
                Queue(
                    power_w=jobs.power_w / part,
                    deadline=jobs.deadline_steps,
                    above=None if direct else jobs.battery_above,
                    mains=mains,
                    importance=load.importance,
                    least_w=0.15 * jobs.power_w / part if direct else 0.0,
                    start_w=(load.surge_w - jobs.power_w) / part,
                    arrivals_wh=[float(e) / part for e in jobs.arrivals_wh],
                )
            )
    first = min(present, default=0)
    sheds = system.bank is not None
    return Asked(
        dc_w=dc,
        ac_w=ac,
        surge_w=[max(r + s - m, 0.0) for r, s, m in zip(running, start, mean, strict=True)],
        dc_surge_w=(dc_surge[0], dc_surge[1], dc_surge[2]),
        dc_peak_w=(dc_peak[0], dc_peak[1], dc_peak[2]),
        queues=queues,
        converters_w=sum(one.idle_w for one in system.converters),
        shed_below={kind: v for kind, v in SHED_BELOW.items() if sheds and kind > first},
    )
