"""A bench for the kernel: rows and arrays made by hand, so that answers are known."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike

from sunpantry.physics.battery import BatteryModel, battery_model
from sunpantry.simulate import layout as at
from sunpantry.simulate.columns import battery_columns, curve_of
from sunpantry.simulate.kernel import run_designs
from sunpantry.timegrid import FloatArray

NO_LIMITS = np.array([-1.0, -1.0, -1.0])
NEVER = 1e9


@dataclass(frozen=True, eq=False)
class Told:
    """What the kernel gave back, columns by ``layout``."""

    totals: FloatArray
    yearly: FloatArray
    monthly: FloatArray
    traces: FloatArray
    served: FloatArray

    def trace(self, column: int, row: int = 0) -> FloatArray:
        """One column of a traced design, step by step."""
        return np.asarray(self.traces[row, column])

    def residual(self) -> FloatArray:
        """What the energy balance leaves over, as a share of what went through [-]."""
        totals = self.totals
        brought = totals[:, at.T_GATHERED] + totals[:, at.T_BACKUP]
        out = totals[:, at.T_SERVED : at.T_SERVED + at.CLASSES].sum(axis=1)
        for column in (
            at.T_CONVERSION,
            at.T_OWN,
            at.T_INVERTER,
            at.T_OHMIC,
            at.T_COULOMBIC,
            at.T_GAS,
            at.T_LEAK,
        ):
            out = out + totals[:, column]
        stored = totals[:, at.T_STORED_LAST] - totals[:, at.T_STORED_FIRST]
        through = brought + totals[:, at.T_THROUGHPUT] + totals[:, at.T_STORED_FIRST]
        return np.asarray((brought - out - stored) / through)


def battery(chemistry: str = "agm", **label: float) -> BatteryModel:
    """Model of a 12 V bank of 100 Ah, or as the label says."""
    given: dict[str, float] = {"capacity_ah": 100.0, **label}
    volts = given.pop("nominal_v", {"lifepo4": 12.8, "power_bank": 5.0}.get(chemistry, 12.0))
    return battery_model(chemistry=chemistry, nominal_v=volts, **given)  # type: ignore[arg-type]


def row(
    model: BatteryModel, *, step_h: float = 1.0, columns: Mapping[int, float] | None = None
) -> FloatArray:
    """A design: this bank behind a controller that holds its proper voltages.

    Parameters
    ----------
    columns : mapping, optional
        Anything else, or other, by ``layout`` column.
    """
    made = np.zeros(at.DESIGN_COLUMNS)
    battery_columns(made, model, step_h=step_h)
    constants = model.constants
    made[at.STRINGS] = 1.0
    made[at.IS_MPPT], made[at.CONVERSION] = 1.0, 1.0
    made[at.HEADROOM_V] = -NEVER
    made[at.RATED_A] = NEVER
    made[at.ABSORB_V], made[at.FLOAT_V] = model.absorption_v, model.float_v
    made[at.ABSORB_H] = 2.0
    made[at.DISCONNECT_V] = constants.disconnect_v * model.cells
    made[at.RECONNECT_V] = constants.reconnect_v * model.cells
    made[at.NODE_LOW_V], made[at.NODE_STEP_V] = 11.0, 2.0
    made[at.SHED_SHOULD] = made[at.SHED_MAY] = -1.0
    made[at.TRACE] = -1.0
    for column, value in (columns or {}).items():
        made[column] = value
    return made


def ideal_row(
    capacity_wh: float, *, step_h: float = 1.0, columns: Mapping[int, float] | None = None
) -> FloatArray:
    """A design without any loss: one well, a level voltage, no limits."""
    made = np.zeros(at.DESIGN_COLUMNS)
    made[at.STRINGS], made[at.IS_MPPT], made[at.CONVERSION] = 1.0, 1.0, 1.0
    made[at.HEADROOM_V] = -NEVER
    made[at.RATED_A] = made[at.MAX_CHARGE_A] = made[at.MAX_DISCHARGE_A] = NEVER
    made[at.ABSORB_V] = made[at.FLOAT_V] = 100.0
    made[at.ABSORB_H] = NEVER
    made[at.FULL_WH] = capacity_wh
    made[at.KEEP], made[at.REFILL], made[at.DRAW_H] = 0.0, 1.0, step_h
    made[at.AVAILABLE], made[at.COULOMBIC], made[at.CELLS] = 1.0, 1.0, 6.0
    made[at.DISCHARGE_OHM] = made[at.CHARGE_OHM] = made[at.SURGE_OHM] = 1e-12
    made[at.TAPER_REACH] = made[at.DRAIN_REACH] = 2.0
    made[at.MIN_CHARGE_C], made[at.MAX_CHARGE_C] = -100.0, 100.0
    made[at.MIN_DISCHARGE_C] = -100.0
    made[at.COLD_CHARGE_A] = NEVER
    made[at.SHED_SHOULD] = made[at.SHED_MAY] = -1.0
    made[at.WEAR_EXPONENT] = 1.0
    made[at.TRACE] = -1.0
    for column, value in (columns or {}).items():
        made[column] = value
    return made


def asked(steps: int, **columns: ArrayLike) -> FloatArray:
    """Load table of one set, shape (1, steps, LOAD_COLUMNS).

    Keywords are ``dc0``…``dc2``, ``ac0``…``ac2``, ``start0``…``start2`` and ``peak0``…``peak2``
    on the DC side [W], ``idle``, ``surge``, ``backup``.
    """
    places = {"idle": at.L_IDLE, "surge": at.L_SURGE, "backup": at.L_BACKUP}
    places |= {f"dc{kind}": at.L_DC + kind for kind in range(at.CLASSES)}
    places |= {f"ac{kind}": at.L_AC + kind for kind in range(at.CLASSES)}
    places |= {f"start{kind}": at.L_DC_SURGE + kind for kind in range(at.CLASSES)}
    places |= {f"peak{kind}": at.L_DC_PEAK + kind for kind in range(at.CLASSES)}
    table = np.zeros((1, steps, at.LOAD_COLUMNS))
    for name, values in columns.items():
        table[0, :, places[name]] = values
    return table


def tracked_sun(
    power_w: FloatArray, *, best_v: float = 36.0, no_load_v: float = 45.0
) -> FloatArray:
    """Sun arrays of one source for a tracker: power at the maximum, and the voltages."""
    power = np.asarray(power_w, dtype=np.float64)
    lit = (power > 0.0).astype(np.float64)
    return np.stack([power, best_v * lit, no_load_v * lit])[None]


def level_sun(amps: FloatArray) -> FloatArray:
    """Sun arrays of one source for a PWM controller, the current the same at any voltage."""
    return np.stack([np.asarray(amps, dtype=np.float64)] * 3)[None]


def _curve(model: BatteryModel | float | None) -> FloatArray:
    if isinstance(model, BatteryModel):
        return curve_of(model, model.nominal_v)
    return curve_of(None, 12.0 if model is None else model)


def run(
    rows: Sequence[FloatArray],
    *,
    sun: FloatArray,
    loads: FloatArray,
    models: Sequence[BatteryModel | float | None] = (None,),
    cell_c: ArrayLike = 25.0,
    step_h: float = 1.0,
    years: int = 1,
    flexible: FloatArray | None = None,
    arrived: FloatArray | None = None,
    allowed_h: FloatArray = NO_LIMITS,
    traced: bool = True,
    year_by_year: bool = False,
) -> Told:
    """Run rows through the kernel; the "year" is as long as the sun given for it.

    Parameters
    ----------
    sun : numpy.ndarray, shape (sources, 3, years * steps)
        A step in which no source has anything is dark.
    flexible : numpy.ndarray, shape (load sets, queues, columns), optional
        Columns that are not given are 0.
    models : sequence
        Banks whose voltage curves the rows point to; a number: level at that voltage;
        ``None``: level 12 V.
    year_by_year : bool
        Break off after each year and go on from there.
    """
    designs = np.stack(rows)
    count = len(designs)
    steps = sun.shape[2] // years
    lit = (sun[:, 0].reshape(len(sun), years, steps) > 0.0).any(axis=(0, 1))
    place = np.full(steps, -1, dtype=np.int64)
    place[lit] = np.arange(lit.sum())
    shown = sun.reshape(len(sun), 3, years, steps)[..., lit].reshape(len(sun), 3, -1)
    if traced:
        designs[:, at.TRACE] = np.arange(count)
    queues = 0 if flexible is None else flexible.shape[1]
    flexible = np.zeros((len(loads), 0, at.FLEX_COLUMNS)) if flexible is None else flexible
    unsaid = at.FLEX_COLUMNS - flexible.shape[2]
    flexible = np.pad(flexible, ((0, 0), (0, 0), (0, unsaid)))
    arrived = np.zeros((len(loads), queues, years * steps)) if arrived is None else arrived
    told = Told(
        totals=np.zeros((count, at.TOTAL_COLUMNS)),
        yearly=np.zeros((count, years, at.YEAR_COLUMNS)),
        monthly=np.zeros((count, 12, at.MONTH_COLUMNS)),
        traces=np.zeros(
            (
                count if traced else 0,
                at.TRACE_COLUMNS + at.TRACE_QUEUE_COLUMNS * queues,
                years * steps,
            )
        ),
        served=np.zeros((count, 3 * queues)),
    )
    told.monthly[:, :, at.M_LOWEST] = 1.0
    cells = np.broadcast_to(np.asarray(cell_c, dtype=np.float64), (1, years * steps))
    states = np.zeros((count, at.STATE_COLUMNS))
    spans = [(year, year + 1) for year in range(years)] if year_by_year else [(0, years)]
    for span in spans:
        run_designs(
            designs,
            states,
            np.ascontiguousarray(shown, dtype=np.float32),
            place,
            np.zeros(steps, dtype=np.int64),
            np.stack([_curve(model) for model in models]),
            np.ascontiguousarray(cells),
            loads,
            flexible,
            arrived,
            told.served,
            allowed_h,
            step_h,
            *span,
            told.totals,
            told.yearly,
            told.monthly,
            told.traces,
        )
    return told
