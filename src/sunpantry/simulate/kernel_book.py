"""Parts of a step that keep the books: shortages, switches, the day's extremes, details."""

from __future__ import annotations

from sunpantry.physics.compiled import part, rare_part
from sunpantry.simulate import layout as at
from sunpantry.simulate.kernel_bus import Classes
from sunpantry.timegrid import FloatArray, IndexArray

LOW_CHARGE = 0.40
FULL_CHARGE = 0.98
UNFILLED_AFTER_H = 14 * 24.0
# A step counts as short of power when more than this share of what was asked is missing.
SHORT_SHARE = 1e-9
# Nothing is bounded by it.
NO_BOUND = 1e30


@part
def note_class(
    states: FloatArray,
    yearly: FloatArray,
    n: int,
    y: int,
    kind: int,
    want: float,
    got: float,
    step_h: float,
) -> float:
    """Count what one class asked for and did not get; return the share missing [-]."""
    missing = want - got
    if missing <= SHORT_SHARE * want:
        return 0.0
    states[n, at.S_MISSED + kind] += missing * step_h
    yearly[n, y, at.Y_HOURS + kind] += missing / want * step_h
    return missing / want


@rare_part
def note_gaps(
    states: FloatArray,
    totals: FloatArray,
    n: int,
    worst: float,
    must_share: float,
    asked: float,
    asked_must: float,
    step_h: float,
) -> None:
    """Keep the running gaps: clock time from a shortage to the next full service."""
    if worst > 0.0:
        states[n, at.S_GAP_H] += step_h
    elif states[n, at.S_GAP_H] > 0.0:
        states[n, at.S_GAP_H] = 0.0 if asked > 0.0 else states[n, at.S_GAP_H] + step_h
    totals[n, at.T_LONGEST_GAP] = max(totals[n, at.T_LONGEST_GAP], states[n, at.S_GAP_H])
    if must_share > 0.0:
        states[n, at.S_MUST_GAP_H] += step_h
    elif states[n, at.S_MUST_GAP_H] > 0.0:
        states[n, at.S_MUST_GAP_H] = (
            0.0 if asked_must > 0.0 else states[n, at.S_MUST_GAP_H] + step_h
        )
    totals[n, at.T_LONGEST_MUST_GAP] = max(
        totals[n, at.T_LONGEST_MUST_GAP], states[n, at.S_MUST_GAP_H]
    )


@part
def note_service(
    states: FloatArray,
    totals: FloatArray,
    yearly: FloatArray,
    n: int,
    y: int,
    asked: Classes,
    got: Classes,
    step_h: float,
) -> Classes:
    """Count what is missing of what was asked for; return the share missing of each class."""
    less = (0.0, 0.0, 0.0)
    whole = got[0] >= asked[0] and got[1] >= asked[1] and got[2] >= asked[2]
    if not whole:
        less = (
            note_class(states, yearly, n, y, at.MUST, asked[0], got[0], step_h),
            note_class(states, yearly, n, y, at.SHOULD, asked[1], got[1], step_h),
            note_class(states, yearly, n, y, at.MAY, asked[2], got[2], step_h),
        )
    if not whole or states[n, at.S_GAP_H] > 0.0:
        worst = max(less[0], less[1], less[2])
        yearly[n, y, at.Y_ANY_HOURS] += worst * step_h
        whole_ask = asked[0] + asked[1] + asked[2]
        note_gaps(states, totals, n, worst, less[0], whole_ask, asked[0], step_h)
    return less


@rare_part
def stand_by(designs: FloatArray, states: FloatArray, n: int) -> None:
    """Note which loads are on, and within which bounds nothing switches: see :func:`switch`."""
    least_filled, most_filled = -1.0, NO_BOUND
    least_v, most_v = 0.0, NO_BOUND
    if states[n, at.S_CONNECTED] > 0.0:
        least_v = designs[n, at.DISCONNECT_V]
    else:
        most_v = designs[n, at.RECONNECT_V]
    if states[n, at.S_INVERTER_OUT] > 0.0:
        most_v = min(most_v, designs[n, at.INVERTER_RESTART_V])
    else:
        least_v = max(least_v, designs[n, at.INVERTER_CUT_V])
    for column, shed in ((at.SHED_SHOULD, at.S_SHED_SHOULD), (at.SHED_MAY, at.S_SHED_MAY)):
        if states[n, shed] > 0.0:
            most_filled = min(most_filled, designs[n, column] + at.SHED_HYSTERESIS)
        else:
            least_filled = max(least_filled, designs[n, column])
    if designs[n, at.BACKUP_W] > 0.0:
        if states[n, at.S_BACKUP] > 0.0:
            most_filled = min(most_filled, designs[n, at.BACKUP_OFF])
        else:
            least_filled = max(least_filled, designs[n, at.BACKUP_ON])
    states[n, at.D_LEAST_FILLED], states[n, at.D_MOST_FILLED] = least_filled, most_filled
    states[n, at.D_LEAST_V], states[n, at.D_MOST_V] = least_v, most_v
    on = states[n, at.S_CONNECTED]
    states[n, at.D_ON] = on
    states[n, at.D_ON + 1] = on * (1.0 - states[n, at.S_SHED_SHOULD])
    states[n, at.D_ON + 2] = on * (1.0 - states[n, at.S_SHED_MAY])
    ac_on = 1.0 - states[n, at.S_INVERTER_OUT]
    states[n, at.D_AC_ON] = ac_on * (1.0 - states[n, at.S_BACKUP] * designs[n, at.TRANSFER])


@rare_part
def switch(
    designs: FloatArray,
    states: FloatArray,
    totals: FloatArray,
    yearly: FloatArray,
    n: int,
    y: int,
    volts: float,
    lowest: float,
    filled: float,
) -> None:
    """Low-voltage disconnects and reconnects, shedding by importance, second source.

    Parameters
    ----------
    volts, lowest : float
        At the bank in this step, and when the hardest start on the DC side falls in it [V].
    """
    if states[n, at.S_CONNECTED] > 0.0:
        if lowest < designs[n, at.DISCONNECT_V]:
            states[n, at.S_CONNECTED] = 0.0
            totals[n, at.T_TRIPS] += 1.0
    elif volts > designs[n, at.RECONNECT_V]:
        states[n, at.S_CONNECTED] = 1.0
    if states[n, at.S_INVERTER_OUT] > 0.0:
        if volts > designs[n, at.INVERTER_RESTART_V]:
            states[n, at.S_INVERTER_OUT] = 0.0
    elif volts < designs[n, at.INVERTER_CUT_V]:
        states[n, at.S_INVERTER_OUT] = 1.0
    for column, shed in ((at.SHED_SHOULD, at.S_SHED_SHOULD), (at.SHED_MAY, at.S_SHED_MAY)):
        level = designs[n, column]
        if states[n, shed] > 0.0:
            if filled > level + at.SHED_HYSTERESIS:
                states[n, shed] = 0.0
        elif filled < level:
            states[n, shed] = 1.0
    if designs[n, at.BACKUP_W] > 0.0:
        if states[n, at.S_BACKUP] > 0.0:
            if filled > designs[n, at.BACKUP_OFF]:
                states[n, at.S_BACKUP] = 0.0
        elif filled < designs[n, at.BACKUP_ON]:
            states[n, at.S_BACKUP] = 1.0
            yearly[n, y, at.Y_BACKUP_STARTS] += 1.0
    stand_by(designs, states, n)


@rare_part
def note_full(states: FloatArray, totals: FloatArray, n: int, t: int, step_h: float) -> None:
    """Count the hours since the last full charge that came later than they should."""
    since_h = (t - states[n, at.S_LAST_FULL] - 1.0) * step_h
    totals[n, at.T_UNFILLED_H] += max(since_h - UNFILLED_AFTER_H, 0.0)
    states[n, at.S_LAST_FULL] = float(t)


@part
def note_level(
    states: FloatArray, totals: FloatArray, n: int, t: int, filled: float, step_h: float
) -> None:
    """Keep the day's extremes and the hours spent low or unfilled."""
    states[n, at.S_DAY_HIGH] = max(states[n, at.S_DAY_HIGH], filled)
    states[n, at.S_DAY_LOW] = min(states[n, at.S_DAY_LOW], filled)
    if filled < LOW_CHARGE:
        totals[n, at.T_LOW_H] += step_h
    elif filled >= FULL_CHARGE:
        note_full(states, totals, n, t, step_h)


@rare_part
def note_asked(
    states: FloatArray,
    loads: FloatArray,
    points: IndexArray,
    n: int,
    i: int,
    steps: int,
    step_h: float,
) -> None:
    """Count what was asked for in the steps before ``i``, some of them, by each class."""
    row = points[n, at.P_LOADS]
    must, should, may = 0.0, 0.0, 0.0
    for back in range(steps):
        k = i - 1 - back
        if k < 0:
            k += loads.shape[1]
        must += loads[row, k, at.L_DC] + loads[row, k, at.L_AC]
        should += loads[row, k, at.L_DC + 1] + loads[row, k, at.L_AC + 1]
        may += loads[row, k, at.L_DC + 2] + loads[row, k, at.L_AC + 2]
    states[n, at.S_ASKED] += must * step_h
    states[n, at.S_ASKED + 1] += should * step_h
    states[n, at.S_ASKED + 2] += may * step_h


@rare_part
def end_of_day(
    designs: FloatArray, states: FloatArray, totals: FloatArray, yearly: FloatArray, n: int, y: int
) -> None:
    """Wear of the day's cycle; the year's extremes."""
    high, low = states[n, at.S_DAY_HIGH], states[n, at.S_DAY_LOW]
    if high > low:
        wear = designs[n, at.WEAR_PER_CYCLE] * (high - low) ** designs[n, at.WEAR_EXPONENT]
        totals[n, at.T_WEAR] += wear
    if high >= FULL_CHARGE:
        yearly[n, y, at.Y_FULL_DAYS] += 1.0
    states[n, at.S_YEAR_HIGH] = max(states[n, at.S_YEAR_HIGH], high)
    states[n, at.S_YEAR_LOW] = min(states[n, at.S_YEAR_LOW], low)
    states[n, at.S_EQUALISED_H] += 24.0
    if states[n, at.S_NIGHT] == 0.0:
        # in the polar day the clock begins the new charge that the dark begins elsewhere
        states[n, at.S_FLOATING] = 0.0
        states[n, at.S_ABSORBED_H] = 0.0
    states[n, at.S_NIGHT] = 0.0
    filled = (states[n, at.S_AVAILABLE] + states[n, at.S_BOUND]) * states[n, at.D_PER_FULL]
    states[n, at.S_DAY_HIGH] = filled
    states[n, at.S_DAY_LOW] = filled


@rare_part
def end_of_year(
    designs: FloatArray, states: FloatArray, totals: FloatArray, yearly: FloatArray, n: int, y: int
) -> None:
    """Close the year's books; also those of a year that is broken off."""
    for kind in range(at.CLASSES):
        asked, missed = states[n, at.S_ASKED + kind], states[n, at.S_MISSED + kind]
        yearly[n, y, at.Y_ASKED + kind] += asked
        yearly[n, y, at.Y_UNSERVED + kind] += missed
        totals[n, at.T_SERVED + kind] += asked - missed
        states[n, at.S_SPENT_H + kind] += yearly[n, y, at.Y_HOURS + kind]
        states[n, at.S_ASKED + kind] = 0.0
        states[n, at.S_MISSED + kind] = 0.0
    before = 0.0
    for earlier in range(y):
        before += yearly[n, earlier, at.Y_BACKUP_WH]
    yearly[n, y, at.Y_BACKUP_WH] = totals[n, at.T_BACKUP] - before
    high, low = states[n, at.S_YEAR_HIGH], states[n, at.S_YEAR_LOW]
    yearly[n, y, at.Y_LOWEST] = low
    if high > low:
        wear = designs[n, at.WEAR_PER_CYCLE] * (high - low) ** designs[n, at.WEAR_EXPONENT]
        totals[n, at.T_WEAR] += wear
    states[n, at.S_YEAR_LOW], states[n, at.S_YEAR_HIGH] = 1.0, 0.0


@rare_part
def promise_broken(
    states: FloatArray, yearly: FloatArray, n: int, y: int, allowed_h: FloatArray
) -> bool:
    """Whether the hours without power so far already exceed what all the years may have."""
    for kind in range(at.CLASSES):
        if allowed_h[kind] >= 0.0:
            spent_h = states[n, at.S_SPENT_H + kind] + yearly[n, y, at.Y_HOURS + kind]
            if spent_h > allowed_h[kind]:
                return True
    return False


@rare_part
def note_details(
    states: FloatArray,
    monthly: FloatArray,
    traces: FloatArray,
    n: int,
    row: int,
    month: int,
    t: int,
    less: Classes,
    asked: Classes,
    step_h: float,
) -> None:
    """Write one step of a design that is looked at in detail."""
    gathered, offered = states[n, at.N_GATHERED], states[n, at.N_OFFERED]
    filled, delivered = states[n, at.N_FILLED], states[n, at.N_WAITED]
    for kind in range(at.CLASSES):
        delivered += states[n, at.N_GOT + kind]
    missing = less[0] * asked[0] + less[1] * asked[1] + less[2] * asked[2]
    monthly[row, month, at.M_OFFERED] += offered * step_h
    monthly[row, month, at.M_GATHERED] += gathered * step_h
    monthly[row, month, at.M_SERVED] += delivered * step_h
    monthly[row, month, at.M_UNSERVED] += missing * step_h
    monthly[row, month, at.M_HOURS] += max(less[0], less[1], less[2]) * step_h
    monthly[row, month, at.M_LOWEST] = min(monthly[row, month, at.M_LOWEST], filled)
    monthly[row, month, at.M_SOC] += filled
    monthly[row, month, at.M_STEPS] += 1.0
    traces[row, at.TR_SOC, t] = filled
    traces[row, at.TR_VOLT, t] = states[n, at.N_VOLTS]
    traces[row, at.TR_PV, t] = gathered
    traces[row, at.TR_OFFERED, t] = offered
    traces[row, at.TR_LOAD, t] = delivered
    traces[row, at.TR_UNSERVED, t] = missing
    traces[row, at.TR_CURRENT, t] = states[n, at.N_AMPS]
    traces[row, at.TR_MUST, t] = 1.0 - less[0]
    traces[row, at.TR_SHOULD, t] = 1.0 - less[1]
    traces[row, at.TR_MAY, t] = 1.0 - less[2]
