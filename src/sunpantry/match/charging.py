"""Charge current against the bank, and the parts that charging cannot do without."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import replace

from sunpantry.design.nameplates import ControllerNameplate
from sunpantry.figures import Figure, Given
from sunpantry.match.array_charging import too_low_to_charge
from sunpantry.match.array_measures import array_charge_a, arrays_a, charge_current_a, highest_voc_v
from sunpantry.match.bank_measures import constants, is_lead, max_charge_a
from sunpantry.match.case import Case
from sunpantry.match.changes import (
    CONTROLLER_A,
    CONTROLLER_V,
    HIGHEST_V,
    MOST_CHANGED,
    fewer,
    needs_of,
    next_rating,
    other_controller,
    relabel,
    words_for,
)
from sunpantry.match.changes import more as more_panels
from sunpantry.match.finding import Finding, Need, Remedy, Said, Severity, rule, worked
from sunpantry.match.sources import LABEL, PRACTICE
from sunpantry.parts.system import Bank
from sunpantry.phrases import joined, phrase

# Lead-acid below this share of its 20-hour capacity hardly mixes its acid and seldom fills;
# a sealed one forgives more (common practice, no source).
LEAST_LEAD_RATE = {"flooded": 0.05, "agm": 0.03, "gel": 0.03}
# Without a controller a panel may only trickle: 1 % of the capacity (common practice).
TRICKLE_RATE = 0.01


def overcharges(case: Case) -> bool:
    """Whether the full-sun current exceeds the charge limit printed on the battery."""
    bank = case.system.bank
    if bank is None or bank.battery.max_charge_a is None or not case.system.arrays:
        return False
    if too_low_to_charge(case):
        return False
    if bank.battery.chemistry == "power_bank":  # it takes what it wants through its own input
        return False
    return charge_current_a(case) > max_charge_a(bank)


def _charge_holds(case: Case) -> bool:
    bank = case.system.bank
    return bank is None or charge_current_a(case) <= max_charge_a(bank)


@rule(
    "charge-current-too-high",
    asks="Is the charge current within what the battery may take?",
    limit="full-sun current ≤ the label's limit; without one, the usual rate of the chemistry",
    source=phrase("{label}; usual rates are {practice}", label=LABEL, practice=PRACTICE),
    worst=Severity.DANGER,
    breaks=overcharges,
)
def charge_current_too_high(case: Case) -> Said:
    """Too much current heats a battery; a lithium one switches itself off."""
    bank = case.system.bank
    if bank is None or not case.system.arrays or bank.battery.chemistry == "power_bank":
        return
    if too_low_to_charge(case):
        return
    amps, limit_a = charge_current_a(case), max_charge_a(bank)
    printed = bank.battery.max_charge_a is not None
    if amps <= limit_a:
        severity = Severity.FINE
        words = phrase(
            "Full sun charges with {amps:.1f} A; the bank may take {limit_a:.0f} A.",
            amps=amps,
            limit_a=limit_a,
        )
    else:
        severity = Severity.DANGER if printed else Severity.WILL_DISAPPOINT
        harm = (
            phrase("its protection switches off, or it ages fast")
            if bank.battery.chemistry == "lifepo4"
            else phrase("it heats up and gasses; a sealed one can run away and vent")
        )
        words = phrase(
            "Full sun charges with {amps:.1f} A; the bank may take {limit_a:.0f} A: {harm}.",
            amps=amps,
            limit_a=limit_a,
            harm=harm,
        )
    yield Finding(
        severity,
        words,
        ("battery", "controller", "array"),
        (_current_figure(case, amps),),
        Given("highest charge current", limit_a, "A"),
        options=tuple(_less_charge(case, limit_a)) if severity < Severity.FINE else (),
    )


def _current_figure(case: Case, amps: float) -> Figure:
    controller = case.system.controller
    rated: float | str = "none"
    if controller is not None:
        rated = controller.rated_a * case.system.controller_count
    return worked(
        "charge current in full sun",
        amps,
        "A",
        "what the array gives at the bank's voltage, at most the MPPT controllers' rating",
        LABEL,
        ("current the array gives", array_charge_a(case), "A"),
        ("rated current of the controllers", rated, "A"),
    )


def _less_charge(case: Case, limit_a: float) -> Iterator[Remedy]:
    controller, bank = case.system.controller, case.system.bank
    if controller is not None and controller.kind == "mppt":
        per_a = limit_a / case.system.controller_count
        sizes = [size for size in CONTROLLER_A if size <= per_a]
        if sizes:
            yield from other_controller(
                case,
                phrase(
                    "Take an MPPT controller of at most {sizes:g} A (or set its limit to "
                    "{per_a:.0f} A, if it can be set): it holds the current down by itself.",
                    sizes=sizes[-1],
                    per_a=per_a,
                ),
                relation="at most",
                rated_a=sizes[-1],
            )
    for index in range(len(case.system.arrays)):
        yield from fewer(case, index, _charge_holds)
    if bank is None:
        return
    for count in range(bank.parallel + 1, bank.parallel + MOST_CHANGED):
        changed = case.with_bank(parallel=count)
        if _charge_holds(changed):
            total = count * bank.series
            yield Remedy(
                phrase(
                    "Use {batteries} instead of {count}.",
                    batteries=words_for(total, "battery"),
                    count=bank.count,
                ),
                changed,
            )
            return


def _faster(case: Case, bank: Bank, least: float) -> list[Remedy]:
    """More panels, or a smaller bank, until the current is enough."""

    def holds(changed: Case) -> bool:
        grown = changed.system.bank
        return grown is not None and charge_current_a(changed) >= least * grown.capacity_ah

    options: list[Remedy] = []
    for index in range(len(case.system.arrays)):
        options.extend(more_panels(case, index, holds, key="parallel"))
    for count in range(bank.parallel - 1, 0, -1):
        fits = case.with_bank(parallel=count, owned=min(bank.owned, count * bank.series))
        if holds(fits):
            left = words_for(count * bank.series, "battery")
            words = phrase("Use {batteries} instead of {count}.", batteries=left, count=bank.count)
            options.append(Remedy(words, fits))
            break
    return options


@rule(
    "charge-current-too-low",
    asks="Is there enough charge current for a lead-acid battery?",
    limit="full-sun current ≥ 5 % of the capacity for flooded cells, 3 % for sealed ones",
    source=PRACTICE,
    worst=Severity.WILL_DISAPPOINT,
)
def charge_current_too_low(case: Case) -> Said:
    """A trickle leaves lead-acid half full and its acid in layers."""
    bank = case.system.bank
    if bank is None or not is_lead(case) or not case.system.arrays or too_low_to_charge(case):
        return
    least = LEAST_LEAD_RATE[bank.battery.chemistry]
    amps = charge_current_a(case)
    low = amps < least * bank.capacity_ah
    flooded = bank.battery.chemistry == "flooded"

    options = _faster(case, bank, least) if low else []
    severity = Severity.FINE
    if low:
        severity = Severity.WILL_DISAPPOINT if flooded else Severity.WORTH_KNOWING
    share = amps / bank.capacity_ah
    yield Finding(
        severity,
        phrase(
            "Full sun charges with {amps:.1f} A, {share:.1%} of the bank's {capacity_ah:.0f} Ah; ",
            amps=amps,
            share=share,
            capacity_ah=bank.capacity_ah,
        )
        + (
            phrase(
                "lead-acid wants at least {least:.0%} to mix its acid and to fill: give it a full "
                "charge from another source now and then.",
                least=least,
            )
            if low
            else phrase("enough to mix its acid and to fill it.")
        ),
        ("battery", "array"),
        (
            worked(
                "charge current as a share of the capacity",
                share,
                "1/h",
                "full-sun charge current / capacity of the bank",
                PRACTICE,
                ("full-sun charge current", amps, "A"),
                ("capacity of the bank", bank.capacity_ah, "Ah"),
            ),
        ),
        Given("least share", least, "1/h"),
        options=tuple(options),
    )


def wrong_controller_voltage(case: Case) -> bool:
    """Whether the controller is not made for the voltage of the bank."""
    controller = case.system.controller
    return (
        controller is not None
        and case.system.bank is not None
        and case.system.bank_v not in controller.bank_voltages
    )


@rule(
    "controller-bank-voltage",
    asks="Is the controller made for this bank voltage?",
    limit="the bank voltage is among those on the controller's label",
    source=LABEL,
    worst=Severity.WILL_NOT_WORK,
    breaks=wrong_controller_voltage,
)
def controller_bank_voltage(case: Case) -> Said:
    """A 12 V controller cannot charge a 24 V bank."""
    controller = case.system.controller
    if controller is None or case.system.bank is None:
        return
    made_for = joined(
        (phrase("{volts:g}", volts=volts) for volts in controller.bank_voltages), phrase(" or ")
    )
    wrong = wrong_controller_voltage(case)
    yield Finding(
        Severity.WILL_NOT_WORK if wrong else Severity.FINE,
        phrase(
            "The controller is made for {made_for} V; the bank is one of {bank_v:g} V.",
            made_for=made_for,
            bank_v=case.system.bank_v,
        ),
        ("controller", "battery"),
        limit=Given("bank voltage", case.system.bank_v, "V"),
        options=tuple(
            other_controller(
                case,
                phrase(
                    "Take a controller made for a {bank_v:g} V bank.", bank_v=case.system.bank_v
                ),
                bank_voltages=(*controller.bank_voltages, case.system.bank_v),
            )
        )
        if wrong
        else (),
    )


def lacks_controller(case: Case) -> bool:
    """Whether panels would charge a battery with nothing between that stops in time."""
    bank = case.system.bank
    if bank is None or case.system.controller is not None:
        return False
    if bank.battery.chemistry == "power_bank":
        return any(array.panel.regulated_output_v is None for array in case.system.arrays)
    if not case.whole:
        return False
    if not is_lead(case):
        return bool(case.system.arrays)
    amps = arrays_a(case)
    return amps > TRICKLE_RATE * bank.capacity_ah


@rule(
    "charge-controller-missing",
    asks="Does something stop the charge when the battery is full?",
    limit="a controller, unless the panel gives less than 1 % of a lead-acid battery's capacity",
    source=PRACTICE,
    worst=Severity.DANGER,
    breaks=lacks_controller,
)
def charge_controller_missing(case: Case) -> Said:
    """Without a controller a full battery goes on charging."""
    bank = case.system.bank
    if bank is None or not lacks_controller(case):
        return
    if bank.battery.chemistry == "power_bank":
        yield _unregulated(case)
        return
    amps = arrays_a(case)
    size_a = next_rating(1.25 * amps, CONTROLLER_A)
    template = _plain_controller(case, size_a)
    yield Finding(
        Severity.DANGER,
        phrase(
            "Nothing stops the panels' {amps:.1f} A when the battery is full: it would "
            "overcharge, and a lead-acid one gasses without end.",
            amps=amps,
        ),
        ("battery", "array"),
        options=(template,) if template is not None else (),
    )


def _unregulated(case: Case) -> Finding:
    """A power bank wants 5 V, not what a bare panel gives."""
    arrays = tuple(
        replace(
            array,
            series=1,
            panel=relabel(
                array.panel, regulated_output_v=5.0, regulated_max_a=0.8 * array.panel.power_w / 5.0
            ),
        )
        for array in case.system.arrays
    )
    return Finding(
        Severity.DANGER,
        phrase(
            "A power bank takes 5 V through its input socket; a bare panel's voltage would "
            "destroy it."
        ),
        ("battery", "array"),
        limit=Given("input voltage of a power bank", 5.0, "V"),
        options=(
            Remedy(
                phrase("Take panels with a 5 V socket of their own."),
                case.changed(arrays=arrays),
                (Need("panel", "regulated_output_v", "is", 5.0),),
            ),
        ),
    )


def _plain_controller(case: Case, size_a: float) -> Remedy | None:
    bank = case.system.bank
    if bank is None:
        return None
    volts = min(next_rating(highest_voc_v(case, case.extreme_c), CONTROLLER_V), HIGHEST_V)
    controller = ControllerNameplate(
        name=phrase("a PWM controller of {size_a:g} A, {volts:g} V", size_a=size_a, volts=volts),
        kind="pwm",
        bank_voltages=(case.system.bank_v,),
        chemistries=(bank.battery.chemistry,),
        rated_a=size_a,
        max_pv_voc_v=volts,
        absorption_v=round(constants(bank).absorption_v * 12.0 / constants(bank).cell_v, 1)
        if is_lead(case)
        else 14.2,
        temperature_sensor=True,
    )
    return Remedy(
        phrase(
            "Put a charge controller of at least {size_a:g} A, for {volts:g} V, between them.",
            size_a=size_a,
            volts=volts,
        ),
        case.changed(controller=controller, controller_count=1),
        needs_of("controller", "at least", rated_a=size_a, max_pv_voc_v=volts),
    )


RULES = (
    charge_current_too_high,
    charge_current_too_low,
    controller_bank_voltage,
    charge_controller_missing,
)
