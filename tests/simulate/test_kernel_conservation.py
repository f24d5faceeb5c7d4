"""Whatever the design: energy is neither made nor lost, and a bank is between empty and full."""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as some
from tests.simulate.rig import asked, battery, row, run

from sunpantry.physics.battery import BatteryModel
from sunpantry.simulate import layout as at
from sunpantry.simulate.columns import no_bank_columns
from sunpantry.timegrid import FloatArray

DAYS = 12
BOTH = some.booleans()


@some.composite
def banks(draw: some.DrawFn) -> BatteryModel | None:
    """Any bank, new or worn; sometimes none."""
    chemistry = draw(some.sampled_from(["flooded", "agm", "gel", "lifepo4", "power_bank", "none"]))
    if chemistry == "none":
        return None
    return battery(
        chemistry,
        capacity_ah=draw(some.floats(1.0, 300.0)),
        capacity_left=draw(some.sampled_from([1.0, 0.8])),
        heater_w=draw(some.sampled_from([0.0, 10.0])),
    )


@some.composite
def rows(draw: some.DrawFn, model: BatteryModel | None, step_h: float) -> FloatArray:
    """A controller, an inverter and habits to go with it."""

    def number(low: float, high: float) -> float:
        return draw(some.floats(low, high))

    columns = {
        at.SOURCE: float(draw(BOTH)),
        at.STRINGS: number(0.1, 12.0),
        at.CONVERSION: number(0.8, 1.0),
        at.RATED_A: number(1.0, 60.0),
        at.HEADROOM_V: number(0.0, 5.0),
        at.OWN_A: number(0.0, 0.1),
        at.ABSORB_H: number(0.0, 4.0),
        at.SHED_SHOULD: draw(some.sampled_from([-1.0, 0.3, 0.8])),
        at.SHED_MAY: draw(some.sampled_from([-1.0, 0.45, 0.9])),
        at.PANEL_LIMIT_W: draw(some.sampled_from([0.0, 100.0])),
    }
    columns[at.IS_MPPT] = 1.0 - columns[at.SOURCE]
    if draw(BOTH):
        columns |= {
            at.INVERTER_W: number(5.0, 400.0),
            at.INVERTER_P0: number(0.0, 10.0),
            at.INVERTER_K1: number(0.0, 0.1),
            at.INVERTER_K2: number(0.0, 2e-3),
            at.INVERTER_IDLE_W: number(0.0, 10.0),
            at.INVERTER_CUT_V: number(10.0, 11.5),
            at.INVERTER_RESTART_V: number(12.0, 13.0),
        }
    if draw(BOTH):
        columns |= {
            at.BACKUP_W: number(1.0, 500.0),
            at.BACKUP_ON: number(0.1, 0.5),
            at.BACKUP_OFF: number(0.6, 0.99),
        }
    if draw(BOTH):
        columns |= {at.OUTPUT_W_MIN: number(0.0, 12.0)}
    if model is None:
        columns[at.SOURCE], columns[at.IS_MPPT] = 0.0, 1.0
        made = row(battery(), step_h=step_h, columns=columns)
        no_bank_columns(made, 12.0)
        made[at.DISCONNECT_V] = made[at.RECONNECT_V] = 0.0
        made[at.GAS_A] = made[at.LEAK_PER_H] = made[at.HEATER_W] = 0.0
        made[at.COLD_CAPACITY] = made[at.COLD_RESISTANCE] = 0.0
        return made
    if model.constants.is_lead_acid and draw(BOTH):
        columns |= {at.COMP_V_PER_K: -0.024, at.EQUALISE_V: 15.2}
    return row(model, step_h=step_h, columns=columns)


def weather(seed: int, step_h: float) -> tuple[FloatArray, FloatArray]:
    """A tracked and a direct source of about 100 W, and temperatures from -25 to 45 °C."""
    steps = round(DAYS * 24 / step_h)
    random = np.random.default_rng(seed)
    hours = np.arange(steps) * step_h
    height = np.clip(np.sin((hours % 24 - 6) / 12 * np.pi), 0.0, None)
    light = height * random.beta(0.8, 0.8, DAYS)[(hours // 24).astype(int)]
    light *= random.uniform(0.3, 1.0, steps)
    lit = (light > 0.0).astype(np.float64)
    tracked = np.stack([100.0 * light, random.uniform(10, 20) * lit, random.uniform(20, 25) * lit])
    direct = np.stack([6.0 * light, 5.8 * light, random.uniform(0.0, 5.7) * light])
    middle, swing = random.uniform(-25, 45), random.uniform(0, 15)
    cell_c = np.clip(middle + swing * np.sin(hours / 24 * 2 * np.pi), -25, 45)
    return np.stack([tracked, direct]), cell_c


@pytest.mark.conservation
@settings(max_examples=150, deadline=None)
@given(data=some.data(), seed=some.integers(0, 2**32 - 1), step_h=some.sampled_from([1.0, 0.25]))
def test_energy_is_conserved_and_the_bank_stays_a_bank(
    data: some.DataObject, seed: int, step_h: float
) -> None:
    model = data.draw(banks())
    design = data.draw(rows(model, step_h))
    sun, cell_c = weather(seed, step_h)
    steps = cell_c.size
    random = np.random.default_rng(seed + 1)
    size = random.uniform(0.0, 80.0, 6)
    on = random.random((6, steps)) < random.uniform(0.05, 1.0, (6, 1))
    wants = size[:, None] * on
    loads = asked(
        steps, dc0=wants[0], dc1=wants[1], dc2=wants[2], ac0=wants[3], ac1=wants[4], ac2=wants[5],
        idle=1.0, surge=np.where(on[3], random.choice([0.0, 300.0]), 0.0), backup=on[0],
    )  # fmt: skip
    flexible, arrived = None, None
    if data.draw(BOTH):
        flexible = np.array(
            [[[40.0, 20.0 / step_h, 0.5, 1.0, 1.0, 0.0], [25.0, 9.0 / step_h, 2.0, 0.0, 2.0, 5.0]]]
        )
        jobs = np.cumsum((random.random((2, steps)) < 0.05) * 50.0, axis=1)
        arrived = jobs[None]
    told = run(
        [design], sun=sun, loads=loads, models=(model,), cell_c=cell_c, step_h=step_h,
        flexible=flexible, arrived=arrived,
    )  # fmt: skip
    assert np.isfinite(told.totals).all()
    assert np.isfinite(told.traces).all()
    assert abs(told.residual()[0]) < 1e-9
    charge = told.trace(at.TR_SOC)
    assert charge.min() >= 0.0
    assert charge.max() <= 1.0 + 1e-12
    flows = [
        at.T_OFFERED, at.T_GATHERED, at.T_CONVERSION, at.T_OWN, at.T_SERVED, at.T_SERVED + 1,
        at.T_SERVED + 2, at.T_INVERTER, at.T_OHMIC, at.T_COULOMBIC, at.T_GAS, at.T_LEAK,
        at.T_BACKUP,
    ]  # fmt: skip
    assert told.totals[0, flows].min() >= -1e-9
    assert told.totals[0, at.T_GATHERED] <= told.totals[0, at.T_OFFERED] * (1.0 + 1e-6)
    # What is asked for is delivered, or counted as missing, or still waiting in a queue.
    asked_wh = told.yearly[0, :, at.Y_ASKED : at.Y_ASKED + 3].sum()
    missing_wh = told.yearly[0, :, at.Y_UNSERVED : at.Y_UNSERVED + 3].sum()
    served_wh = told.totals[0, at.T_SERVED : at.T_SERVED + 3].sum()
    waiting_wh = 0.0
    if arrived is not None:
        waiting_wh = float((arrived[0, :, -1] - told.served[0, :2]).sum())
        waiting_wh = max(waiting_wh, 0.0)
    assert served_wh + missing_wh + waiting_wh == pytest.approx(asked_wh, rel=1e-9, abs=1e-9)
    # The trace tells the same story as the sums.
    assert told.trace(at.TR_LOAD).sum() * step_h == pytest.approx(served_wh, rel=1e-9, abs=1e-9)
    gathered = told.trace(at.TR_PV).sum() * step_h
    assert gathered == pytest.approx(told.totals[0, at.T_GATHERED], rel=1e-9, abs=1e-9)
    assert told.monthly[0, :, at.M_SERVED].sum() == pytest.approx(served_wh, rel=1e-9, abs=1e-9)


@pytest.mark.conservation
def test_a_year_of_unlike_designs_balances() -> None:
    sun, cell_c = weather(3, 1.0)
    years = 3
    sun, cell_c = np.tile(sun, (1, 1, years)), np.tile(cell_c, years)
    models = [battery("flooded"), battery("lifepo4"), battery("gel", capacity_left=0.8)]
    made = [row(model, columns={at.CURVE: float(k)}) for k, model in enumerate(models)]
    loads = asked(DAYS * 24, dc0=9.0, dc1=20.0, ac2=10.0)
    told = run(made, sun=sun, loads=loads, models=models, cell_c=cell_c, years=years)
    assert np.abs(told.residual()).max() < 1e-12
    np.testing.assert_allclose(
        told.yearly[:, :, at.Y_ASKED : at.Y_ASKED + 3],
        np.broadcast_to(np.array([9.0, 20.0, 10.0]) * DAYS * 24, (3, years, 3)),
        rtol=1e-12,
    )
