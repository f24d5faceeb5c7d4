"""The inverter against the bank, the loads and the controller's load terminals."""

from __future__ import annotations

from collections.abc import Iterable

from sunpantry.design.kit import voltage_class
from sunpantry.figures import Given
from sunpantry.match.case import Case, LoadFacts
from sunpantry.match.changes import other_inverter
from sunpantry.match.finding import Finding, Remedy, Said, Severity, rule, worked
from sunpantry.match.load_measures import (
    MAINS,
    all_at_once_w,
    certain_peak_w,
    expected_peak_w,
    on_supply,
)
from sunpantry.match.sources import LABEL, PRACTICE
from sunpantry.match.waveform import modified_sine
from sunpantry.phrases import phrase

MAINS_TOLERANCE = 0.10


def wrong_input_voltage(case: Case) -> bool:
    """Whether the inverter is not made for the bank's voltage."""
    inverter = case.system.inverter
    return inverter is not None and voltage_class(inverter.input_v) != case.system.bank_v


@rule(
    "inverter-input-voltage",
    asks="Is the inverter made for the bank's voltage?",
    limit="input voltage of the label is of the bank's class",
    source=LABEL,
    worst=Severity.DANGER,
    breaks=wrong_input_voltage,
)
def inverter_input_voltage(case: Case) -> Said:
    """Too many volts destroy it, too few do not start it."""
    inverter = case.system.inverter
    if inverter is None or not wrong_input_voltage(case):
        return
    high = case.system.bank_v > inverter.input_v
    yield Finding(
        Severity.DANGER if high else Severity.WILL_NOT_WORK,
        phrase(
            "The inverter is made for {input_v:g} V; a {bank_v:g} V bank ",
            input_v=inverter.input_v,
            bank_v=case.system.bank_v,
        )
        + (phrase("would destroy it.") if high else phrase("does not start it.")),
        ("inverter", "battery"),
        limit=Given("bank voltage", case.system.bank_v, "V"),
        options=tuple(
            other_inverter(
                case,
                phrase("Take an inverter for a {bank_v:g} V bank.", bank_v=case.system.bank_v),
                relation="is",
                input_v=case.system.bank_v,
            )
        ),
    )


def _output_off(case: Case) -> float:
    """Output voltage over what the appliances want, less one [-]; 0 when nobody asks."""
    inverter = case.system.inverter
    if inverter is None or not (case.whole or on_supply(case, MAINS)):
        return 0.0
    return inverter.output_v / case.mains_v - 1.0


def wrong_output_voltage(case: Case) -> bool:
    """Whether the inverter gives another voltage than the appliances want."""
    return abs(_output_off(case)) > MAINS_TOLERANCE


@rule(
    "inverter-output-voltage",
    asks="Does the inverter give the voltage that the appliances want?",
    limit="within 10 % of the voltage of the place",
    source=LABEL,
    worst=Severity.DANGER,
    breaks=wrong_output_voltage,
)
def inverter_output_voltage(case: Case) -> Said:
    """230 V burns a 120 V appliance."""
    inverter = case.system.inverter
    if inverter is None or not wrong_output_voltage(case):
        return
    high = _output_off(case) > 0.0
    yield Finding(
        Severity.DANGER if high else Severity.WILL_NOT_WORK,
        phrase(
            "The inverter gives {output_v:g} V; the appliances want {mains_v:g} V",
            output_v=inverter.output_v,
            mains_v=case.mains_v,
        )
        + (phrase(" and would burn.") if high else "."),
        ("inverter", "loads"),
        limit=Given("voltage the appliances want", case.mains_v, "V"),
        options=tuple(
            other_inverter(
                case,
                phrase("Take an inverter that gives {mains_v:g} V.", mains_v=case.mains_v),
                relation="is",
                output_v=case.mains_v,
            )
        ),
    )


def inverter_too_small(case: Case) -> bool:
    """Whether a load, or what is certainly asked at once, exceeds the inverter's rating."""
    inverter = case.system.inverter
    return inverter is not None and certain_peak_w(case, MAINS) > inverter.rated_w


@rule(
    "inverter-rating",
    asks="Does the inverter carry what runs at once?",
    limit="largest load, and the known simultaneous power, ≤ continuous rating",
    source=LABEL,
    worst=Severity.WILL_NOT_WORK,
    breaks=inverter_too_small,
)
def inverter_rating(case: Case) -> Said:
    """Above its rating an inverter switches off."""
    inverter = case.system.inverter
    certain_w, all_w = certain_peak_w(case, MAINS), all_at_once_w(case, MAINS)
    if inverter is None or max(certain_w, all_w) <= 0.0:
        return
    known = case.peak_w(MAINS) is not None
    if certain_w > inverter.rated_w:
        severity = Severity.WILL_NOT_WORK
        words = phrase(
            "{certain_w:.0f} W are asked at once; the inverter carries {rated_w:g} W.",
            certain_w=certain_w,
            rated_w=inverter.rated_w,
        )
    elif all_w > inverter.rated_w:
        severity = Severity.WORTH_KNOWING if known else Severity.WILL_DISAPPOINT
        words = phrase(
            "All mains appliances together would draw {all_w:.0f} W; the inverter carries "
            "{rated_w:g} W. They must not all run at once.",
            all_w=all_w,
            rated_w=inverter.rated_w,
        )
    else:
        severity = Severity.FINE
        words = phrase(
            "The inverter carries all mains appliances together ({all_w:.0f} W).", all_w=all_w
        )
    wanted_w = max(certain_w, all_w)
    yield Finding(
        severity,
        words,
        ("inverter", "loads"),
        (
            worked(
                "mains power of all appliances together",
                all_w,
                "W",
                "sum of power × quantity",
                LABEL,
                ("certainly asked at once", certain_w, "W"),
                *((load.name, load.all_w, "W") for load in on_supply(case, MAINS)),
            ),
        ),
        Given("continuous rating of the inverter", inverter.rated_w, "W"),
        options=(
            *other_inverter(
                case,
                phrase("Take an inverter of at least {wanted_w:.0f} W.", wanted_w=wanted_w),
                rated_w=wanted_w,
                surge_w=max(inverter.surge_w, 2.0 * wanted_w),
            ),
        )
        if severity < Severity.FINE
        else (),
    )


def start_alone_w(case: Case) -> float:
    """Highest draw of one mains load as it starts, nothing else running [W]."""
    return max((load.start_w for load in on_supply(case, MAINS)), default=0.0)


def start_with_others_w(case: Case) -> float:
    """Highest draw when one load starts while the others run [W]."""
    running_w = expected_peak_w(case, MAINS)
    return max(
        (load.start_w + max(0.0, running_w - load.power_w) for load in on_supply(case, MAINS)),
        default=0.0,
    )


def surge_too_small(case: Case) -> bool:
    """Whether a single load starts harder than the inverter can take."""
    inverter = case.system.inverter
    return inverter is not None and start_alone_w(case) > inverter.surge_w


def _starts(loads: Iterable[LoadFacts]) -> list[tuple[str, float, str]]:
    return [(phrase("{name}, starting", name=load.name), load.start_w, "W") for load in loads]


@rule(
    "inverter-surge",
    asks="Can the inverter start the hardest-starting load?",
    limit="starting power, with the others running, ≤ surge rating",
    source=phrase(
        "{label}; starting 5-8 × for compressors and pumps is {practice}",
        label=LABEL,
        practice=PRACTICE,
    ),
    worst=Severity.WILL_NOT_WORK,
    breaks=surge_too_small,
)
def inverter_surge(case: Case) -> Said:
    """Motors draw several times their power for a moment."""
    inverter, loads = case.system.inverter, on_supply(case, MAINS)
    if inverter is None or not loads:
        return
    hardest, surge_w = max(loads, key=lambda load: load.start_w), inverter.surge_w
    together_w = start_with_others_w(case)
    if hardest.start_w > surge_w:
        severity = Severity.WILL_NOT_WORK
        words = phrase(
            "{name} draws {start_w:.0f} W as it starts; the inverter gives {surge_w:g} W for a "
            "moment.",
            name=hardest.name,
            start_w=hardest.start_w,
            surge_w=inverter.surge_w,
        )
    elif together_w > inverter.surge_w:
        severity = Severity.WILL_DISAPPOINT
        words = phrase(
            "A load that starts while the others run makes {together_w:.0f} W; the inverter "
            "gives {surge_w:g} W for a moment and may switch off.",
            together_w=together_w,
            surge_w=inverter.surge_w,
        )
    else:
        severity = Severity.FINE
        words = phrase(
            "Even the hardest start ({together_w:.0f} W) is within the inverter's surge.",
            together_w=together_w,
        )
    wanted_w = max(hardest.start_w, together_w)
    yield Finding(
        severity,
        words,
        ("inverter", "loads"),
        (
            worked(
                "highest draw as a load starts",
                together_w,
                "W",
                "starting power of one load + power of the others that may run",
                PRACTICE,
                ("power asked at once", expected_peak_w(case, MAINS), "W"),
                *_starts(loads),
            ),
        ),
        Given("surge rating of the inverter", inverter.surge_w, "W"),
        options=tuple(
            other_inverter(
                case,
                phrase(
                    "Take an inverter that gives at least {wanted_w:.0f} W for a moment.",
                    wanted_w=wanted_w,
                ),
                surge_w=wanted_w,
            )
        )
        if severity < Severity.FINE
        else (),
    )


def overloads_load_output(case: Case) -> bool:
    """Whether an inverter on the controller's load terminals can draw more than these carry."""
    inverter, controller = case.system.inverter, case.system.controller
    if inverter is None or controller is None or case.choices.inverter_fed_from != "load output":
        return False
    return _inverter_input_a(case) > controller.load_output_a * case.system.controller_count


def _inverter_input_a(case: Case) -> float:
    inverter = case.system.inverter
    if inverter is None:
        return 0.0
    efficiency = max(inverter.rated_efficiency_pct, 1.0) / 100.0
    return inverter.rated_w / efficiency / (inverter.cutoff_v * case.scale)


@rule(
    "inverter-on-load-output",
    asks="Is the inverter on the controller's load terminals?",
    limit="an inverter belongs on the battery, with its own fuse",
    source=PRACTICE,
    worst=Severity.DANGER,
    breaks=overloads_load_output,
)
def inverter_on_load_output(case: Case) -> Said:
    """The rush into an inverter's capacitors and its full load burn the load terminals."""
    controller = case.system.controller
    fed_there = case.choices.inverter_fed_from == "load output"
    if case.system.inverter is None or controller is None or not fed_there:
        return
    amps = _inverter_input_a(case)
    over = overloads_load_output(case)
    yield Finding(
        Severity.DANGER if over else Severity.WILL_DISAPPOINT,
        phrase(
            "At its full power the inverter draws {amps:.0f} A; the controller's load terminals "
            "carry {load_output_a:g} A",
            amps=amps,
            load_output_a=controller.load_output_a,
        )
        + (
            phrase(" and would burn.")
            if over
            else phrase(", but its inrush may still trip or harm them.")
        ),
        ("inverter", "controller"),
        (
            worked(
                "current of the inverter at full power",
                amps,
                "A",
                "rated power / efficiency / cut-off voltage",
                LABEL,
                ("rated power", case.system.inverter.rated_w, "W"),
                ("efficiency", case.system.inverter.rated_efficiency_pct, "%"),
                ("cut-off voltage", case.system.inverter.cutoff_v * case.scale, "V"),
            ),
        ),
        Given("current of the load terminals", controller.load_output_a, "A"),
        options=(
            Remedy(
                phrase(
                    "Connect the inverter straight to the battery, with its own fuse and short, "
                    "thick cables."
                ),
                case.chosen(inverter_fed_from="battery"),
            ),
        ),
    )


RULES = (
    inverter_input_voltage,
    inverter_output_voltage,
    inverter_rating,
    inverter_surge,
    modified_sine,
    inverter_on_load_output,
)
