"""The same small system as a NumPy loop over hours, every operation over all designs at once.

It keeps the physics that costs time (wells, voltage, array, acceptance, gassing,
disconnect) and leaves out what the kernel does besides: second source, surges, inverter
overload, absorption time, the books of gaps and wear. So the kernel does more in the
time that is compared.
"""

from __future__ import annotations

import numpy as np

from sunpantry.simulate import layout as at
from sunpantry.timegrid import FloatArray


def run(arrays: tuple[np.ndarray, ...], steps: int) -> FloatArray:
    """Run the first steps; return the hours without power of each design [h]."""
    designs, _, sun, sun_place, _, curves, cells, loads = arrays[:8]
    d = designs.T.copy()
    source = d[at.SOURCE].astype(int)
    curve = curves[d[at.CURVE].astype(int)]
    cell = cells[d[at.ENVIRONMENT].astype(int)]
    load = loads[d[at.LOADS].astype(int)]
    which = np.arange(designs.shape[0])
    full, well = d[at.FULL_WH], d[at.AVAILABLE] * d[at.FULL_WH]
    available, bound = well.copy(), full - well
    connected = np.ones(len(designs))
    hours = np.zeros(len(designs))
    last = curves.shape[1] - 1
    for t in range(steps):
        cell_c = cell[:, t]
        whole = available + bound
        kept = np.clip(d[at.COLD_CAPACITY] * (25.0 - cell_c), 0.0, 0.9)
        place = np.clip((available / well - kept) / (1.0 - kept), 0.0, 1.0) * last
        left = np.minimum(place.astype(int), last - 1)
        low = curve[which, left]
        open_v = low + (place - left) * (curve[which, left + 1] - low)
        cold = np.maximum(0.7, 1.0 + d[at.COLD_RESISTANCE] * (25.0 - cell_c))
        dc = load[:, t, at.L_DC : at.L_DC + 3].sum(axis=1) * connected
        ac = load[:, t, at.L_AC : at.L_AC + 3].sum(axis=1) * connected
        overhead = np.where(ac > 0.0, d[at.INVERTER_P0] + d[at.INVERTER_K2] * ac * ac, 0.0)
        used = dc + ac * (1.0 + d[at.INVERTER_K1]) + overhead + d[at.OWN_A] * open_v
        ohm_in = d[at.CHARGE_OHM] * cold
        ohm_in = ohm_in * (1.0 + d[at.TAPER] * whole / full / (d[at.TAPER_REACH] - whole / full))
        target = d[at.ABSORB_V] + d[at.COMP_V_PER_K] * (cell_c - 25.0)
        supply = np.zeros(len(designs))
        if sun_place[t] >= 0:
            first, second, third = (sun[source, k, sun_place[t]] * d[at.STRINGS] for k in range(3))
            tracked = np.where(
                sun[source, 1, sun_place[t]] < open_v + 1.0, 0.0, first * d[at.CONVERSION]
            )
            tracked = np.minimum(tracked, d[at.RATED_A] * open_v)
            bend = third - 2.0 * second + first
            volts = open_v
            for _ in range(2):
                x = (volts - d[at.NODE_LOW_V]) / d[at.NODE_STEP_V]
                amps = first + x * (second - first + 0.5 * (x - 1.0) * bend)
                amps = np.minimum(np.maximum(amps, 0.0), d[at.RATED_A])
                volts = np.minimum(open_v + ohm_in * (amps - used / open_v), target)
            supply = np.where(d[at.IS_MPPT] > 0.0, tracked, volts * amps)
        settled = d[at.KEEP] * available + d[at.REFILL] * whole
        surplus = np.maximum(supply - used, 0.0)
        charging = np.minimum(
            2.0 * surplus / (open_v + np.sqrt(open_v * open_v + 4.0 * ohm_in * surplus)),
            np.where(cell_c < d[at.MIN_CHARGE_C], 0.0, d[at.MAX_CHARGE_A]),
        )
        volts = np.minimum(open_v + charging * ohm_in, np.maximum(target, open_v))
        charging = (volts - open_v) / ohm_in
        gas = 11.0 * (volts / d[at.CELLS] - 2.23) + 0.06 * (cell_c - 20.0)
        charging = np.maximum(charging - d[at.GAS_A] * np.exp(gas), 0.0)
        stored = np.minimum(open_v * charging * d[at.COULOMBIC], (well - settled) / d[at.DRAW_H])
        ohm = d[at.DISCHARGE_OHM] * cold
        need = np.maximum(used - supply, 0.0)
        drawn = need * 2.0 / (open_v + np.sqrt(np.maximum(open_v**2 - 4.0 * ohm * need, 0.0)))
        most = np.maximum((settled - kept * well) / d[at.DRAW_H], 0.0)
        inner = np.minimum(open_v * drawn, most)
        volts = np.where(need > 0.0, open_v - drawn * ohm, volts)
        hours += ((open_v * drawn > most) | (connected == 0.0)) * 1.0
        flow = inner - np.where(need > 0.0, 0.0, stored)
        available = settled - d[at.DRAW_H] * flow
        bound = np.maximum(whole - flow - available, 0.0)
        available = np.maximum(available, 0.0) * (1.0 - d[at.LEAK_PER_H])
        bound *= 1.0 - d[at.LEAK_PER_H]
        connected = np.where(volts < d[at.DISCONNECT_V], 0.0, connected)
        connected = np.where(volts > d[at.RECONNECT_V], 1.0, connected)
    return hours
