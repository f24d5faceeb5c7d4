"""Parts of a step on the roof: what the array gives through its controller."""

from __future__ import annotations

from sunpantry.physics.battery_step import charge_resistance
from sunpantry.physics.compiled import part
from sunpantry.simulate import layout as at
from sunpantry.timegrid import FloatArray, IndexArray

EQUALISE_EVERY_H = 28 * 24.0


@part
def charge_target(designs: FloatArray, states: FloatArray, n: int, cell_c: float) -> float:
    """Voltage the controller holds at most: absorption, float or equalising [V]."""
    if states[n, at.S_FLOATING] > 0.0:
        target = designs[n, at.FLOAT_V]
    elif designs[n, at.EQUALISE_V] > 0.0 and states[n, at.S_EQUALISED_H] >= EQUALISE_EVERY_H:
        target = designs[n, at.EQUALISE_V]
    else:
        target = designs[n, at.ABSORB_V]
    return float(target + designs[n, at.COMP_V_PER_K] * (cell_c - 25.0))


@part
def tracked_power(
    designs: FloatArray,
    sun: FloatArray,
    n: int,
    source: int,
    place: int,
    open_v: float,
    ohm: float,
    loaded_w: float,
    target_v: float,
) -> tuple[float, float]:
    """What an array under a maximum-power tracker gives.

    To start, the controller needs the array's voltage at no load to lie its headroom
    above the bank; to work, a volt is enough. Where the bank plus that volt lies above
    the voltage of maximum power, the array works to the right of its maximum: with ``x``
    the place between there and no load, it gives ``1 - x² (0.7 + 0.3 x)`` of it (within
    3 % of the maximum of the single-diode curve in strong light, 10 % below in weak light).

    Returns
    -------
    battery_side_w, offered_w : float
        At the battery side of the controller, and the array's maximum [W].
    """
    offered = sun[source, 0, place] * designs[n, at.STRINGS]
    headroom = designs[n, at.HEADROOM_V]
    no_load_v = sun[source, 2, place]
    if no_load_v < open_v + headroom:
        return 0.0, offered
    useful = offered * designs[n, at.CONVERSION]
    best_v = sun[source, 1, place]
    above = min(headroom, at.RUNNING_HEADROOM_V)
    if best_v < target_v + above or useful > designs[n, at.RATED_A] * open_v:
        risen_v = open_v + ohm * max(useful - loaded_w, 0.0) / open_v
        volts = max(min(risen_v, target_v), open_v)
        needed_v = volts + above
        if best_v < needed_v:
            if no_load_v <= needed_v:
                return 0.0, offered
            x = (needed_v - best_v) / (no_load_v - best_v)
            useful *= 1.0 - x * x * (0.7 + 0.3 * x)
        useful = min(useful, designs[n, at.RATED_A] * volts)
    if designs[n, at.PANEL_LIMIT_W] > 0.0:
        useful = min(useful, designs[n, at.PANEL_LIMIT_W])
    return useful, offered


@part
def direct_power(
    designs: FloatArray,
    states: FloatArray,
    sun: FloatArray,
    n: int,
    source: int,
    place: int,
    open_v: float,
    ohm_in: float,
    ohm_out: float,
    loaded_w: float,
    target_v: float,
) -> tuple[float, float]:
    """What an array switched straight onto the bank gives: current at the bank's voltage.

    The voltage is that of the bank under the very current; it is found in two rounds.

    Returns
    -------
    battery_side_w, offered_w : float
        At the battery side of the controller, and of the array at that voltage [W].
    """
    strings = designs[n, at.STRINGS]
    first = sun[source, 0, place] * strings
    second = sun[source, 1, place] * strings
    bend = sun[source, 2, place] * strings - 2.0 * second + first
    slope = second - first - 0.5 * bend
    bend *= 0.5
    low, per_gap = designs[n, at.NODE_LOW_V], states[n, at.D_PER_GAP]
    highest_v = max(target_v, open_v)
    per_open = 1.0 / open_v
    load_a = loaded_w * per_open
    x = (open_v - low) * per_gap
    amps = min(max(first + x * (slope + x * bend), 0.0), designs[n, at.RATED_A])
    net = amps - load_a
    # No load draws a bank below half its open voltage, where its power is greatest.
    volts = max(open_v + (ohm_in if net > 0.0 else ohm_out) * net, 0.5 * open_v)
    if volts < highest_v:
        x = (volts - low) * per_gap
        amps = min(max(first + x * (slope + x * bend), 0.0), designs[n, at.RATED_A])
        # The load's current falls as the voltage rises: to first order.
        net = amps - load_a * (2.0 - volts * per_open)
        volts = max(open_v + (ohm_in if net > 0.0 else ohm_out) * net, 0.5 * open_v)
    volts = min(volts, highest_v)
    x = (volts - low) * per_gap
    amps = min(max(first + x * (slope + x * bend), 0.0), designs[n, at.RATED_A])
    return volts * amps * designs[n, at.CONVERSION], volts * amps


@part
def gather(
    designs: FloatArray,
    states: FloatArray,
    sun: FloatArray,
    points: IndexArray,
    n: int,
    place: int,
) -> None:
    """See what the array brings; in the dark the controller gets ready for a new charge."""
    roof_w, offered = 0.0, 0.0
    source = points[n, at.P_SOURCE]
    if place < 0:
        states[n, at.S_FLOATING] = 0.0
        states[n, at.S_ABSORBED_H] = 0.0
        states[n, at.S_NIGHT] = 1.0
        lit = False
    else:
        lit = sun[source, 0, place] > 0.0
    if lit or states[n, at.N_BACKUP_W] > 0.0:
        target_v = charge_target(designs, states, n, states[n, at.N_CELL_C])
        ohm_in = charge_resistance(
            designs[n, at.CHARGE_OHM] * states[n, at.N_COLD],
            states[n, at.N_WHOLE] * states[n, at.D_PER_FULL],
            designs[n, at.TAPER],
            designs[n, at.TAPER_REACH],
        )
        states[n, at.N_TARGET_V] = target_v
        states[n, at.N_CHARGE_OHM] = ohm_in
        open_v, loaded_w = states[n, at.N_OPEN_V], states[n, at.N_USED]
        if lit and designs[n, at.IS_MPPT] > 0.0:
            roof_w, offered = tracked_power(
                designs, sun, n, source, place, open_v, ohm_in, loaded_w, target_v
            )
        elif lit:
            ohm_out = designs[n, at.DISCHARGE_OHM] * states[n, at.N_DRAINED]
            roof_w, offered = direct_power(
                designs, states, sun, n, source, place, open_v, ohm_in, ohm_out, loaded_w, target_v
            )
    states[n, at.N_ROOF_W] = roof_w
    states[n, at.N_OFFERED] = offered
