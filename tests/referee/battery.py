"""The referee's battery bank, from docs/model.md sections 1.2 and 2; plain floats."""

from __future__ import annotations

import math
from collections.abc import Mapping
from dataclasses import dataclass
from functools import lru_cache

import numpy as np

from sunpantry.design.nameplates import BatteryNameplate
from sunpantry.parts.system import Bank
from sunpantry.physics.chemistry import CHEMISTRIES as TABLES
from sunpantry.physics.chemistry import Chemistry

POINTS = 65
HOURS_A_MONTH = 730.0


def rate_capacity(c: float, k: float, hours: float) -> float:
    """Capacity at a discharge time, of a battery that holds 1 at a vanishing current."""
    x = k * hours
    return x * c / (1.0 - math.exp(-x) + c * (x - 1.0 + math.exp(-x)))


def _misfit(points: Mapping[float, float], c: float, k: float) -> tuple[float, float]:
    """Sum of squared relative errors, and the capacity at a vanishing current."""
    shape = {t: rate_capacity(c, k, t) for t in points}
    q = sum(points[t] * shape[t] for t in points) / sum(v * v for v in shape.values())
    return sum((q * shape[t] / points[t] - 1.0) ** 2 for t in points), q


def fit(points: Mapping[float, float]) -> tuple[float, float, float]:
    """Search c and k on a grid that closes in on the best, k in steps of its logarithm."""
    low_c, high_c, low_k, high_k = 0.05, 0.99, math.log(0.02), math.log(5.0)
    best = (math.inf, 0.5, 0.0)
    for _ in range(40):
        for c in np.linspace(low_c, high_c, 9):
            for log_k in np.linspace(low_k, high_k, 9):
                error = _misfit(points, float(c), math.exp(log_k))[0]
                best = min(best, (error, float(c), float(log_k)))
        half_c, half_k = 0.36 * (high_c - low_c), 0.36 * (high_k - low_k)
        low_c, high_c = max(0.05, best[1] - half_c), min(0.99, best[1] + half_c)
        low_k = max(math.log(0.02), best[2] - half_k)
        high_k = min(math.log(5.0), best[2] + half_k)
    c, k = best[1], math.exp(best[2])
    return c, k, _misfit(points, c, k)[1]


def rate_points(
    table: Chemistry, label: Mapping[float, float], rate_h: float
) -> dict[float, float]:
    """Capacities to fit: the label's, and typical ones where the label says nothing near."""
    logs = [math.log(t) for t, _ in table.rate_ratios]
    shares = [share for _, share in table.rate_ratios]
    at_rate = float(np.interp(math.log(rate_h), logs, shares))
    points = dict(label)
    for t, share in table.rate_ratios:
        if all(max(t / other, other / t) > 1.5 for other in label):
            points[t] = share / at_rate
    highest = 0.0
    for t in sorted(points):
        highest = max(highest, points[t])
        points[t] = highest
    return points


@lru_cache(maxsize=64)
def _kinetics(battery: BatteryNameplate) -> tuple[float, float, float]:
    table = TABLES[battery.chemistry]
    if not table.rate_ratios:
        return 1.0, 1.0, 1.0
    label = {float(t): ah / battery.capacity_ah for t, ah in battery.other_capacities_ah.items()}
    label[battery.capacity_hours] = 1.0
    c, k, _ = fit(rate_points(table, label, battery.capacity_hours))
    return c, k, 1.0 / rate_capacity(c, k, battery.capacity_hours)


@dataclass(frozen=True)
class Store:
    """A whole bank, new or worn."""

    table: Chemistry
    cells: float
    rated_ah: float
    full_wh: float
    share: float
    rate_per_h: float
    volts: tuple[float, ...]
    charge_ohm: float
    discharge_ohm: float
    surge_ohm: float
    drain_reach: float
    max_charge_a: float
    max_discharge_a: float
    lowest_charge_c: float
    leak_per_h: float
    absorption_v: float
    float_v: float
    heater_w: float

    def open_v(self, head: float) -> float:
        """Open-circuit voltage at a head."""
        x = min(max(head, 0.0), 1.0) * (POINTS - 1)
        left = min(int(x), POINTS - 2)
        return self.volts[left] + (x - left) * (self.volts[left + 1] - self.volts[left])

    def kept_back(self, cell_c: float) -> float:
        """Share of the available well out of reach in the cold."""
        return min(max(self.table.capacity_per_k * (25.0 - cell_c), 0.0), 0.9)

    def cold_factor(self, cell_c: float) -> float:
        """Growth of the resistances in the cold."""
        return max(1.0 + self.table.resistance_per_k * (25.0 - cell_c), 0.7)

    def cold_charge_factor(self, cell_c: float) -> float:
        """Growth of the resistance on charge in the cold."""
        return max(1.0 + self.table.charge_resistance_per_k * (25.0 - cell_c), 0.7)

    def charge_ohm_at(self, filled: float, factor: float) -> float:
        """Resistance on charge."""
        m, c = self.table.taper, self.table.taper_reach
        return self.charge_ohm * factor * (1.0 + m * filled / (c - filled))

    def drained_factor(self, filled: float, cell_c: float) -> float:
        """Growth of the resistances on discharge, in the cold and as the bank empties."""
        m, empty = self.table.drain, 1.0 - filled
        return self.cold_factor(cell_c) * (1.0 + m * empty / (self.drain_reach - empty))

    def charge_limit_a(self, cell_c: float) -> float:
        """Largest charge current at a temperature."""
        if cell_c < self.lowest_charge_c or cell_c > self.table.max_charge_c:
            return 0.0
        if not self.table.is_lead_acid and cell_c < self.lowest_charge_c + 10.0:
            return min(self.max_charge_a, 0.1 * self.rated_ah)
        return self.max_charge_a

    def gas_a(self, volts: float, cell_c: float) -> float:
        """Gassing current."""
        base = self.table.gas_ma_per_100ah / 1000.0 * self.rated_ah / 100.0
        return base * math.exp(11.0 * (volts / self.cells - 2.23) + 0.06 * (cell_c - 20.0))

    def settle(self, w1: float, w0: float, step_h: float) -> tuple[float, float]:
        """Available well after a step with nothing drawn [Wh], and what a watt takes of it [h]."""
        gone, c, k = math.exp(-self.rate_per_h * step_h), self.share, self.rate_per_h
        settled = gone * w1 + c * (1.0 - gone) * w0
        return settled, ((1.0 - gone) + c * (k * step_h - 1.0 + gone)) / k


def open_curve(table: Chemistry, c: float, k: float) -> list[float]:
    """Open-circuit voltage of a cell at heads from 0 to 1."""
    bottom = 1.0 - rate_capacity(c, k, 20.0) if table.rate_ratios else 0.0
    heads = [bottom + (1.0 - bottom) * s for s, _ in table.rest_points]
    rest = [v for _, v in table.rest_points]
    if table.rate_ratios:
        knee = max(bottom, 0.10)
        kept = [(h, v) for h, v in zip(heads, rest, strict=True) if h > knee]
        kept = [(0.0, table.empty_v), (knee, float(np.interp(knee, heads, rest))), *kept]
        heads, rest = [h for h, _ in kept], [v for _, v in kept]
    return [float(np.interp(i / (POINTS - 1), heads, rest)) for i in range(POINTS)]


def store_of(bank: Bank, left: float = 1.0) -> Store:
    """Constants of a bank with a share of its capacity left."""
    battery = bank.battery
    table = TABLES[battery.chemistry]
    left *= battery.worn_pct / 100.0
    c, k, q = _kinetics(battery)
    cells_each = battery.nominal_v / table.cell_v
    cells, ah = cells_each * bank.series, battery.capacity_ah * bank.parallel
    volts = [cells * v for v in open_curve(table, c, k)]
    mean_v = (sum(volts) - 0.5 * (volts[0] + volts[-1])) / (POINTS - 1)
    per_ah = cells / ah
    surge = table.surge_ohm_ah * per_ah
    ratio = 1.0
    if battery.internal_resistance_ohm:
        ratio = battery.internal_resistance_ohm * bank.series / bank.parallel / surge
    ratio *= 1.0 + 2.5 * (1.0 - left)
    monthly = battery.self_discharge_pct_per_month
    lowest = battery.min_charge_temperature_c
    return Store(
        table=table,
        cells=cells,
        rated_ah=ah * left,
        full_wh=q * ah * mean_v * left,
        share=c,
        rate_per_h=k,
        volts=tuple(volts),
        charge_ohm=table.charge_ohm_ah * per_ah * ratio,
        discharge_ohm=table.discharge_ohm_ah * per_ah * ratio,
        surge_ohm=surge * ratio,
        drain_reach=max(table.drain_reach / max(q, 1.0), 1.02),
        max_charge_a=bank.parallel
        * (battery.max_charge_a or table.charge_c_rate * battery.capacity_ah),
        max_discharge_a=bank.parallel
        * (battery.max_discharge_a or table.discharge_c_rate * battery.capacity_ah),
        lowest_charge_c=table.min_charge_c if lowest is None else lowest,
        leak_per_h=(table.self_discharge_per_month if monthly is None else monthly / 100.0)
        / HOURS_A_MONTH,
        absorption_v=bank.series * (battery.absorption_v or table.absorption_v * cells_each),
        float_v=bank.series * (battery.float_v or table.float_v * cells_each),
        heater_w=battery.heater_w * bank.series * bank.parallel,
    )


def warmth_c(air_c: list[float], housing: str, step_h: float) -> list[float]:
    """Battery temperature behind the air temperature."""
    lag_h = {"outdoors": 4.0, "shed": 14.0, "house": 48.0, "buried": 720.0}[housing]
    keep = math.exp(-step_h / lag_h)
    first = round(720 / step_h)
    now, found = sum(air_c[:first]) / first, []
    for air in air_c:
        now = keep * now + (1.0 - keep) * air
        found.append(max(now, 15.0) if housing == "house" else now)
    return found
