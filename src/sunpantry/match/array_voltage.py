"""Volts of the array: too many for the controller, the panels or a person."""

from __future__ import annotations

from sunpantry.figures import Figure, Given
from sunpantry.match.array_measures import (
    coldest_allowed_c,
    has_voltage_coefficient,
    highest_voc_v,
    string_voc_v,
    voc_factor,
)
from sunpantry.match.bank_measures import highest_bank_v
from sunpantry.match.case import Case, array_role, numbered_arrays
from sunpantry.match.changes import (
    CONTROLLER_V,
    fewer,
    next_rating,
    other_controller,
    rewired,
)
from sunpantry.match.finding import Finding, Remedy, Said, Severity, rule, worked
from sunpantry.match.sources import ELV, LABEL, NEC_COLD
from sunpantry.parts.system import Array
from sunpantry.phrases import phrase
from sunpantry.physics.safe_voltage import DRY_TOUCH_DC_V, EXTRA_LOW_DC_V

_VOC_FORMULA = "panels in series × open-circuit voltage × factor for the cold"


def cold_voltage_figure(name: str, array: Array, temperature_c: float) -> Figure:
    """Open-circuit voltage of a string in the cold, with its working."""
    how = phrase("coefficient of the label")
    if not has_voltage_coefficient(array.panel):
        how = phrase("table, because the label gives no coefficient")
    return worked(
        name,
        string_voc_v(array, temperature_c),
        "V",
        _VOC_FORMULA,
        NEC_COLD,
        ("panels in series", array.series, ""),
        ("open-circuit voltage on the label", array.panel.voc_v, "V"),
        ("temperature", temperature_c, "°C"),
        ("factor for the cold", voc_factor(array.panel, temperature_c), ""),
        ("factor taken from", how, ""),
    )


def breaks_in_frost(case: Case) -> bool:
    """Whether a string exceeds the controller's voltage in a usual year's frost."""
    controller = case.system.controller
    return controller is not None and highest_voc_v(case, case.coldest_c) > controller.max_pv_voc_v


def _extreme_holds(case: Case) -> bool:
    controller = case.system.controller
    return controller is None or highest_voc_v(case, case.extreme_c) <= controller.max_pv_voc_v


def _cold_words(reached_c: float) -> str:
    if reached_c < -90.0:
        return phrase("no cold on Earth")
    return phrase("only {reached_c:.0f} °C", reached_c=reached_c)


@rule(
    "array-voltage-in-frost",
    asks="Does the array stay below the controller's voltage limit on the coldest morning?",
    limit="open-circuit voltage at the coldest ≤ the limit on the controller's label",
    source=NEC_COLD,
    worst=Severity.DANGER,
    breaks=breaks_in_frost,
)
def array_voltage_in_frost(case: Case) -> Said:
    """Cold raises the voltage; above its limit the controller breaks."""
    controller = case.system.controller
    if controller is None:
        return
    limit_v = controller.max_pv_voc_v
    for role, index, array in numbered_arrays(case):
        usual_v = string_voc_v(array, case.coldest_c)
        extreme_v = string_voc_v(array, case.extreme_c)
        reached_c = coldest_allowed_c(array, limit_v)
        if usual_v > limit_v:
            severity, at_c = Severity.DANGER, case.coldest_c
            words = phrase(
                "On a cold morning ({at_c:.0f} °C) the {role} reaches {usual_v:.0f} V, more "
                "than the {limit_v:g} V the controller stands; it would break. The limit is "
                "reached at {reached_c:.0f} °C already.",
                at_c=at_c,
                role=role,
                usual_v=usual_v,
                limit_v=limit_v,
                reached_c=reached_c,
            )
        elif extreme_v > limit_v:
            severity, at_c = Severity.WILL_DISAPPOINT, case.extreme_c
            words = phrase(
                "In an ordinary winter the voltage fits, but in the hardest frost to reckon with "
                "({at_c:.0f} °C) the {role} reaches {extreme_v:.0f} V and the controller stands "
                "{limit_v:g} V; the limit is reached at {reached_c:.0f} °C.",
                at_c=at_c,
                role=role,
                extreme_v=extreme_v,
                limit_v=limit_v,
                reached_c=reached_c,
            )
        else:
            severity, at_c = Severity.FINE, case.extreme_c
            cold = _cold_words(reached_c)
            words = phrase(
                "The {role} reaches {extreme_v:.0f} V at {at_c:.0f} °C, below the controller's "
                "{limit_v:g} V; {cold} would reach it.",
                role=role,
                extreme_v=extreme_v,
                at_c=at_c,
                limit_v=limit_v,
                cold=cold,
            )
        yield Finding(
            severity,
            words,
            (role, "controller"),
            (
                cold_voltage_figure(
                    phrase("open-circuit voltage of the {role} in the cold", role=role), array, at_c
                ),
            ),
            Given("highest array voltage on the controller's label", limit_v, "V"),
            options=_lower(case, index) if severity < Severity.FINE else (),
        )


def _lower(case: Case, index: int) -> tuple[Remedy, ...]:
    highest_v = highest_voc_v(case, case.extreme_c)
    wanted_v = next_rating(highest_v, CONTROLLER_V)
    return (
        *rewired(case, index, _extreme_holds, shorter=True),
        *other_controller(
            case,
            phrase(
                "Take a controller that stands at least {highest_v:.0f} V from the array; the next "
                "usual size is {wanted_v:g} V.",
                highest_v=highest_v,
                wanted_v=wanted_v,
            ),
            max_pv_voc_v=wanted_v,
        ),
        *fewer(case, index, _extreme_holds),
    )


def breaks_panel_insulation(case: Case) -> bool:
    """Whether a string exceeds the system voltage its panels are made for."""
    return any(
        string_voc_v(array, case.coldest_c) > array.panel.max_system_voltage_v
        for array in case.system.arrays
    )


@rule(
    "panel-system-voltage",
    asks="Are the panels made for the voltage of the string they stand in?",
    limit="open-circuit voltage at the coldest ≤ the system voltage on the panel's label",
    source=LABEL,
    worst=Severity.DANGER,
    breaks=breaks_panel_insulation,
)
def panel_system_voltage(case: Case) -> Said:
    """Insulation is made for a voltage."""
    for role, index, array in numbered_arrays(case):
        limit_v = array.panel.max_system_voltage_v
        volts = string_voc_v(array, case.coldest_c)
        if volts > limit_v:
            yield Finding(
                Severity.DANGER,
                phrase(
                    "{series} panels in series reach {volts:.0f} V in the cold; the panel is "
                    "insulated for {limit_v:g} V.",
                    series=array.series,
                    volts=volts,
                    limit_v=limit_v,
                ),
                (role,),
                (
                    cold_voltage_figure(
                        phrase("voltage that the {role} insulates", role=role),
                        array,
                        case.coldest_c,
                    ),
                ),
                Given("system voltage on the panel's label", limit_v, "V"),
                options=(
                    *rewired(case, index, _insulated, shorter=True),
                    *fewer(case, index, _insulated),
                ),
            )


def _insulated(case: Case) -> bool:
    return not breaks_panel_insulation(case)


def highest_dc_v(case: Case) -> float:
    """Highest DC voltage anywhere in the system [V]."""
    return max(highest_voc_v(case, case.coldest_c), highest_bank_v(case))


def beyond_extra_low(case: Case) -> bool:
    """Whether the DC side leaves extra-low voltage and no electrician builds it."""
    return not case.choices.by_electrician and highest_dc_v(case) > EXTRA_LOW_DC_V


def _safe_to_touch(case: Case) -> bool:
    return highest_dc_v(case) <= DRY_TOUCH_DC_V


@rule(
    "extra-low-voltage",
    asks="Is the DC side at a voltage a person may meet?",
    limit="up to 60 V DC; up to 120 V DC with protection; beyond only by a licensed electrician",
    source=ELV,
    worst=Severity.DANGER,
    breaks=beyond_extra_low,
)
def extra_low_voltage(case: Case) -> Said:
    """Above 60 V a touch can hurt, above 120 V it can kill."""
    volts = highest_dc_v(case)
    if volts <= 0.0:
        return
    deadly = volts > EXTRA_LOW_DC_V
    role, index = _highest(case)
    options: tuple[Remedy, ...] = ()
    if deadly:
        severity = Severity.WORTH_KNOWING if case.choices.by_electrician else Severity.DANGER
        words = phrase(
            "The DC side reaches {volts:.0f} V. More than 120 V DC can kill, and an arc does not "
            "go out by itself: it is work for a licensed electrician under the local code, never "
            "for oneself.",
            volts=volts,
        )
        options = (
            *(rewired(case, index, _not_deadly, shorter=True) if index is not None else ()),
            *(fewer(case, index, _not_deadly) if index is not None else ()),
            Remedy(
                phrase("Have the DC side planned and built by a licensed electrician."),
                case.chosen(by_electrician=True),
            ),
        )
    elif volts > DRY_TOUCH_DC_V:
        severity = Severity.WORTH_KNOWING
        words = phrase(
            "The DC side reaches {volts:.0f} V, more than the 60 V that are safe to touch: it "
            "wants double-insulated cable, closed housings that only a tool opens, switches and "
            "fuses rated for DC, and no work while the sun shines on it. Ask what the local code "
            "demands.",
            volts=volts,
        )
        if index is not None:
            options = tuple(rewired(case, index, _safe_to_touch, shorter=True))
    else:
        severity = Severity.FINE
        words = phrase(
            "The DC side stays at or below {volts:.0f} V, safe to touch in the dry.", volts=volts
        )
    figures: tuple[Figure, ...] = ()
    if index is not None:
        figures = (
            cold_voltage_figure(
                phrase("highest DC voltage"), case.system.arrays[index], case.coldest_c
            ),
        )
    limit_v = EXTRA_LOW_DC_V if deadly else DRY_TOUCH_DC_V
    yield Finding(
        severity, words, (role,), figures, Given("DC voltage limit", limit_v, "V"), options=options
    )


def _not_deadly(case: Case) -> bool:
    return highest_dc_v(case) <= EXTRA_LOW_DC_V


def _highest(case: Case) -> tuple[str, int | None]:
    """Where the highest voltage is: an array, or the bank."""
    arrays = case.system.arrays
    volts = [string_voc_v(array, case.coldest_c) for array in arrays]
    if not volts or max(volts) < highest_bank_v(case):
        return "battery", None
    index = volts.index(max(volts))
    return array_role(case, index), index


RULES = (
    array_voltage_in_frost,
    panel_system_voltage,
    extra_low_voltage,
)
