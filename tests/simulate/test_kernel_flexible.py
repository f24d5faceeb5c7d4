"""Jobs that wait, through an inverter: worked by hand."""

from __future__ import annotations

import numpy as np
import pytest
from numpy.testing import assert_allclose
from tests.simulate.rig import Told, asked, ideal_row, run, tracked_sun

from sunpantry.simulate import layout as at

# P0 6 W, of which 2 W are drawn searching; 0.05 P and 1e-4 P^2 on top.
P0_W, SEARCH_W, K1, K2 = 6.0, 2.0, 0.05, 1e-4
INVERTER = {
    at.INVERTER_W: 600.0,
    at.INVERTER_P0: P0_W,
    at.INVERTER_K1: K1,
    at.INVERTER_K2: K2,
    at.INVERTER_IDLE_W: SEARCH_W,
}
JOB_H = 10


def washed(sun_w: float, *, ac_w: float = 0.0, idle: float = 0.0, above: float = 0.0) -> Told:
    """A job of 200 Wh at 200 W that arrives in the eleventh hour."""
    arrived = np.where(np.arange(24) >= JOB_H, 200.0, 0.0)
    return run(
        [ideal_row(1e4, columns=INVERTER)],
        sun=tracked_sun(np.where(np.arange(24) == JOB_H, sun_w, 0.0)),
        loads=asked(24, ac0=ac_w, idle=idle),
        flexible=np.array([[[200.0, 20.0, above, 1.0, 2.0, 0.0]]]),
        arrived=arrived[None, None],
    )


# Loss of the inverter, by hand: 6 + 0.05 * 200 + 1e-4 * 200^2 = 20 W alone; beside 100 W it
# rises from 6 + 5 + 1 = 12 W to 6 + 15 + 9 = 30 W; while searching, 2 W are drawn already.
@pytest.mark.analytic
@pytest.mark.parametrize(
    ("ac_w", "idle", "without_wh", "in_the_hour_w"),
    [
        (0.0, 0.0, 0.0, 220.0),
        (0.0, 1.0, 24 * SEARCH_W, 220.0),
        (100.0, 1.0, 24 * 112.0, 330.0),
    ],
)
def test_a_job_pays_for_the_inverter(
    ac_w: float, idle: float, without_wh: float, in_the_hour_w: float
) -> None:
    told = washed(0.0, ac_w=ac_w, idle=idle)
    assert_allclose(-told.trace(at.TR_CURRENT)[JOB_H] * 12.0, in_the_hour_w)
    assert_allclose(told.served[0, 0], 200.0)
    taken = told.totals[0, at.T_STORED_FIRST] - told.totals[0, at.T_STORED_LAST]
    assert_allclose(taken, without_wh + in_the_hour_w - without_wh / 24.0)
    assert_allclose(told.residual(), 0.0, atol=1e-12)


@pytest.mark.analytic
def test_a_job_by_sun_to_spare_takes_no_more_than_the_sun_gives() -> None:
    """100 W of sun: p + 6 + 0.05 p + 1e-4 p^2 = 100 gives p = 88.772 W, by the formula."""
    told = washed(100.0, above=2.0)
    linear = 1.0 + K1
    power = (-linear + np.sqrt(linear**2 + 4.0 * K2 * (100.0 - P0_W))) / (2.0 * K2)
    assert_allclose(power, 88.77, atol=0.01)
    assert_allclose(told.served[0, 0], power)
    assert_allclose(told.trace(at.TR_CURRENT)[JOB_H], 0.0, atol=1e-9)
    assert_allclose(told.residual(), 0.0, atol=1e-12)


# 200 W at work and a start of 1000 W more, 5 % on top: 1250 W in all pull 12 V behind 0.02 Ω
# to (12 + sqrt(144 - 4 R P)) / 2 = 9.32 V.
@pytest.mark.analytic
@pytest.mark.parametrize(("cut_v", "done_wh"), [(9.31, 200.0), (9.33, 0.0)])
def test_the_start_of_a_waiting_job_is_seen(cut_v: float, done_wh: float) -> None:
    columns = {**INVERTER, at.INVERTER_CUT_V: cut_v, at.SURGE_OHM: 0.02}
    job = np.zeros(at.FLEX_COLUMNS)
    job[[at.FLEX_W, at.FLEX_DEADLINE, at.FLEX_IS_AC, at.FLEX_CLASS]] = 200.0, 30.0, 1.0, 2.0
    job[at.FLEX_SURGE_W] = 1000.0
    told = run(
        [ideal_row(1e6, columns=columns)],
        sun=tracked_sun(np.zeros(24)),
        loads=asked(24),
        flexible=job[None, None],
        arrived=np.where(np.arange(24) >= JOB_H, 200.0, 0.0)[None, None],
    )
    assert told.served[0, 0] == done_wh


# A job on the DC side: its start opens the disconnect, and it waits for the voltage after that;
# on load terminals it stays within what they carry, start included.
@pytest.mark.analytic
@pytest.mark.parametrize(
    ("columns", "done_wh", "trips"),
    [
        ({at.DISCONNECT_V: 11.0}, 400.0, 0.0),
        ({at.DISCONNECT_V: 11.2}, 200.0, 1.0),
        ({at.OUTPUT_A: 60.0, at.OUTPUT_DC: 1.0}, 400.0, 0.0),
        ({at.OUTPUT_A: 50.0, at.OUTPUT_DC: 1.0}, 400.0, 0.0),
        ({at.OUTPUT_A: 41.0, at.OUTPUT_DC: 1.0}, 14 * 12.0, 0.0),
        ({at.OUTPUT_A: 39.0, at.OUTPUT_DC: 1.0}, 0.0, 0.0),
    ],
)
def test_a_waiting_job_on_the_dc_side(
    columns: dict[int, float], done_wh: float, trips: float
) -> None:
    """480 W of start: (12 + sqrt(144 - 4 * 0.02 * 480)) / 2 = 11.14 V."""
    job = np.zeros(at.FLEX_COLUMNS)
    job[[at.FLEX_W, at.FLEX_DEADLINE, at.FLEX_CLASS, at.FLEX_SURGE_W]] = 200.0, 30.0, 2.0, 480.0
    told = run(
        [ideal_row(1e6, columns={at.SURGE_OHM: 0.02, at.RECONNECT_V: 12.5, **columns})],
        sun=tracked_sun(np.zeros(24)),
        loads=asked(24),
        flexible=job[None, None],
        arrived=np.where(np.arange(24) >= JOB_H, 400.0, 0.0)[None, None],
    )
    assert_allclose(told.served[0, 0], done_wh)
    assert told.totals[0, at.T_TRIPS] == trips


@pytest.mark.analytic
def test_too_little_sun_to_switch_the_inverter_on() -> None:
    told = washed(5.9, above=2.0)
    assert told.served[0, 0] == 0.0
    assert told.totals[0, at.T_INVERTER] == 0.0
