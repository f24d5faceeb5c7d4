"""Volts of the array against those of the bank: enough to charge, and not thrown away."""

from __future__ import annotations

from collections.abc import Iterator

from sunpantry.figures import Figure, Given
from sunpantry.match.array_measures import (
    REFERENCE_C,
    charging_v,
    highest_voc_v,
    panel_current_a,
    string_vmp_v,
    string_voc_v,
)
from sunpantry.match.bank_measures import absorption_v, max_charge_a
from sunpantry.match.case import Case, numbered_arrays
from sunpantry.match.changes import (
    CONTROLLER_A,
    CONTROLLER_V,
    more,
    next_rating,
    other_controller,
    other_panel,
    rewired,
)
from sunpantry.match.finding import Finding, Remedy, Said, Severity, rule, worked
from sunpantry.match.sources import EXPLICIT_CURVE, LABEL, PRACTICE
from sunpantry.parts.system import Array
from sunpantry.phrases import phrase
from sunpantry.simulate import layout as at

# Share of the panel's power that a PWM controller may leave unused before it disappoints;
# a panel made for the bank loses about 22 % (common practice, no source).
PWM_WASTE = 0.30
PWM_HOT_SHARE = 0.70


def _starts_at_v(case: Case) -> float:
    """Voltage at no load at which an MPPT controller begins to charge [V]."""
    controller = case.system.controller
    return charging_v(case) + (0.0 if controller is None else controller.start_headroom_v)


def _works_at_v(case: Case) -> float:
    """Working voltage that an MPPT controller wants once it charges, up to a full bank [V]."""
    headroom_v = _starts_at_v(case) - charging_v(case)
    return max(charging_v(case) + min(headroom_v, at.RUNNING_HEADROOM_V), absorption_v(case))


def _in_window(case: Case, array: Array, cell_c: float) -> bool:
    starts = string_voc_v(array, cell_c) >= _starts_at_v(case)
    return starts and string_vmp_v(array, cell_c) >= _works_at_v(case)


def _pwm_current(case: Case, array: Array, temperature_c: float) -> float:
    return panel_current_a(
        array.panel, voltage_v=absorption_v(case) / array.series, temperature_c=temperature_c
    )


def _too_low(case: Case, array: Array) -> bool:
    if _kind(case) == "mppt":
        return not _in_window(case, array, REFERENCE_C)
    return string_voc_v(array, case.hottest_cell_c) <= absorption_v(case)


def _judged(case: Case) -> bool:
    """Whether there is a bank, or a controller for one, that the array must outdo."""
    bank = case.system.bank
    if bank is None:
        return case.system.controller is not None
    return bank.battery.chemistry != "power_bank"


def too_low_to_charge(case: Case) -> bool:
    """Whether a string cannot charge the bank: PWM in the heat, MPPT even at 25 °C."""
    if not _judged(case):
        return False
    return any(_too_low(case, array) for array in case.system.arrays)


@rule(
    "array-charges-in-heat",
    asks="Can the array still fill the bank when the panels are hot (without an MPPT controller)?",
    limit="at the absorption voltage a hot panel gives at least 70 % of its rated current",
    source=phrase(
        "{explicit_curve}; the share is {practice}",
        explicit_curve=EXPLICIT_CURVE,
        practice=PRACTICE,
    ),
    worst=Severity.WILL_NOT_WORK,
    breaks=lambda case: _kind(case) != "mppt" and too_low_to_charge(case),
)
def array_charges_in_heat(case: Case) -> Said:
    """Heat lowers the voltage; below that of the bank nothing flows."""
    if _kind(case) == "mppt" or not _judged(case):
        return
    wanted_v = absorption_v(case)
    for role, index, array in numbered_arrays(case):
        current_a = _pwm_current(case, array, case.hottest_cell_c)
        share = current_a / array.panel.imp_a
        if _too_low(case, array):
            severity = Severity.WILL_NOT_WORK
            words = phrase(
                "When the panels are hot the {role} has fewer volts than the {wanted_v:.1f} V that "
                "fill the bank; no current flows.",
                role=role,
                wanted_v=wanted_v,
            )
        elif share < PWM_HOT_SHARE:
            severity = Severity.WILL_DISAPPOINT
            words = phrase(
                "When the panels are hot the {role} gives only {share:.0%} of its current at the "
                "{wanted_v:.1f} V that fill the bank.",
                role=role,
                share=share,
                wanted_v=wanted_v,
            )
        else:
            severity = Severity.FINE
            words = phrase(
                "Even hot panels give {current_a:.1f} A each at {wanted_v:.1f} V.",
                current_a=current_a,
                wanted_v=wanted_v,
            )
        yield Finding(
            severity,
            words,
            (role, "controller"),
            (
                worked(
                    phrase(
                        "current of a panel of the {role} at {hottest_cell_c:.0f} °C",
                        role=role,
                        hottest_cell_c=case.hottest_cell_c,
                    ),
                    current_a,
                    "A",
                    "current of the panel's curve at absorption voltage / panels in series",
                    EXPLICIT_CURVE,
                    ("absorption voltage", wanted_v, "V"),
                    ("panels in series", array.series, ""),
                    ("cell temperature", case.hottest_cell_c, "°C"),
                ),
            ),
            Given("least share of the rated current", PWM_HOT_SHARE, ""),
            options=(
                *rewired(case, index, _hot_enough, shorter=False),
                *more(case, index, _hot_enough, key="series"),
                *other_panel(case, index, least_vmp_v=1.25 * wanted_v / array.series),
            )
            if severity < Severity.FINE
            else (),
        )


def _hot_enough(case: Case) -> bool:
    return all(
        not _too_low(case, array)
        and _pwm_current(case, array, case.hottest_cell_c) >= PWM_HOT_SHARE * array.panel.imp_a
        for array in case.system.arrays
    )


def _kind(case: Case) -> str | None:
    return None if case.system.controller is None else case.system.controller.kind


@rule(
    "mppt-window",
    asks="Does the array stay inside the voltage window of an MPPT controller?",
    limit="voltage at no load ≥ bank voltage + headroom to start, voltage at maximum power ≥ bank "
    "voltage + 1 V at most to go on, at 25 °C and at the hottest",
    source=phrase("{label}; the volt above the bank is {practice}", label=LABEL, practice=PRACTICE),
    worst=Severity.WILL_NOT_WORK,
    breaks=lambda case: _kind(case) == "mppt" and too_low_to_charge(case),
)
def mppt_window(case: Case) -> Said:
    """An MPPT controller only lowers voltage: the array must have more than the bank."""
    if _kind(case) != "mppt" or not _judged(case):
        return
    for role, index, array in numbered_arrays(case):
        found = Severity.FINE
        if not _in_window(case, array, REFERENCE_C):
            found = Severity.WILL_NOT_WORK
        elif not _in_window(case, array, case.hottest_cell_c):
            found = Severity.WILL_DISAPPOINT
        yield Finding(
            found,
            _window_words(case, role, array, found),
            (role, "controller"),
            (
                _window_figure(
                    case, role, array, phrase("working voltage"), phrase("coefficient of power")
                ),
                _window_figure(
                    case,
                    role,
                    array,
                    phrase("voltage at no load"),
                    phrase("coefficient of voltage"),
                ),
            ),
            Given("least working voltage to charge", _works_at_v(case), "V"),
            options=(
                *rewired(case, index, _window_holds, shorter=False),
                *more(case, index, _window_holds, key="series"),
                *other_panel(
                    case,
                    index,
                    least_vmp_v=1.4 * max(_works_at_v(case), _starts_at_v(case)) / array.series,
                ),
            )
            if found < Severity.FINE
            else (),
        )


def _window_words(case: Case, role: str, array: Array, found: Severity) -> str:
    cell_c = REFERENCE_C if found is Severity.WILL_NOT_WORK else case.hottest_cell_c
    idle_v, works_v = string_voc_v(array, cell_c), string_vmp_v(array, cell_c)
    if found is Severity.FINE:
        return phrase(
            "Even hot, the {role} works at {works_v:.1f} V; the controller needs "
            "{works_at_v:.1f} V.",
            role=role,
            works_v=works_v,
            works_at_v=_works_at_v(case),
        )
    hot = found is not Severity.WILL_NOT_WORK
    the = phrase("In the heat the {role}", role=role) if hot else phrase("The {role}", role=role)
    if idle_v < _starts_at_v(case):
        return phrase(
            "{the} has {idle_v:.1f} V at no load; the controller begins to charge this bank only "
            "at {starts_at_v:.1f} V",
            the=the,
            idle_v=idle_v,
            starts_at_v=_starts_at_v(case),
        ) + (phrase(", so it stands idle on the hottest days.") if hot else ".")
    return phrase(
        "{the} works at {works_v:.1f} V; the controller needs {works_at_v:.1f} V to fill this bank",
        the=the,
        works_v=works_v,
        works_at_v=_works_at_v(case),
    ) + (phrase(", so it gives less on the hottest days.") if hot else ".")


def _window_figure(case: Case, role: str, array: Array, what: str, by: str) -> Figure:
    panel, works = array.panel, what == "working voltage"
    per_k = panel.temp_coeff_power_pct_per_k if works else panel.temp_coeff_voc_pct_per_k
    volts = (string_vmp_v if works else string_voc_v)(array, case.hottest_cell_c)
    return worked(
        phrase(
            "{what} of the {role} at {hottest_cell_c:.0f} °C",
            what=what,
            role=role,
            hottest_cell_c=case.hottest_cell_c,
        ),
        volts,
        "V",
        phrase(
            "panels in series × {what} × (1 + {by} × (cell − 25 °C))",
            what="Vmp" if works else "Voc",
            by=by,
        ),
        LABEL,
        ("panels in series", array.series, ""),
        *(((phrase("Vmp on the label"), panel.vmp_v, "V"),) if works else ()),
        *(() if works else ((phrase("Voc on the label"), panel.voc_v, "V"),)),
        (by, per_k, "%/K"),
        ("cell temperature", case.hottest_cell_c, "°C"),
    )


def _window_holds(case: Case) -> bool:
    return all(
        _in_window(case, array, cell_c)
        for array in case.system.arrays
        for cell_c in (REFERENCE_C, case.hottest_cell_c)
    )


def pwm_waste(case: Case, array: Array) -> float:
    """Share of an array's rated power that a PWM controller cannot use [-]."""
    volts = charging_v(case)
    used_w = volts / array.series * panel_current_a(array.panel, voltage_v=volts / array.series)
    return max(0.0, 1.0 - used_w / (array.panel.vmp_v * array.panel.imp_a))


@rule(
    "pwm-waste",
    asks="How much of the panel does a PWM controller throw away?",
    limit="at most 30 % of the rated power (a panel made for the bank loses about 22 %)",
    source=phrase(
        "{explicit_curve}; the limit is {practice}",
        explicit_curve=EXPLICIT_CURVE,
        practice=PRACTICE,
    ),
    worst=Severity.WILL_DISAPPOINT,
)
def pwm_wasted(case: Case) -> Said:
    """PWM ties the panel to the bank's voltage; the volts above it are lost."""
    if _kind(case) != "pwm":
        return
    for role, index, array in numbered_arrays(case):
        if _too_low(case, array):
            continue
        share = pwm_waste(case, array)
        bad = share > PWM_WASTE
        paid, currency = array.panel.price, array.panel.currency
        money = (
            phrase(
                ", {paid:.0f} {currency} of what it cost",
                paid=share * paid * array.count,
                currency=currency,
            )
            if paid
            else ""
        )
        yield Finding(
            Severity.WILL_DISAPPOINT if bad else Severity.FINE,
            phrase(
                "The PWM controller pulls the {role} down to the bank's voltage and throws away "
                "{share:.0%} of its power ({lost_w:.0f} W{money}).",
                role=role,
                share=share,
                lost_w=share * array.power_w,
                money=money,
            )
            if bad
            else phrase(
                "The {role} suits a PWM controller: {share:.0%} of its power is lost to the lower "
                "voltage of the bank.",
                role=role,
                share=share,
            ),
            (role, "controller"),
            (
                worked(
                    phrase("share of the {role} lost to the PWM controller", role=role),
                    share,
                    "",
                    "1 − bank voltage × current there / (Vmp × Imp × panels in series)",
                    EXPLICIT_CURVE,
                    ("bank voltage while charging", charging_v(case), "V"),
                    ("panels in series", array.series, ""),
                    ("Vmp", array.panel.vmp_v, "V"),
                    ("Imp", array.panel.imp_a, "A"),
                ),
            ),
            Given("highest share lost", PWM_WASTE, ""),
            options=tuple(_less_waste(case, index)) if bad else (),
        )


def _less_waste(case: Case, index: int) -> Iterator[Remedy]:
    def holds(changed: Case) -> bool:
        array = changed.system.arrays[index]
        return pwm_waste(changed, array) <= PWM_WASTE and not _too_low(changed, array)

    yield from rewired(case, index, holds, shorter=True)
    bank, count = case.system.bank, case.system.controller_count
    rated_a = next_rating(case.system.array_power_w / charging_v(case) / count, CONTROLLER_A)
    if bank is not None:  # no more than the battery may take; the controller holds it down
        most_a = max_charge_a(bank) / count
        rated_a = min(rated_a, max((a for a in CONTROLLER_A if a <= most_a), default=most_a))
    volts = next_rating(highest_voc_v(case, case.extreme_c), CONTROLLER_V)
    yield from other_controller(
        case,
        phrase(
            "Take an MPPT controller: for this array one of {rated_a:g} A that stands {volts:g} "
            "V. It turns the extra volts into extra current.",
            rated_a=rated_a,
            volts=volts,
        ),
        kind="mppt",
        rated_a=rated_a,
        max_pv_voc_v=volts,
        max_pv_isc_a=None,
    )


RULES = (array_charges_in_heat, mppt_window, pwm_wasted)
