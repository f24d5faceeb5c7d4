"""How much the loads draw, from which supply, and through what."""

from __future__ import annotations

from sunpantry.design.kit import voltage_class
from sunpantry.design.loads import SUPPLY_V
from sunpantry.design.nameplates import ConverterNameplate
from sunpantry.match.bank_measures import constants
from sunpantry.match.case import Case, LoadFacts

VOLTS: dict[str, float] = {str(supply): volts for supply, volts in SUPPLY_V.items()}
MAINS = "mains"
USB = "5 V"


def on_supply(case: Case, supply: str) -> tuple[LoadFacts, ...]:
    """Loads on one supply."""
    return tuple(load for load in case.loads if load.supply == supply)


def direct_current_loads(case: Case) -> tuple[LoadFacts, ...]:
    """Loads that no inverter feeds."""
    return tuple(load for load in case.loads if load.supply != MAINS)


def all_at_once_w(case: Case, supply: str) -> float:
    """Power of all loads of a supply working together [W]."""
    return sum(load.all_w for load in case.loads if load.supply == supply)


def expected_peak_w(case: Case, supply: str) -> float:
    """Highest power asked at once: from the habits where known, else all together [W]."""
    known_w = case.peak_w(supply)
    return all_at_once_w(case, supply) if known_w is None else known_w


def certain_peak_w(case: Case, supply: str) -> float:
    """Highest power that is certainly asked at once: from the habits, else the largest load [W]."""
    known_w = case.peak_w(supply)
    if known_w is not None:
        return known_w
    return max((load.power_w for load in case.loads if load.supply == supply), default=0.0)


def converters_giving(case: Case, supply: str) -> tuple[ConverterNameplate, ...]:
    """Converters whose output is the voltage of a supply."""
    wanted_v = VOLTS.get(supply)
    return tuple(
        converter
        for converter in case.system.converters
        if wanted_v is not None and voltage_class(converter.output_v) == wanted_v
    )


def usb_source_a(case: Case) -> float:
    """Current of USB sockets built into the bank or into a panel [A]."""
    bank, arrays = case.system.bank, case.system.arrays
    if bank is not None and bank.battery.usb_output_a > 0.0:
        return bank.parallel * bank.battery.usb_output_a
    if bank is None:
        return sum(
            array.count * (array.panel.regulated_max_a or 0.0)
            for array in arrays
            if array.panel.regulated_output_v is not None
            and voltage_class(array.panel.regulated_output_v) == 5.0
        )
    return 0.0


def is_reached(case: Case, supply: str) -> bool:
    """Whether the system offers a supply."""
    if supply == MAINS:
        return case.system.inverter is not None
    if VOLTS.get(supply) == case.system.bank_v:
        return True
    return bool(converters_giving(case, supply)) or (supply == USB and usb_source_a(case) > 0.0)


def bank_current_a(case: Case, load_w: float, supply: str) -> float:
    """Current a load draws from the bank, converter or inverter included [A]."""
    efficiency = 1.0
    if supply == MAINS:
        if case.system.inverter is not None:
            efficiency = case.system.inverter.rated_efficiency_pct / 100.0
    elif VOLTS.get(supply) != case.system.bank_v:
        given = converters_giving(case, supply)
        if given:
            efficiency = given[0].efficiency_pct / 100.0
    return load_w / max(efficiency, 0.01) / low_bank_v(case)


def low_bank_v(case: Case) -> float:
    """Voltage of a bank that is nearly empty and under load [V]."""
    bank = case.system.bank
    if bank is None or bank.battery.chemistry == "power_bank":
        return case.system.bank_v
    return constants(bank).disconnect_v / constants(bank).cell_v * case.system.bank_v


def direct_current_a(case: Case) -> float:
    """Current of all DC loads together, at the bank [A]."""
    supplies = {load.supply for load in case.loads if load.supply != MAINS}
    return sum(
        bank_current_a(case, expected_peak_w(case, supply), supply) for supply in sorted(supplies)
    )


def load_output_holds(case: Case) -> bool:
    """Whether the controller's load terminals carry all DC loads together."""
    controller = case.system.controller
    if controller is None or controller.load_output_a <= 0.0:
        return False
    return direct_current_a(case) <= controller.load_output_a * case.system.controller_count
