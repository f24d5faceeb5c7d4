"""Parts of a step that fill the bank."""

from __future__ import annotations

from sunpantry.physics.battery_step import charge_current, charge_resistance, gassing_current
from sunpantry.physics.compiled import part, rare_part
from sunpantry.simulate import layout as at
from sunpantry.simulate.kernel_array import EQUALISE_EVERY_H
from sunpantry.timegrid import FloatArray

# The charge resistance of a filling bank is followed up to here [-].
FILLED_MOST = 0.9995


@part
def charge_limit_a(designs: FloatArray, n: int, cell_c: float) -> float:
    """Largest charge current the battery takes at this temperature [A]."""
    if cell_c < designs[n, at.MIN_CHARGE_C] or cell_c > designs[n, at.MAX_CHARGE_C]:
        return 0.0
    if cell_c < designs[n, at.MIN_CHARGE_C] + 10.0:
        return float(min(designs[n, at.MAX_CHARGE_A], designs[n, at.COLD_CHARGE_A]))
    return float(designs[n, at.MAX_CHARGE_A])


@part
def accepted(
    designs: FloatArray,
    states: FloatArray,
    n: int,
    surplus_w: float,
    could_a: float,
    open_v: float,
    cold: float,
    ohm: float,
    filled: float,
    target_v: float,
    limit_a: float,
    step_h: float,
) -> tuple[float, float, bool]:
    """Current that the bank takes of a surplus, before gassing.

    Parameters
    ----------
    could_a : float
        Current that takes all of it at the bank's present content [A].
    cold : float
        Factor on the bank's resistance [-].
    ohm : float
        Charge resistance at the bank's present content [Ω].
    limit_a : float
        Battery's own limit [A].

    Returns
    -------
    amps, volts : float
        Mean current [A] and terminal voltage [V].
    limited : bool
        Whether the voltage limit held it back.
    """
    rise = target_v - open_v
    if rise <= 0.0:
        return 0.0, open_v, True
    if 2.0 * surplus_w * ohm < target_v * rise:
        # Far from the voltage limit the resistance matters little.
        amps = min(could_a, limit_a)
        return amps, open_v + amps * ohm, False
    # The resistance grows as the bank fills within the step: take that of its middle.
    enough = surplus_w * ohm >= target_v * rise
    rough_a = min(rise / ohm if enough else surplus_w / target_v, limit_a)
    middle = filled + 0.5 * rough_a * open_v * step_h * states[n, at.D_PER_FULL]
    middle = max(min(middle, FILLED_MOST), filled)
    base_ohm = designs[n, at.CHARGE_OHM] * cold
    ohm = charge_resistance(base_ohm, middle, designs[n, at.TAPER], designs[n, at.TAPER_REACH])
    if surplus_w * ohm < target_v * rise or limit_a * ohm < rise:
        amps = min(charge_current(surplus_w, open_v, ohm), limit_a)
        return amps, open_v + amps * ohm, False
    return rise / ohm, target_v, True


@part
def split_by_gassing(
    designs: FloatArray,
    states: FloatArray,
    n: int,
    surplus_w: float,
    amps: float,
    volts: float,
    limited: bool,
    cell_c: float,
) -> tuple[float, float]:
    """Part the current into charging and splitting water.

    At the voltage limit gassing comes on top of the tapering current, as far as the
    sun reaches; below it the two share what there is.

    Returns
    -------
    amps, gas_a : float
        [A].
    """
    gas_a = gassing_current(designs[n, at.GAS_A], volts * states[n, at.D_PER_CELLS], cell_c)
    if not limited:
        gas_a = min(gas_a, amps)
        return amps - gas_a, gas_a
    if (amps + gas_a) * volts > surplus_w:
        whole = surplus_w / volts
        gas_a = min(gas_a, whole)
        amps = min(amps, whole - gas_a)
    return amps, gas_a


@rare_part
def note_absorption(designs: FloatArray, states: FloatArray, n: int, step_h: float) -> None:
    """Count the time at the voltage limit; after enough of it the controller floats."""
    states[n, at.S_ABSORBED_H] += step_h
    if states[n, at.S_ABSORBED_H] >= designs[n, at.ABSORB_H]:
        states[n, at.S_FLOATING] = 1.0
        if states[n, at.S_EQUALISED_H] >= EQUALISE_EVERY_H:
            states[n, at.S_EQUALISED_H] = 0.0


@part
def charge(
    designs: FloatArray,
    states: FloatArray,
    totals: FloatArray,
    n: int,
    surplus_w: float,
    could_a: float,
    room_w: float,
    open_v: float,
    cold: float,
    ohm: float,
    filled: float,
    target_v: float,
    cell_c: float,
    step_h: float,
) -> tuple[float, float, float, float, float]:
    """Let the bank take what it accepts of a surplus, and keep the controller's stages.

    Returns
    -------
    taken_w, stored_w : float
        At the terminals, and into the wells [W].
    heater_w : float
        Spent on warming the battery [W].
    volts, amps : float
        Terminal voltage [V] and current [A].
    """
    limit_a = charge_limit_a(designs, n, cell_c)
    heater_w = 0.0
    if limit_a <= 0.0:
        if cell_c > designs[n, at.MAX_CHARGE_C]:
            return 0.0, 0.0, 0.0, open_v, 0.0
        totals[n, at.T_FROZEN_H] += step_h
        if designs[n, at.HEATER_W] <= 0.0 or surplus_w <= designs[n, at.HEATER_W]:
            return 0.0, 0.0, 0.0, open_v, 0.0
        heater_w = designs[n, at.HEATER_W]
        surplus_w -= heater_w
        could_a = charge_current(surplus_w, open_v, ohm)
        limit_a = designs[n, at.COLD_CHARGE_A]
    amps, volts, limited = accepted(
        designs, states, n, surplus_w, could_a, open_v, cold, ohm, filled, target_v, limit_a,
        step_h,
    )  # fmt: skip
    gas_a = 0.0
    if designs[n, at.GAS_A] > 0.0:
        amps, gas_a = split_by_gassing(designs, states, n, surplus_w, amps, volts, limited, cell_c)
        totals[n, at.T_GAS] += volts * gas_a * step_h
        totals[n, at.T_GAS_AH] += gas_a * step_h
    inner_w = open_v * amps
    stored_w = inner_w * designs[n, at.COULOMBIC]
    if stored_w > room_w:
        amps *= max(room_w, 0.0) / stored_w
        inner_w = open_v * amps
        stored_w = inner_w * designs[n, at.COULOMBIC]
    if limited and states[n, at.S_FLOATING] == 0.0:
        note_absorption(designs, states, n, step_h)
    totals[n, at.T_COULOMBIC] += (inner_w - stored_w) * step_h
    totals[n, at.T_OHMIC] += (volts - open_v) * amps * step_h
    amps += gas_a
    # What gassing takes beyond the open voltage is counted with it.
    return volts * amps, stored_w, heater_w, volts, amps
