"""Amperes of the array against the controller: too many, or clipped."""

from __future__ import annotations

from collections.abc import Callable, Iterator

from sunpantry.figures import Figure, Given
from sunpantry.match.array_measures import (
    BRIGHT_EDGE,
    array_charge_a,
    charging_v,
    short_circuit_a,
)
from sunpantry.match.case import Case
from sunpantry.match.changes import (
    CONTROLLER_A,
    fewer,
    more_controllers,
    next_rating,
    other_controller,
)
from sunpantry.match.finding import Finding, Remedy, Said, Severity, rule, worked
from sunpantry.match.sources import LABEL, NEC_BRIGHT, PRACTICE
from sunpantry.phrases import joined, phrase

# More panel than an MPPT controller can pass on: what dull days gain is worth the clipped
# noon up to about this ratio, and this share of clipped energy (common practice, no source).
MOST_OVER = 1.3
MOST_CLIPPED = 0.05


def short_circuit_limit_a(case: Case) -> float | None:
    """Largest short-circuit current for one controller [A]; ``None``: none stated."""
    controller = case.system.controller
    if controller is None:
        return None
    stated_a = controller.max_pv_isc_a
    if controller.kind == "pwm":  # it passes the array's own current on
        return controller.rated_a if stated_a is None else min(stated_a, controller.rated_a)
    return stated_a


def breaks_short_circuit(case: Case) -> bool:
    """Whether the array's short-circuit current exceeds the controller's limit."""
    limit_a = short_circuit_limit_a(case)
    return limit_a is not None and short_circuit_a(case) > limit_a


def _bright_holds(case: Case) -> bool:
    limit_a = short_circuit_limit_a(case)
    return limit_a is None or BRIGHT_EDGE * short_circuit_a(case) <= limit_a


@rule(
    "short-circuit-current",
    asks="Does the array's short-circuit current stay within what the controller stands?",
    limit="Isc ≤ the limit on the label (PWM: also its rated current); 1.25 × Isc is wise",
    source=joined((LABEL, NEC_BRIGHT), "; "),
    worst=Severity.DANGER,
    breaks=breaks_short_circuit,
)
def short_circuit_current(case: Case) -> Said:
    """A PWM controller passes the panel's current on; an MPPT one has a stated limit."""
    limit_a = short_circuit_limit_a(case)
    if limit_a is None or not case.system.arrays:
        return
    amps = short_circuit_a(case)
    if amps > limit_a:
        severity = Severity.DANGER
        words = phrase(
            "In full sun the array can drive {amps:.1f} A into the controller, which stands "
            "{limit_a:g} A; it overheats or breaks.",
            amps=amps,
            limit_a=limit_a,
        )
    elif amps * BRIGHT_EDGE > limit_a:
        severity = Severity.WORTH_KNOWING
        words = phrase(
            "The array's {amps:.1f} A fit the controller's {limit_a:g} A, but at the bright edge "
            "of a cloud it can be {bright_a:.1f} A for a moment.",
            amps=amps,
            limit_a=limit_a,
            bright_a=amps * BRIGHT_EDGE,
        )
    else:
        severity = Severity.FINE
        words = phrase(
            "The array's {amps:.1f} A are within the controller's {limit_a:g} A.",
            amps=amps,
            limit_a=limit_a,
        )
    yield Finding(
        severity,
        words,
        ("array", "controller"),
        (
            worked(
                "short-circuit current for one controller",
                amps,
                "A",
                "sum of strings side by side × Isc / controllers",
                LABEL,
                *_strings(case),
                ("controllers", case.system.controller_count, ""),
            ),
        ),
        Given("highest short-circuit current", limit_a, "A"),
        options=tuple(_less_current(case, amps)) if severity < Severity.FINE else (),
    )


def _strings(case: Case) -> tuple[tuple[str, float | str, str], ...]:
    return tuple(
        (
            phrase(
                "strings of {name} × Isc {isc_a:g} A",
                name=array.panel.name,
                isc_a=array.panel.isc_a,
            ),
            array.parallel,
            "",
        )
        for array in case.system.arrays
    )


def _less_current(case: Case, amps: float) -> Iterator[Remedy]:
    controller = case.system.controller
    if controller is None:
        return
    size_a = next_rating(amps * BRIGHT_EDGE, CONTROLLER_A)
    rated_a = max(size_a, controller.rated_a) if controller.kind == "pwm" else controller.rated_a
    yield from other_controller(
        case,
        phrase(
            "Take a controller for at least {amps:.1f} A from the array; the next usual size is "
            "{size_a:g} A.",
            amps=amps * BRIGHT_EDGE,
            size_a=size_a,
        ),
        max_pv_isc_a=size_a,
        rated_a=rated_a,
    )
    yield from more_controllers(case, _bright_holds)
    yield from _fewer_strings(case, _bright_holds)


def _fewer_strings(case: Case, holds: Callable[[Case], bool]) -> Iterator[Remedy]:
    for index in range(len(case.system.arrays)):
        yield from fewer(case, index, holds)


def over_ratio(case: Case) -> float | None:
    """Current an MPPT controller is offered over what it can pass [-]; ``None``: no MPPT."""
    controller = case.system.controller
    if controller is None or controller.kind != "mppt" or not case.system.arrays:
        return None
    return array_charge_a(case) / (controller.rated_a * case.system.controller_count)


def _little_clipped(case: Case) -> bool:
    ratio = over_ratio(case)
    return ratio is None or ratio <= MOST_OVER


def _not_clipped(case: Case) -> bool:
    ratio = over_ratio(case)
    return ratio is None or ratio <= 1.0


@rule(
    "over-panelled",
    asks="Is there more panel than the MPPT controller can pass on?",
    limit="5 % of the sun's energy cut off on days when the battery does not get full; before the "
    "simulation 1.3 × the rated current",
    source=PRACTICE,
    worst=Severity.WILL_DISAPPOINT,
)
def over_panelled(case: Case) -> Said:
    """Clipping is harmless on a day that fills the bank anyway; only the rest is a loss."""
    controller, ratio = case.system.controller, over_ratio(case)
    if controller is None or ratio is None:
        return
    lost = None if case.proof is None else case.proof.clipped_when_wanted
    too_much = ratio > MOST_OVER if lost is None else lost > MOST_CLIPPED
    if too_much:
        severity = Severity.WILL_DISAPPOINT
    else:
        severity = Severity.FINE if ratio <= 1.0 else Severity.WORTH_KNOWING
    # An array that loses nothing that is wanted is as large as the winter asks for.
    wanted = severity < Severity.FINE and (too_much or lost is None)
    yield Finding(
        severity,
        _over_words(case, ratio, severity),
        ("array", "controller"),
        (*_lost_figures(case), _over_figure(case, ratio)),
        Given("highest ratio", MOST_OVER, "")
        if lost is None
        else Given("highest share lost", MOST_CLIPPED, ""),
        options=tuple(_less_clipped(case, too_much and lost is None)) if wanted else (),
    )


def _over_words(case: Case, ratio: float, severity: Severity) -> str:
    controller, proof = case.system.controller, case.proof
    rated_a = 0.0 if controller is None else controller.rated_a * case.system.controller_count
    if severity is Severity.FINE:
        return phrase(
            "At noon the array asks for {ratio:.0%} of what the controller can pass on.",
            ratio=ratio,
        )
    words = phrase(
        "In full sun the array could give {ratio:.0%} of the {rated_a:g} A that the controller "
        "passes on",
        ratio=ratio,
        rated_a=rated_a,
    )
    if case.system.controller_count > 1:
        words = phrase(
            "In full sun the array could give {ratio:.0%} of the {rated_a:g} A that the "
            "controllers pass on",
            ratio=ratio,
            rated_a=rated_a,
        )
    lost = None if proof is None else proof.clipped_when_wanted
    if lost is None:
        return phrase(
            "{words}. The rest is cut off; on dull days the larger array still helps.", words=words
        )
    share = phrase("{lost:.0%}", lost=lost) if lost >= 0.01 else phrase("less than 1 %")
    words += phrase(
        ". On the days when the battery does not get full that cuts off {share} of its energy",
        share=share,
    )
    if proof is not None and proof.clipped_share is not None and proof.clipped_share > lost:
        words += phrase(
            "; over the whole year it is {clipped_share:.0%}, on days that fill the battery anyway",
            clipped_share=proof.clipped_share,
        )
    if severity is Severity.WILL_DISAPPOINT:
        return words + "."
    return words + phrase(", so the size of the array does no harm: dull days need it.")


def _over_figure(case: Case, ratio: float) -> Figure:
    controller = case.system.controller
    efficiency_pct, rated_a = (
        (0.0, 0.0) if controller is None else (controller.efficiency_pct, controller.rated_a)
    )
    return worked(
        "charge current offered over what the controller passes",
        ratio,
        "",
        "array power × efficiency / bank voltage while charging / (rated × controllers)",
        PRACTICE,
        ("array power", case.system.array_power_w, "W"),
        ("efficiency of the controller", efficiency_pct, "%"),
        ("bank voltage while charging", charging_v(case), "V"),
        ("rated current of the controller", rated_a, "A"),
        ("controllers", case.system.controller_count, ""),
    )


def _lost_figures(case: Case) -> tuple[Figure, ...]:
    proof = case.proof
    if proof is None or proof.clipped_when_wanted is None:
        return ()
    return (
        worked(
            "share of the array's energy cut off on days when the battery does not get full",
            proof.clipped_when_wanted,
            "",
            "Σ max(0, offered − limit of the controller) / Σ offered, from the simulation",
            PRACTICE,
            ("share over the whole year", proof.clipped_share or 0.0, ""),
        ),
    )


def _less_clipped(case: Case, some_may_stay: bool) -> Iterator[Remedy]:
    """Options: fewer panels, a larger controller, more controllers."""
    holds = _little_clipped if some_may_stay else _not_clipped
    least_a = array_charge_a(case) / case.system.controller_count
    rated_a = next_rating(least_a / MOST_OVER if some_may_stay else least_a, CONTROLLER_A)
    yield from _fewer_strings(case, holds)
    yield from other_controller(
        case, phrase("Take a controller of {rated_a:g} A.", rated_a=rated_a), rated_a=rated_a
    )
    yield from more_controllers(case, holds)


def maker_array_limit_w(case: Case) -> float | None:
    """Largest array the controller's maker allows on this bank [W]; ``None``: none stated."""
    controller = case.system.controller
    if controller is None or controller.max_pv_power_w_at_12v is None:
        return None
    return controller.max_pv_power_w_at_12v * case.scale * case.system.controller_count


def breaks_maker_array_limit(case: Case) -> bool:
    """Whether the array is larger than the controller's maker allows."""
    limit_w = maker_array_limit_w(case)
    return limit_w is not None and case.system.array_power_w > limit_w


def _maker_limit_holds(case: Case) -> bool:
    return not breaks_maker_array_limit(case)


@rule(
    "maker-array-limit",
    asks="Does the controller's maker allow an array of this power?",
    limit="array power ≤ the power on the label, scaled with the bank voltage",
    source=LABEL,
    worst=Severity.WILL_NOT_WORK,
    breaks=breaks_maker_array_limit,
)
def maker_array_limit(case: Case) -> Said:
    """Some makers forbid more panel than they state, even though current is limited."""
    controller, limit_w = case.system.controller, maker_array_limit_w(case)
    if controller is None or limit_w is None or not breaks_maker_array_limit(case):
        return
    power_w = case.system.array_power_w
    needed_w = float(round(power_w / case.scale / case.system.controller_count + 0.5))
    yield Finding(
        Severity.WILL_NOT_WORK,
        phrase(
            "The maker of the controller allows {limit_w:.0f} W of panels on this bank; there "
            "are {power_w:.0f} W.",
            limit_w=limit_w,
            power_w=power_w,
        ),
        ("array", "controller"),
        (
            worked(
                "array power",
                power_w,
                "W",
                "sum of the panels' rated power",
                LABEL,
                *((array.panel.name, array.power_w, "W") for array in case.system.arrays),
            ),
        ),
        Given("largest array for this bank", limit_w, "W"),
        options=(
            *_fewer_strings(case, _maker_limit_holds),
            *other_controller(
                case,
                phrase(
                    "Take a controller whose maker allows {power_w:.0f} W on this bank.",
                    power_w=power_w,
                ),
                max_pv_power_w_at_12v=needed_w,
            ),
            *more_controllers(case, _maker_limit_holds),
        ),
    )


RULES = (short_circuit_current, over_panelled, maker_array_limit)
