"""The numbers of one design row, worked out from nameplates."""

from __future__ import annotations

from functools import lru_cache

import numpy as np

from sunpantry.design.nameplates import (
    BatteryNameplate,
    ControllerNameplate,
    InverterNameplate,
    PanelNameplate,
)
from sunpantry.parts.system import Bank, System
from sunpantry.physics.battery import CURVE_POINTS, BatteryModel, battery_model
from sunpantry.physics.inverter import InverterModel, fit_inverter
from sunpantry.physics.kinetic import step_coefficients
from sunpantry.simulate import layout as at
from sunpantry.timegrid import FloatArray

HOURS_PER_MONTH = 730.0
# Currents of an array under PWM are tabulated at three voltages, for a 12 V bank:
NODE_LOW_V, NODE_STEP_V = 11.0, 2.0
# Charge limit of a lithium cell within ten kelvin of its lowest charging temperature, as a
# multiple of the capacity (common practice, from memory).
COLD_CHARGE_RATE = 0.1
NO_LIMIT = 1e9
# A start lasts no longer than this [s]; a disconnect that waits longer does not see it (common
# practice, no source: motors need a tenth of a second to two seconds).
LONGEST_START_S = 3.0
# Without a bank the loads hang on the panel; a store of a second's worth stands in for it.
NO_BANK_WH = 1e-3


@lru_cache(maxsize=4096)
def _one_bank(
    battery: BatteryNameplate, series: int, parallel: int, capacity_left: float
) -> BatteryModel:
    return battery_model(
        chemistry=battery.chemistry,
        nominal_v=battery.nominal_v,
        capacity_ah=battery.capacity_ah,
        capacity_hours=battery.capacity_hours,
        other_capacities_ah={
            float(hours): value for hours, value in battery.other_capacities_ah.items()
        },
        series=series,
        parallel=parallel,
        internal_resistance_ohm=battery.internal_resistance_ohm,
        max_charge_a=battery.max_charge_a,
        max_discharge_a=battery.max_discharge_a,
        min_charge_c=battery.min_charge_temperature_c,
        self_discharge_per_month=(
            None
            if battery.self_discharge_pct_per_month is None
            else battery.self_discharge_pct_per_month / 100.0
        ),
        cycles=battery.cycles,
        cycle_depth=battery.cycle_depth_pct / 100.0,
        calendar_years=battery.calendar_life_years,
        absorption_v=battery.absorption_v,
        float_v=battery.float_v,
        heater_w=battery.heater_w,
        input_efficiency=battery.input_efficiency_pct / 100.0,
        capacity_left=capacity_left * battery.worn_pct / 100.0,
    )


def bank_model(bank: Bank, *, capacity_left: float = 1.0) -> BatteryModel:
    """Model of a bank with a share of its capacity left.

    Parameters
    ----------
    bank : Bank
        The bank.
    capacity_left : float
        1 for new, 0.8 for worn out [-].
    """
    return _one_bank(bank.battery, bank.series, bank.parallel, capacity_left)


@lru_cache(maxsize=512)
def inverter_model(inverter: InverterNameplate) -> InverterModel:
    """Loss model of an inverter from its label."""
    return fit_inverter(
        rated_w=inverter.rated_w,
        idle_w=inverter.idle_w,
        peak_efficiency=inverter.peak_efficiency_pct / 100.0,
        rated_efficiency=inverter.rated_efficiency_pct / 100.0,
    )


def battery_columns(row: FloatArray, model: BatteryModel, *, step_h: float) -> None:
    """Fill the columns that belong to the bank."""
    constants = model.constants
    step = step_coefficients(model.wells, step_h)
    row[at.FULL_WH] = model.slow_energy_wh
    row[at.KEEP], row[at.REFILL], row[at.DRAW_H] = step.keep, step.refill, step.draw_h
    row[at.AVAILABLE] = model.wells.available_fraction
    row[at.DISCHARGE_OHM] = model.discharge_ohm
    row[at.CHARGE_OHM] = model.charge_ohm
    row[at.SURGE_OHM] = model.surge_ohm
    row[at.TAPER], row[at.TAPER_REACH] = constants.taper, constants.taper_reach
    row[at.DRAIN], row[at.DRAIN_REACH] = constants.drain, model.drain_reach
    row[at.COULOMBIC] = model.coulombic
    row[at.GAS_A] = constants.gas_ma_per_100ah / 1000.0 * model.rated_ah / 100.0
    row[at.CELLS] = model.cells
    row[at.COLD_CAPACITY] = constants.capacity_per_k
    row[at.COLD_RESISTANCE] = constants.resistance_per_k
    row[at.COLD_CHARGE_RESISTANCE] = constants.charge_resistance_per_k
    row[at.LEAK_PER_H] = model.self_discharge_per_month / HOURS_PER_MONTH
    row[at.MAX_CHARGE_A] = model.max_charge_a
    row[at.MAX_DISCHARGE_A] = model.max_discharge_a
    row[at.BMS] = 0.0 if constants.is_lead_acid else 1.0
    row[at.MIN_CHARGE_C], row[at.MAX_CHARGE_C] = model.min_charge_c, constants.max_charge_c
    row[at.MIN_DISCHARGE_C] = constants.min_discharge_c
    row[at.COLD_CHARGE_A] = (
        NO_LIMIT if constants.is_lead_acid else COLD_CHARGE_RATE * model.rated_ah
    )
    row[at.HEATER_W] = model.heater_w
    row[at.WEAR_EXPONENT] = constants.depth_exponent
    row[at.WEAR_PER_CYCLE] = 1.0 / (model.cycles * model.cycle_depth**constants.depth_exponent)


def switches_off_below_w(bank: Bank, bank_v: float) -> float:
    """Power at its cells below which a power bank turns itself off [W]; 0: never.

    The label tells a current at the sockets.

    Parameters
    ----------
    bank : Bank
        The bank.
    bank_v : float
        Voltage of the sockets: the system's [V].
    """
    battery = bank.battery
    at_sockets_w = battery.auto_off_a * bank.parallel * bank_v
    own = battery.output_efficiency_pct / 100.0 if battery.chemistry == "power_bank" else 1.0
    return at_sockets_w / own


def no_bank_columns(row: FloatArray, bank_v: float) -> None:
    """Fill the bank's columns for a system without one: next to nothing is stored."""
    row[at.FULL_WH] = NO_BANK_WH
    row[at.KEEP], row[at.REFILL], row[at.DRAW_H] = 0.0, 1.0, 1.0
    row[at.AVAILABLE], row[at.CELLS], row[at.COULOMBIC] = 1.0, bank_v / 2.0, 1.0
    row[at.DISCHARGE_OHM] = row[at.CHARGE_OHM] = row[at.SURGE_OHM] = 1e-6
    row[at.TAPER_REACH] = row[at.DRAIN_REACH] = 2.0
    row[at.MAX_CHARGE_A] = row[at.COLD_CHARGE_A] = row[at.MAX_DISCHARGE_A] = NO_LIMIT
    row[at.MIN_CHARGE_C], row[at.MAX_CHARGE_C] = -100.0, 100.0
    row[at.MIN_DISCHARGE_C] = -100.0
    row[at.WEAR_EXPONENT] = 1.0
    row[at.ABSORB_V] = row[at.FLOAT_V] = bank_v
    row[at.ABSORB_H] = NO_LIMIT


def controller_columns(
    row: FloatArray,
    controller: ControllerNameplate,
    *,
    count: int,
    bank_v: float,
    model: BatteryModel,
) -> None:
    """Fill the columns of the charge controller, its set points and its low-voltage disconnect."""
    scale = bank_v / 12.0
    mppt = controller.kind == "mppt"
    row[at.IS_MPPT] = 1.0 if mppt else 0.0
    row[at.CONVERSION] = controller.efficiency_pct / 100.0 if mppt else 1.0
    row[at.RATED_A] = controller.rated_a * count
    row[at.HEADROOM_V] = controller.start_headroom_v
    row[at.OWN_A] = controller.self_consumption_a * count
    if controller.max_pv_power_w_at_12v:
        row[at.PANEL_LIMIT_W] = controller.max_pv_power_w_at_12v * scale * count
    constants = model.constants
    if controller.adjustable:
        row[at.ABSORB_V], row[at.FLOAT_V] = model.absorption_v, model.float_v
        row[at.DISCONNECT_V] = constants.disconnect_v * model.cells
        row[at.RECONNECT_V] = constants.reconnect_v * model.cells
    else:
        row[at.ABSORB_V] = controller.absorption_v * scale
        row[at.FLOAT_V] = controller.float_v * scale
        row[at.DISCONNECT_V] = controller.disconnect_v * scale
        row[at.RECONNECT_V] = controller.reconnect_v * scale
    row[at.RIDES_STARTS] = 1.0 if controller.disconnect_delay_s >= LONGEST_START_S else 0.0
    row[at.ABSORB_H] = controller.absorption_h
    if controller.equalise_v is not None and model.chemistry == "flooded":
        row[at.EQUALISE_V] = controller.equalise_v * scale
    if controller.temperature_sensor and constants.is_lead_acid:
        row[at.COMP_V_PER_K] = controller.temp_comp_mv_per_cell_k / 1000.0 * model.cells


def regulated_columns(
    row: FloatArray, panel: PanelNameplate, model: BatteryModel | None, *, panels: int
) -> None:
    """Fill the controller's columns for panels with a regulator of their own."""
    into_store = 1.0 if model is None else model.input_efficiency
    if model is not None:
        constants = model.constants
        row[at.ABSORB_V], row[at.FLOAT_V] = model.absorption_v, model.float_v
        row[at.ABSORB_H] = NO_LIMIT
        row[at.DISCONNECT_V] = constants.disconnect_v * model.cells
        row[at.RECONNECT_V] = constants.reconnect_v * model.cells
    row[at.IS_MPPT] = 1.0
    row[at.CONVERSION] = panel.regulated_efficiency_pct / 100.0 * into_store
    row[at.RATED_A] = NO_LIMIT
    if panel.regulated_max_a is not None and panel.regulated_output_v is not None:
        # The limit is that of the panel's own socket, not of the cell behind the next converter.
        socket_w = panel.regulated_max_a * panel.regulated_output_v * panels
        row[at.PANEL_LIMIT_W] = socket_w * into_store
    row[at.HEADROOM_V] = -NO_LIMIT


def inverter_columns(row: FloatArray, system: System) -> None:
    """Fill the inverter's columns; with AC loads only, its cut-off is the disconnect."""
    inverter = system.inverter
    if inverter is None:
        return
    model = inverter_model(inverter)
    scale = system.bank_v / 12.0
    row[at.INVERTER_W] = inverter.rated_w
    row[at.INVERTER_P0] = model.p0_w
    row[at.INVERTER_K1] = model.k1
    row[at.INVERTER_K2] = model.k2_per_w
    row[at.INVERTER_CUT_V] = inverter.cutoff_v * scale
    row[at.INVERTER_RESTART_V] = inverter.restart_v * scale
    row[at.INVERTER_IDLE_W] = inverter.idle_w if inverter.search_w is None else inverter.search_w


def curve_of(model: BatteryModel | None, bank_v: float) -> FloatArray:
    """Voltage curve of a bank, or the level one of a system without."""
    if model is None:
        return np.full(CURVE_POINTS, bank_v)
    return np.array(model.curve_v)
