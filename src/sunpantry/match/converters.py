"""Converters that nobody asked for: put in by the plan, or fed for nothing."""

from __future__ import annotations

from sunpantry.design.kit import voltage_class
from sunpantry.design.nameplates import ConverterNameplate
from sunpantry.match.case import Case
from sunpantry.match.finding import Finding, Remedy, Said, Severity, rule, worked
from sunpantry.match.load_measures import VOLTS, on_supply
from sunpantry.match.sources import LABEL
from sunpantry.phrases import joined, phrase


def fed_by(case: Case, converter: ConverterNameplate) -> tuple[str, ...]:
    """Names of the loads that want the voltage a converter gives, where the bank has another."""
    output_v = voltage_class(converter.output_v)
    if output_v is None or output_v == case.system.bank_v:
        return ()
    supplies = [supply for supply, volts in VOLTS.items() if volts == output_v]
    return tuple(load.name for supply in supplies for load in on_supply(case, supply))


@rule(
    "converter-unused",
    asks="Does every converter feed something?",
    limit="a load that wants the voltage it gives",
    source=LABEL,
    worst=Severity.WORTH_KNOWING,
)
def converter_unused(case: Case) -> Said:
    """A converter draws a little day and night, whether anything is plugged in or not."""
    if not case.whole or not case.loads:
        return
    others = case.system.converters
    for index, converter in enumerate(others):
        if fed_by(case, converter):
            continue
        yield Finding(
            Severity.WORTH_KNOWING,
            phrase(
                "{name} feeds no load here, and draws {idle_w:.2g} W day and night.",
                name=converter.name,
                idle_w=converter.idle_w,
            ),
            ("converter", converter.name),
            (
                worked(
                    phrase("energy that {name} takes for nothing", name=converter.name),
                    24.0 * converter.idle_w,
                    "Wh/day",
                    "idle draw × 24 h",
                    LABEL,
                    ("idle draw", converter.idle_w, "W"),
                ),
            ),
            options=(
                Remedy(
                    phrase("Leave it out, or unplug it while nothing needs it."),
                    case.changed(converters=(*others[:index], *others[index + 1 :])),
                ),
            ),
        )


@rule(
    "converter-added",
    asks="Has the plan put a converter in that the design does not name?",
    limit="converters named in the design",
    source=LABEL,
    worst=Severity.WORTH_KNOWING,
)
def converter_added(case: Case) -> Said:
    """A load on another voltage than the battery's needs a part that is easily forgotten."""
    named = case.choices.converters_named
    if named is None:
        return
    folded = {one.strip().casefold() for one in named}
    for converter in dict.fromkeys(case.system.converters):
        names = fed_by(case, converter)
        if converter.name.casefold() in folded or not names:
            continue
        yield Finding(
            Severity.WORTH_KNOWING,
            phrase(
                "{loads} cannot hang on the {bank_v:g} V of the battery: the plan puts in a part "
                "for it, {name}. It passes {efficiency_pct:.0f}% on and draws {idle_w:.2g} W day "
                "and night.",
                loads=joined(names, ", ", last=phrase(" and ")),
                bank_v=case.system.bank_v,
                name=converter.name,
                efficiency_pct=converter.efficiency_pct,
                idle_w=converter.idle_w,
            ),
            ("converter", converter.name),
            options=(
                Remedy(
                    phrase("Name it among the converters of the design, or one of your own."),
                    case.chosen(converters_named=(*named, converter.name)),
                ),
            ),
        )


RULES = (converter_unused, converter_added)
