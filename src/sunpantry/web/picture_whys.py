"""Workings of the numbers in the picture."""

from __future__ import annotations

from collections.abc import Sequence
from typing import TYPE_CHECKING

from sunpantry.figures import Figure, Given
from sunpantry.phrases import phrase

if TYPE_CHECKING:
    from sunpantry.parts.system import Array, Bank, System
    from sunpantry.simulate.proof import MonthProof, Proof

LABEL = "the label of the part"
RUN = "the run through all the winters, step by step"
JUNE, DECEMBER = 5, 11


def array_figures(
    array: Array, june: MonthProof, december: MonthProof, *, share: float
) -> tuple[Figure, ...]:
    """Workings of an array's volts, amps and energies.

    Parameters
    ----------
    array : Array
        The array.
    june, december : MonthProof
        What all arrays together gave.
    share : float
        Of the rated power of all arrays [-].
    """
    panel = array.panel
    gathered = "gathered in a mean day of all winters × its share of the rated power"
    return (
        Figure(
            "voltage of the panels at full power",
            array.series * panel.vmp_v,
            "V",
            "panels in a row × voltage at full power on the label",
            (
                Given("panels in a row", array.series),
                Given("voltage on the label", panel.vmp_v, "V"),
            ),
            LABEL,
        ),
        Figure(
            "current of the panels at full power",
            array.parallel * panel.imp_a,
            "A",
            "rows side by side × current at full power on the label",
            (
                Given("rows side by side", array.parallel),
                Given("current on the label", panel.imp_a, "A"),
            ),
            LABEL,
        ),
        Figure(
            "gathered on a mean day in June",
            june.gathered_wh * share,
            "Wh",
            gathered,
            (
                Given("the sun offers", june.offered_wh, "Wh"),
                Given("gathered", june.gathered_wh, "Wh"),
                Given("share of the rated power", 100.0 * share, "%"),
            ),
            RUN,
        ),
        Figure(
            "gathered on a mean day in December",
            december.gathered_wh * share,
            "Wh",
            gathered,
            (
                Given("the sun offers", december.offered_wh, "Wh"),
                Given("gathered", december.gathered_wh, "Wh"),
                Given("share of the rated power", 100.0 * share, "%"),
            ),
            RUN,
        ),
    )


def controller_figures(system: System) -> tuple[Figure, ...]:
    """Working of what the controllers pass on."""
    controller = system.controller
    if controller is None:
        return ()
    return (
        Figure(
            "largest charging current",
            controller.rated_a * system.controller_count,
            "A",
            "controllers × rated current",
            (
                Given("controllers", system.controller_count),
                Given("rated current", controller.rated_a, "A"),
            ),
            LABEL,
        ),
    )


def bank_figures(bank: Bank, proof: Proof) -> tuple[Figure, ...]:
    """Workings of the bank's size and of how full it is."""
    months = proof.months
    worst = min(months, key=lambda one: one.lowest_charge)
    mean = "charge over capacity, mean of all hours of the month in all winters"
    return (
        Figure(
            "voltage of the battery bank",
            bank.nominal_v,
            "V",
            "batteries in a row × nominal voltage of one",
            (
                Given("batteries in a row", bank.series),
                Given("nominal voltage of one", bank.battery.nominal_v, "V"),
            ),
            LABEL,
        ),
        Figure(
            "capacity of the battery bank",
            bank.capacity_ah,
            "Ah",
            "rows side by side × capacity of one",
            (
                Given("rows side by side", bank.parallel),
                Given("capacity of one", bank.battery.capacity_ah, "Ah"),
            ),
            LABEL,
        ),
        Figure(
            "energy of the battery bank",
            bank.energy_wh,
            "Wh",
            "voltage × capacity",
            (
                Given("voltage", bank.nominal_v, "V"),
                Given("capacity", bank.capacity_ah, "Ah"),
            ),
            LABEL,
        ),
        Figure("how full in June", 100.0 * months[JUNE].mean_charge, "%", mean, (), RUN),
        Figure("how full in December", 100.0 * months[DECEMBER].mean_charge, "%", mean, (), RUN),
        Figure(
            "emptiest in any winter",
            100.0 * worst.lowest_charge,
            "%",
            "lowest charge over capacity in any hour of any winter",
            (
                Given("month in which it happens", worst.month),
                Given("winters run", proof.winters),
                Given("capacity left in the worn battery", 100.0 * proof.capacity_left, "%"),
            ),
            RUN,
        ),
    )


def shelf_figures(
    loads: Sequence[tuple[str, float, Sequence[float]]], *, volts: float
) -> tuple[Figure, ...]:
    """Workings of what one supply carries.

    Parameters
    ----------
    loads : sequence
        Name, power with everything of it running [W], and energy asked for on a mean day of
        each month [Wh].
    volts : float
        Of the supply [V].
    """
    watts = sum(power for _, power, _ in loads)

    def asked(name: str, month: int) -> Figure:
        return Figure(
            name,
            sum(daily[month] for _, _, daily in loads),
            "Wh",
            "power × hours × share of the time it draws, added up over the loads",
            tuple(Given(load, daily[month], "Wh") for load, _, daily in loads),
            "the hours and powers in the design, added up step by step",
        )

    return (
        Figure(
            "current with everything running",
            watts / volts,
            "A",
            "power of all that runs on it / voltage",
            (*(Given(load, power, "W") for load, power, _ in loads), Given("voltage", volts, "V")),
            "the powers in the design",
        ),
        asked(phrase("wanted on a mean day in June"), JUNE),
        asked(phrase("wanted on a mean day in December"), DECEMBER),
    )
