"""The voltage at which the loads are switched off, against what the battery bears."""

from __future__ import annotations

from sunpantry.figures import Given
from sunpantry.match.bank_measures import cells, constants
from sunpantry.match.case import Case
from sunpantry.match.changes import other_controller
from sunpantry.match.finding import Finding, Said, Severity, rule, worked
from sunpantry.match.sources import CHARGE_POINTS, LABEL, LITHIUM
from sunpantry.phrases import joined, phrase

# End of discharge at the 20-hour rate, 1.75 V a lead-acid cell (IEC 60896); 2.5 V is where
# the protection of a LiFePO4 cell opens (from memory).
END_OF_DISCHARGE_V = {"flooded": 1.75, "agm": 1.75, "gel": 1.75, "lifepo4": 2.50}


@rule(
    "disconnect-voltage",
    asks="Does the low-voltage disconnect protect the battery?",
    limit="lead-acid 1.90 V a cell (1.75 V at least), LiFePO4 3.00 V (2.50 V at least)",
    source=joined((CHARGE_POINTS, LITHIUM), "; "),
    worst=Severity.WILL_DISAPPOINT,
)
def disconnect_voltage(case: Case) -> Said:
    """A battery drained to the end again and again soon fails."""
    controller, bank = case.system.controller, case.system.bank
    if controller is None or bank is None or controller.load_output_a <= 0.0:
        return
    chemistry = bank.battery.chemistry
    if chemistry not in END_OF_DISCHARGE_V:
        return
    count = cells(bank)
    per_cell_v = controller.disconnect_v * case.scale / count
    protects_v, least_v = constants(bank).disconnect_v, END_OF_DISCHARGE_V[chemistry]
    if per_cell_v < least_v - 1e-9:
        severity = Severity.WILL_DISAPPOINT
    elif per_cell_v < protects_v - 1e-9 and not controller.adjustable:
        severity = Severity.WORTH_KNOWING
    else:
        severity = Severity.FINE
    volts = controller.disconnect_v * case.scale
    words = phrase("The controller switches the loads off at {volts:.1f} V", volts=volts)
    if severity is Severity.WILL_DISAPPOINT:
        words += phrase("; the battery is drained to the end by then and ages fast.")
    elif severity is Severity.WORTH_KNOWING:
        words += phrase(
            "; {protects_v:.1f} V would treat the battery better.", protects_v=protects_v * count
        )
    elif per_cell_v < protects_v:
        words += phrase("; set it to {protects_v:.1f} V.", protects_v=protects_v * count)
    else:
        words += phrase(", in time.")
    yield Finding(
        severity,
        words,
        ("controller", "battery"),
        (
            worked(
                "disconnect voltage of a cell",
                per_cell_v,
                "V",
                "set point of the controller for 12 V × bank voltage / 12 V / cells",
                LABEL,
                ("set point for 12 V", controller.disconnect_v, "V"),
                ("bank voltage", case.system.bank_v, "V"),
                ("cells in series", count, ""),
            ),
        ),
        Given("disconnect voltage of a cell that protects", protects_v, "V"),
        options=tuple(
            other_controller(
                case,
                phrase(
                    "Set the disconnect to {protects_v:.1f} V, or take a controller that "
                    "switches off there.",
                    protects_v=protects_v * count,
                ),
                disconnect_v=round(protects_v * count / case.scale, 2),
            )
        )
        if severity < Severity.FINE
        else (),
    )
