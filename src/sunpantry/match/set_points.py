"""Charge and disconnect voltages against the chemistry; the temperature sensor."""

from __future__ import annotations

from sunpantry.figures import Given
from sunpantry.match.bank_measures import (
    KIND_WORDS,
    WINDOWS,
    Window,
    absorption_v,
    cells,
    coldest_battery_c,
    constants,
    is_lead,
)
from sunpantry.match.case import Case
from sunpantry.match.changes import other_controller
from sunpantry.match.disconnect import disconnect_voltage
from sunpantry.match.finding import Finding, Said, Severity, rule, worked
from sunpantry.match.sources import CHARGE_POINTS, LABEL, LITHIUM, PRACTICE
from sunpantry.parts.system import Bank
from sunpantry.phrases import joined, phrase

# A charge voltage that is wrong by more than this in the cold is felt [V on 12 V]: common
# practice, no source.
FELT_V_AT_12V = 0.30
SENSOR_REFERENCE_C = 25.0


def wrong_chemistry(case: Case) -> bool:
    """Whether the controller has no setting for the bank's chemistry and cannot be set by hand."""
    controller, bank = case.system.controller, case.system.bank
    if controller is None or bank is None:
        return False
    chemistry = bank.battery.chemistry
    if chemistry in controller.chemistries:
        return False
    return chemistry in ("lifepo4", "power_bank") or not controller.adjustable


@rule(
    "chemistry-setting",
    asks="Has the controller a setting for this kind of battery?",
    limit="the chemistry is among those on the controller's label",
    source=LABEL,
    worst=Severity.DANGER,
    breaks=wrong_chemistry,
)
def chemistry_setting(case: Case) -> Said:
    """Each chemistry wants voltages of its own."""
    controller, bank = case.system.controller, case.system.bank
    if controller is None or bank is None:
        return
    chemistry = bank.battery.chemistry
    kind = KIND_WORDS[chemistry]
    if chemistry in controller.chemistries:
        severity = Severity.FINE
        words = phrase(
            "The controller has a setting for this battery ({kind}); choose it.", kind=kind
        )
    elif chemistry == "lifepo4":
        severity = Severity.DANGER
        words = phrase(
            "The controller has no LiFePO4 setting. Lead-acid settings raise the voltage in the "
            "cold and may equalise: both overcharge a lithium battery."
        )
    elif chemistry == "power_bank":
        severity = Severity.WILL_NOT_WORK
        words = phrase(
            "A power bank is charged through its own 5 V input, not by a charge controller."
        )
    elif controller.adjustable:
        severity = Severity.WORTH_KNOWING
        words = phrase(
            "The controller has no {kind} setting; its voltages must be set by hand.", kind=kind
        )
    else:
        severity = Severity.WILL_NOT_WORK
        words = phrase("The controller has no {kind} setting and cannot be set by hand.", kind=kind)
    yield Finding(
        severity,
        words,
        ("controller", "battery"),
        options=tuple(
            other_controller(
                case,
                phrase("Take a controller with a setting for {kind}.", kind=kind),
                chemistries=(*controller.chemistries, chemistry),
            )
        )
        if severity < Severity.FINE
        else (),
    )


def _fixed_window(case: Case) -> tuple[Window, Bank, float] | None:
    """Window, bank and cells, where the controller's set points are fixed."""
    controller, bank = case.system.controller, case.system.bank
    if controller is None or controller.adjustable or bank is None:
        return None
    window = WINDOWS.get(bank.battery.chemistry)
    return None if window is None else (window, bank, float(cells(bank)))


def overvolts(case: Case) -> bool:
    """Whether fixed absorption is so high that it harms a sealed or lithium battery."""
    fixed = _fixed_window(case)
    if fixed is None or fixed[1].battery.chemistry == "flooded":
        return False
    window, bank, count = fixed
    grace_v = 0.0 if bank.battery.chemistry == "lifepo4" else window.grace_v
    return absorption_v(case) > count * (window.absorb_high_v + grace_v) + 1e-6


def _absorption_words(case: Case, fixed: tuple[Window, Bank, float]) -> tuple[Severity, str]:
    window, _, count = fixed
    volts = absorption_v(case)
    low_v = count * (window.absorb_low_v - window.grace_v)
    high_v = count * (window.absorb_high_v + window.grace_v)
    if overvolts(case):
        severity = Severity.DANGER
        words = phrase(
            "The controller charges to {volts:.1f} V and cannot be set; this battery stands at "
            "most {most_v:.1f} V. It would vent, dry out or trip.",
            volts=volts,
            most_v=count * window.absorb_high_v,
        )
    elif volts > high_v + 1e-6:
        severity = Severity.WILL_DISAPPOINT
        words = phrase(
            "The controller charges to {volts:.1f} V: the battery gasses and loses water.",
            volts=volts,
        )
    elif volts < low_v - 1e-6:
        severity = Severity.WILL_DISAPPOINT
        words = phrase(
            "The controller charges only to {volts:.1f} V; this battery would never fill.",
            volts=volts,
        )
    else:
        severity = Severity.FINE
        words = phrase(
            "The controller charges to {volts:.1f} V, right for this battery.", volts=volts
        )
    return severity, words


@rule(
    "absorption-voltage",
    asks="Does the absorption voltage suit the battery?",
    limit="flooded 2.40-2.47, AGM 2.40-2.45, gel 2.35-2.40, LiFePO4 3.50-3.65 V a cell, ± 0.05 V",
    source=CHARGE_POINTS,
    worst=Severity.DANGER,
    breaks=overvolts,
)
def absorption_voltage(case: Case) -> Said:
    """Too high dries or harms the battery, too low never fills it."""
    fixed = _fixed_window(case)
    if fixed is None:
        return
    window, _, count = fixed
    volts, per_12v = absorption_v(case), count / case.scale
    severity, words = _absorption_words(case, fixed)
    target_v = round(per_12v * 0.5 * (window.absorb_low_v + window.absorb_high_v), 1)
    yield Finding(
        severity,
        words,
        ("controller", "battery"),
        (
            worked(
                "absorption voltage of a cell",
                volts / count,
                "V",
                "set point of the controller for 12 V × bank voltage / 12 V / cells",
                CHARGE_POINTS,
                ("set point for 12 V", volts / case.scale, "V"),
                ("bank voltage", case.system.bank_v, "V"),
                ("cells in series", count, ""),
            ),
        ),
        Given("highest absorption voltage of a cell", window.absorb_high_v, "V"),
        options=tuple(
            other_controller(
                case,
                phrase(
                    "Take a controller that charges to about {target_v:.1f} V, or one whose "
                    "voltages can be set.",
                    target_v=target_v * case.scale,
                ),
                relation="about",
                absorption_v=target_v,
            )
        )
        if severity < Severity.FINE
        else (),
    )


@rule(
    "float-voltage",
    asks="Does the float voltage suit the battery?",
    limit="flooded 2.25, AGM and gel 2.30, LiFePO4 3.40 V a cell, + 0.05 V",
    source=CHARGE_POINTS,
    worst=Severity.WILL_DISAPPOINT,
)
def float_voltage(case: Case) -> Said:
    """Held too high for weeks, a battery dries out or ages."""
    fixed, controller = _fixed_window(case), case.system.controller
    if fixed is None or controller is None:
        return
    window, _, count = fixed
    volts = controller.float_v * case.scale
    high = volts > count * (window.float_high_v + window.grace_v) + 1e-6
    target_v = round(count / case.scale * window.float_high_v, 1)
    yield Finding(
        Severity.WILL_DISAPPOINT if high else Severity.FINE,
        phrase("Once full, the battery is held at {volts:.1f} V", volts=volts)
        + (
            phrase("; in a sunny season that dries or ages it.")
            if high
            else phrase(", right for it.")
        ),
        ("controller", "battery"),
        limit=Given("highest float voltage", count * window.float_high_v, "V"),
        options=tuple(
            other_controller(
                case,
                phrase(
                    "Take a controller that floats at {target_v:.1f} V or less, or one that can "
                    "be set.",
                    target_v=target_v * case.scale,
                ),
                relation="at most",
                float_v=target_v,
            )
        )
        if high
        else (),
    )


@rule(
    "no-equalising",
    asks="Could the controller equalise a battery that must not be equalised?",
    limit="no equalising of sealed or lithium batteries",
    source=joined((CHARGE_POINTS, LITHIUM), "; "),
    worst=Severity.WORTH_KNOWING,
)
def no_equalising(case: Case) -> Said:
    """Equalising boils a flooded battery on purpose; a sealed one cannot be refilled."""
    controller, bank = case.system.controller, case.system.bank
    if controller is None or bank is None or controller.equalise_v is None:
        return
    window = WINDOWS.get(bank.battery.chemistry)
    if window is None or bank.battery.chemistry == "flooded":
        return
    per_cell_v = controller.equalise_v * case.scale / cells(bank)
    if per_cell_v > window.absorb_high_v:
        yield Finding(
            Severity.WORTH_KNOWING,
            phrase(
                "The controller can equalise at {equalise_v:.1f} V. This battery must not be "
                "equalised: choose the setting that leaves it out.",
                equalise_v=controller.equalise_v * case.scale,
            ),
            ("controller", "battery"),
            limit=Given("highest charge voltage of a cell", window.absorb_high_v, "V"),
            options=tuple(
                other_controller(case, phrase("Switch equalising off."), equalise_v=None)
            ),
        )


def uncompensated_v(case: Case) -> float:
    """How far the charge voltage is off at the coldest, for want of a sensor [V]."""
    controller, bank = case.system.controller, case.system.bank
    if controller is None or bank is None or not is_lead(case) or controller.temperature_sensor:
        return 0.0
    per_k_v = constants(bank).compensation_mv_per_k / 1000.0 * cells(bank)
    return per_k_v * (coldest_battery_c(case) - SENSOR_REFERENCE_C)


@rule(
    "temperature-sensor",
    asks="Does the controller follow the battery's temperature?",
    limit="charge voltage right to 0.3 V on 12 V at the coldest",
    source=phrase(
        "{charge_points}; the limit is {practice}", charge_points=CHARGE_POINTS, practice=PRACTICE
    ),
    worst=Severity.WILL_DISAPPOINT,
)
def temperature_sensor(case: Case) -> Said:
    """Cold lead-acid wants a higher charge voltage."""
    controller, bank = case.system.controller, case.system.bank
    if controller is None or bank is None or not is_lead(case) or controller.temperature_sensor:
        return
    off_v, coldest_c = uncompensated_v(case), coldest_battery_c(case)
    felt = off_v > FELT_V_AT_12V * case.scale
    yield Finding(
        Severity.WILL_DISAPPOINT if felt else Severity.WORTH_KNOWING,
        phrase(
            "The controller does not measure the battery's temperature. At {coldest_c:.0f} °C "
            "the battery wants {off_v:.2f} V more than it gets",
            coldest_c=coldest_c,
            off_v=off_v,
        )
        + (phrase(": it fills poorly in the very season that matters.") if felt else "."),
        ("controller", "battery"),
        (
            worked(
                "charge voltage missing at the coldest",
                off_v,
                "V",
                "compensation per cell × cells × (battery temperature − 25 °C)",
                CHARGE_POINTS,
                ("compensation per cell", constants(bank).compensation_mv_per_k, "mV/K"),
                ("cells in series", cells(bank), ""),
                ("battery temperature", coldest_c, "°C"),
            ),
        ),
        Given("highest error", FELT_V_AT_12V * case.scale, "V"),
        options=tuple(
            other_controller(
                case,
                phrase("Take a controller with a temperature sensor, fixed to the battery."),
                temperature_sensor=True,
                temp_comp_mv_per_cell_k=constants(bank).compensation_mv_per_k,
            )
        ),
    )


RULES = (
    chemistry_setting,
    absorption_voltage,
    float_voltage,
    no_equalising,
    temperature_sensor,
    disconnect_voltage,
)
