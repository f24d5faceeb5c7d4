"""Switches in the kernel, on systems simple enough to be followed by hand."""

from __future__ import annotations

import numpy as np
import pytest
from numpy.testing import assert_allclose
from tests.simulate.rig import asked, battery, ideal_row, row, run, tracked_sun

from sunpantry.simulate import layout as at

INVERTER = {at.INVERTER_W: 300.0, at.INVERTER_CUT_V: 10.5, at.INVERTER_RESTART_V: 12.5}


# Low-voltage disconnect 1.90-1.95 V a cell, reconnection about 2.10 (check sheet 4.2).
@pytest.mark.published
def test_disconnect_and_reconnect_by_voltage() -> None:
    model = battery("agm")
    days = 12
    hours = np.arange(24 * days)
    # Dark until the loads are cut off, then little sun, so that it takes days to come back.
    sun = np.where((hours % 24 >= 10) & (hours % 24 < 14) & (hours >= 96), 30.0, 0.0)
    told = run(
        [row(model, columns={at.SHED_MAY: -1.0})],
        sun=tracked_sun(sun),
        loads=asked(hours.size, dc0=20.0),
        models=(model,),
    )
    volts, served = told.trace(at.TR_VOLT), told.trace(at.TR_MUST)
    assert told.totals[0, at.T_TRIPS] >= 1.0
    off = int(np.argmax(served == 0.0))
    assert volts[off - 1] < 11.4 <= volts[off - 2]
    back = off + int(np.argmax(served[off:] > 0.0))
    assert np.all(volts[off : back - 1] <= 12.6)
    assert volts[back - 1] > 12.6
    # At rest the wells level out and the voltage recovers, but not to the reconnection.
    assert 11.4 < volts[off + 10] < 12.6
    assert back - off > 24
    # Clock time without power, until full service: the longest gap is at least this one.
    assert told.totals[0, at.T_LONGEST_GAP] >= back - off


@pytest.mark.analytic
def test_the_less_important_goes_first() -> None:
    """An ideal 1000 Wh, 10 W of each class: sheds at its levels, returns ten per cent above."""
    hours = np.arange(24 * 10)
    sun = np.where((hours % 24 >= 8) & (hours % 24 < 18) & (hours >= 120), 60.0, 0.0)
    design = ideal_row(1000.0, columns={at.SHED_SHOULD: 0.30, at.SHED_MAY: 0.45})
    told = run(
        [design], sun=tracked_sun(sun), loads=asked(hours.size, dc0=10.0, dc1=10.0, dc2=10.0)
    )
    charge = told.trace(at.TR_SOC)
    may, should, must = (told.trace(c) for c in (at.TR_MAY, at.TR_SHOULD, at.TR_MUST))
    # 30 W for 19 hours leave 430 Wh: below 0.45 the first time.
    assert_allclose(charge[18], 0.43)
    assert np.all(may[:19] == 1.0)
    assert may[19] == 0.0
    # Then 20 W: below 0.30 after seven more hours.
    assert np.all(should[:26] == 1.0)
    assert should[26] == 0.0
    # Then 10 W, down to nothing.
    assert_allclose(charge[25], 0.29)
    assert_allclose(charge[54], 0.0, atol=1e-12)
    assert must[54] == 1.0
    assert must[55] == 0.0
    back_should = 120 + int(np.argmax(should[120:] > 0.0))
    back_may = 120 + int(np.argmax(may[120:] > 0.0))
    assert charge[back_should - 2] <= 0.40 < charge[back_should - 1]
    assert charge[back_may - 2] <= 0.55 < charge[back_may - 1]
    assert back_should < back_may


@pytest.mark.analytic
def test_what_is_short_is_shared_by_importance() -> None:
    design = ideal_row(1000.0, columns={at.MAX_DISCHARGE_A: 2.0})  # 24 W at 12 V
    told = run(
        [design], sun=tracked_sun(np.zeros(24)), loads=asked(24, dc0=10.0, dc1=10.0, dc2=10.0)
    )
    assert_allclose(told.trace(at.TR_MUST), 1.0)
    assert_allclose(told.trace(at.TR_SHOULD), 1.0)
    assert_allclose(told.trace(at.TR_MAY), 0.4)
    assert_allclose(told.yearly[0, 0, at.Y_UNSERVED + at.MAY], 24 * 6.0)
    # An hour with four tenths served is six tenths of an hour without.
    assert_allclose(told.yearly[0, 0, at.Y_HOURS + at.MAY], 24 * 0.6)
    assert_allclose(told.yearly[0, 0, at.Y_ANY_HOURS], 24 * 0.6)


# A BMS lets 24 W through here; what would exceed that goes without, whole classes at a time.
@pytest.mark.analytic
@pytest.mark.parametrize(
    ("wants", "sun_w", "served"),
    [
        ((10.0, 10.0, 10.0), 0.0, (1.0, 1.0, 0.0)),
        ((10.0, 15.0, 1.0), 0.0, (1.0, 0.0, 0.0)),
        ((25.0, 1.0, 1.0), 0.0, (0.0, 0.0, 0.0)),
        ((10.0, 10.0, 4.0), 0.0, (1.0, 1.0, 1.0)),
        ((10.0, 10.0, 10.0), 6.0, (1.0, 1.0, 1.0)),
        ((25.0, 1.0, 1.0), 0.5, (0.0, 0.0, 0.0)),
    ],
)
def test_electronics_trip_by_class(
    wants: tuple[float, ...], sun_w: float, served: tuple[float, ...]
) -> None:
    design = ideal_row(1000.0, columns={at.MAX_DISCHARGE_A: 2.0, at.BMS: 1.0})
    must, should, may = wants
    told = run(
        [design],
        sun=tracked_sun(np.full(24, sun_w)),
        loads=asked(24, dc0=must, dc1=should, dc2=may),
    )
    for column, share in zip((at.TR_MUST, at.TR_SHOULD, at.TR_MAY), served, strict=True):
        assert_allclose(told.trace(column), share)
    assert_allclose(told.residual(), 0.0, atol=1e-12)


@pytest.mark.analytic
def test_a_tripped_inverter_loses_nothing() -> None:
    """A mains load that the BMS parts takes the inverter's loss with it."""
    columns = {**INVERTER, at.MAX_DISCHARGE_A: 20.0, at.BMS: 1.0}
    told = run(
        [ideal_row(1e5, columns=columns)],
        sun=tracked_sun(np.zeros(24)),
        loads=asked(24, dc0=50.0, ac2=250.0),
    )
    assert_allclose(told.trace(at.TR_LOAD), 50.0)
    assert_allclose(told.trace(at.TR_CURRENT), -50.0 / 12.0)
    assert told.totals[0, at.T_INVERTER] == 0.0


@pytest.mark.analytic
def test_overloaded_inverter() -> None:
    design = ideal_row(1e6, columns=INVERTER)
    wants = [(100, 100, 90), (100, 100, 120), (150, 170, 100), (310, 0, 0), (100, 250, 0)]
    loads = asked(24)
    for step, want in enumerate(wants):
        loads[0, step, at.L_AC : at.L_AC + 3] = want
    told = run([design], sun=tracked_sun(np.zeros(24)), loads=loads)
    load = told.trace(at.TR_LOAD)[: len(wants)]
    assert_allclose(load, [290.0, 200.0, 150.0, 0.0, 100.0])


@pytest.mark.analytic
def test_inverter_losses() -> None:
    """P0 + k1 P + k2 P² while it works, the idle draw while it does not (Schmidt & Sauer)."""
    losses = {at.INVERTER_P0: 4.0, at.INVERTER_K1: 0.05, at.INVERTER_K2: 2e-4}
    design = ideal_row(1e4, columns={**INVERTER, **losses, at.INVERTER_IDLE_W: 6.0})
    loads = asked(24, ac0=np.where(np.arange(24) < 10, 100.0, 0.0), idle=0.5)
    told = run([design], sun=tracked_sun(np.zeros(24)), loads=loads)
    assert_allclose(told.totals[0, at.T_INVERTER], 10 * (4.0 + 5.0 + 2.0) + 14 * 3.0)


@pytest.mark.analytic
def test_a_surge_pulls_a_weak_bank_down() -> None:
    """V²/4R and the sag of a source with resistance: a start of 1500 W, new and cold."""
    ohm = 0.02
    # At 12 V the poles sink to (12 + sqrt(144 - 4 R P)) / 2: 9 V for 1350 W in all.
    columns = {**INVERTER, at.SURGE_OHM: ohm, at.COLD_RESISTANCE: 0.02}
    columns[at.INVERTER_CUT_V] = 9.0
    surges = np.array([0.0, 1000.0, 1249.0, 1251.0, 1500.0, 5000.0])
    loads = asked(24, ac0=100.0)
    loads[0, : surges.size, at.L_SURGE] = surges
    told = run([ideal_row(1e5, columns=columns)], sun=tracked_sun(np.zeros(24)), loads=loads)
    assert told.trace(at.TR_MUST)[: surges.size].tolist() == [1.0, 1.0, 1.0, 0.0, 0.0, 0.0]
    assert told.trace(at.TR_MUST)[6] == 1.0
    cold = run(
        [ideal_row(1e5, columns=columns)], sun=tracked_sun(np.zeros(24)), loads=loads, cell_c=-5.0
    )
    # 1.6 times the resistance at -5 °C: 844 W in all.
    assert cold.trace(at.TR_MUST)[1] == 0.0


@pytest.mark.analytic
def test_a_power_bank_turns_itself_off() -> None:
    """Below its least current it gives nothing (trade fact, no source)."""
    design = ideal_row(100.0, columns={at.OUTPUT_W_MIN: 0.5})
    loads = asked(24, dc0=np.where(np.arange(24) % 2 == 0, 0.4, 0.6))
    told = run([design], sun=tracked_sun(np.zeros(24)), loads=loads, models=(5.0,))
    assert_allclose(told.trace(at.TR_LOAD), np.where(np.arange(24) % 2 == 0, 0.0, 0.6))
    assert_allclose(told.trace(at.TR_SOC)[-1], 1.0 - 12 * 0.6 / 100.0)


@pytest.mark.analytic
def test_a_power_bank_stays_on_while_a_burst_runs() -> None:
    """0.1 W in the mean, but a watt for six minutes an hour: above its least current then."""
    design = ideal_row(100.0, columns={at.OUTPUT_W_MIN: 0.5})
    burst = np.where(np.arange(24) < 12, 0.9, 0.3)
    loads = asked(24, dc0=0.1, start0=burst, start1=burst, start2=burst)
    told = run([design], sun=tracked_sun(np.zeros(24)), loads=loads, models=(5.0,))
    assert_allclose(told.trace(at.TR_LOAD), np.where(np.arange(24) < 12, 0.1, 0.0))


# At 12 V behind 0.02 Ω the poles sink to (12 + sqrt(144 - 4 R P)) / 2 under P beside what the
# mean draws: 11 V for 550 W. The bank is so large that its voltage stays.
@pytest.mark.analytic
@pytest.mark.parametrize(("start_w", "trips"), [(549.0, 0.0), (551.0, 1.0), (5000.0, 1.0)])
def test_a_start_on_the_dc_side_opens_the_disconnect(start_w: float, trips: float) -> None:
    columns = {at.DISCONNECT_V: 11.0, at.RECONNECT_V: 12.5, at.SURGE_OHM: 0.02}
    starts = np.where(np.arange(24) == 5, start_w, 0.0)
    loads = asked(24, dc0=10.0, start0=starts, start1=starts, start2=starts)
    told = run([ideal_row(1e6, columns=columns)], sun=tracked_sun(np.zeros(24)), loads=loads)
    assert told.totals[0, at.T_TRIPS] == trips
    served = told.trace(at.TR_MUST)
    assert served[:6].min() == 1.0  # it opens after the step
    assert served[6:].max() == 1.0 - trips  # 12 V do not close it again


@pytest.mark.analytic
def test_it_closes_again_by_voltage_when_charged() -> None:
    columns = {at.DISCONNECT_V: 11.0, at.RECONNECT_V: 12.5, at.SURGE_OHM: 0.02}
    columns |= {at.CHARGE_OHM: 0.1}  # 100 W of sun lift 12 V to 12.78 V: 7.8 A
    starts = np.where(np.arange(24) == 5, 600.0, 0.0)
    loads = asked(24, dc0=10.0, start0=starts, start1=starts, start2=starts)
    sun = np.where(np.arange(24) >= 8, 100.0, 0.0)
    full_first = ideal_row(1e6, columns=columns)
    told = run([full_first], sun=tracked_sun(sun), loads=loads)
    assert told.trace(at.TR_MUST).tolist() == [1.0] * 6 + [0.0] * 3 + [1.0] * 15


@pytest.mark.analytic
def test_charge_current_is_given_up_before_the_voltage_sinks() -> None:
    """600 W at 12 V while 700 W flow into the bank: nothing sinks."""
    columns = {at.DISCONNECT_V: 11.0, at.RECONNECT_V: 12.5, at.SURGE_OHM: 0.02}
    starts = np.where(np.arange(24) == 5, 600.0, 0.0)
    loads = asked(24, dc0=10.0, start0=starts, start1=starts, start2=starts)
    loads[0, :3, at.L_DC] = 1000.0  # room for charging
    sun = np.where(np.arange(24) == 5, 710.0, 0.0)
    told = run([ideal_row(1e6, columns=columns)], sun=tracked_sun(sun), loads=loads)
    assert told.totals[0, at.T_TRIPS] == 0.0


@pytest.mark.analytic
def test_a_shed_class_does_not_start() -> None:
    columns = {at.DISCONNECT_V: 11.0, at.RECONNECT_V: 12.5, at.SURGE_OHM: 0.02}
    for shed, trips in ((0.5, 0.0), (-1.0, 1.0)):
        row = ideal_row(1e3, columns={**columns, at.SHED_MAY: shed})
        starts = np.where(np.arange(24) == 15, 600.0, 0.0)
        loads = asked(24, dc0=40.0, start2=starts)
        told = run([row], sun=tracked_sun(np.zeros(24)), loads=loads)
        assert told.totals[0, at.T_TRIPS] == trips


@pytest.mark.analytic
@pytest.mark.parametrize(
    ("amps", "inverter_too", "served"),
    [
        (30.0, False, (1.0, 1.0, 1.0)),
        (20.0, False, (1.0, 1.0, 0.0)),  # 24 W + 120 W + 180 W: 27 A
        (11.9, False, (1.0, 0.0, 0.0)),  # 24 W + 120 W: 12 A
        (1.0, False, (0.0, 0.0, 0.0)),
        (12.1, True, (1.0, 1.0, 0.0)),  # the inverter draws its 110 W past them
    ],
)
def test_load_terminals_carry_so_much(
    amps: float, inverter_too: bool, served: tuple[float, float, float]
) -> None:
    columns = {at.OUTPUT_A: amps, at.OUTPUT_DC: 1.0}
    loads = asked(24, dc0=24.0, dc1=120.0, dc2=180.0)
    if inverter_too:
        columns |= INVERTER
        loads[:, :, at.L_AC] = 110.0
    told = run([ideal_row(1e6, columns=columns)], sun=tracked_sun(np.zeros(24)), loads=loads)
    shares = tuple(told.trace(at.TR_MUST + kind)[3] for kind in range(3))
    assert shares == served


@pytest.mark.analytic
def test_an_inverter_on_load_terminals() -> None:
    """100 W carried at 5 % + 10 W take 115 W: 9.6 A; a DC lamp on the battery is not touched."""
    losses = {at.INVERTER_P0: 10.0, at.INVERTER_K1: 0.05}
    loads = asked(24, ac0=100.0, dc1=500.0)
    for amps, share in ((9.59, 1.0), (9.57, 0.0)):
        columns = {**INVERTER, **losses, at.OUTPUT_A: amps, at.OUTPUT_AC: 1.0}
        told = run([ideal_row(1e6, columns=columns)], sun=tracked_sun(np.zeros(24)), loads=loads)
        assert told.trace(at.TR_MUST)[3] == share
        assert told.trace(at.TR_SHOULD)[3] == 1.0


@pytest.mark.analytic
def test_second_source() -> None:
    """Comes in below its level, fills to its other one, at allowed hours only."""
    design = ideal_row(1000.0, columns={at.BACKUP_W: 100.0, at.BACKUP_ON: 0.3, at.BACKUP_OFF: 0.8})
    hours = np.arange(96)
    loads = asked(96, dc0=20.0, backup=np.where(hours % 24 >= 12, 1.0, 0.0))
    told = run([design], sun=tracked_sun(np.zeros(96)), loads=loads)
    charge = told.trace(at.TR_SOC)
    # 36 hours of 20 W leave 280 Wh; it waits until noon, and brings 80 W net.
    assert_allclose(charge[35], 0.28)
    assert_allclose(charge[36], 0.36)
    assert charge.max() <= 1.0
    assert_allclose(charge[42], 0.84)
    assert_allclose(charge[43], 0.82)
    assert told.yearly[0, 0, at.Y_BACKUP_STARTS] == 2.0
    assert_allclose(
        told.totals[0, at.T_BACKUP], 100.0 * told.yearly[0, 0, at.Y_BACKUP_H], rtol=1e-12
    )


@pytest.mark.analytic
def test_gaps_run_by_the_clock() -> None:
    """A gap lasts from the first shortage to the next full service, idle hours included."""
    design = ideal_row(100.0)
    hours = np.arange(72)
    load = np.where(hours % 24 >= 20, 30.0, 0.0)  # 120 Wh an evening, 100 Wh stored
    sun = np.where((hours % 24 >= 8) & (hours % 24 < 12), 30.0, 0.0)
    told = run([design], sun=tracked_sun(sun), loads=asked(72, dc0=load))
    # Short from 23 h (two thirds served until then) to the full service at 20 h next day.
    assert_allclose(told.trace(at.TR_MUST)[[20, 21, 22, 23]], [1.0, 1.0, 1.0, 1.0 / 3.0])
    assert_allclose(told.totals[0, at.T_LONGEST_GAP], 21.0)
    assert_allclose(told.totals[0, at.T_LONGEST_MUST_GAP], 21.0)
    assert_allclose(told.yearly[0, 0, at.Y_HOURS], 3 * 2.0 / 3.0)


# 549 and 551 W as above, and 30 W more than the mean while everything runs at full power.
@pytest.mark.analytic
def test_a_disconnect_that_waits_lets_a_start_pass() -> None:
    columns = {at.DISCONNECT_V: 11.0, at.RECONNECT_V: 12.5, at.SURGE_OHM: 0.02}
    for peak_w, waits, trips in ((30.0, 0.0, 1.0), (30.0, 1.0, 0.0), (551.0, 1.0, 1.0)):
        once = np.arange(24) == 5
        starts, peaks = np.where(once, 600.0, 0.0), np.where(once, peak_w, 0.0)
        loads = asked(
            24, dc0=10.0, start0=starts, start1=starts, start2=starts,
            peak0=peaks, peak1=peaks, peak2=peaks,
        )  # fmt: skip
        design = ideal_row(1e6, columns={**columns, at.RIDES_STARTS: waits})
        told = run([design], sun=tracked_sun(np.zeros(24)), loads=loads)
        assert told.totals[0, at.T_TRIPS] == trips
