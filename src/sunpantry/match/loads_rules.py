"""The loads: is the voltage they want there, and is it strong enough."""

from __future__ import annotations

from collections.abc import Iterator

from sunpantry.design.nameplates import ConverterNameplate, InverterNameplate
from sunpantry.figures import Given
from sunpantry.match.bank_measures import highest_bank_v
from sunpantry.match.case import Case
from sunpantry.match.changes import HIGHEST_V, needs_of, relabel
from sunpantry.match.finding import Finding, Remedy, Said, Severity, rule
from sunpantry.match.load_measures import (
    MAINS,
    USB,
    VOLTS,
    all_at_once_w,
    certain_peak_w,
    converters_giving,
    is_reached,
    on_supply,
)
from sunpantry.match.sources import LABEL
from sunpantry.phrases import phrase


def unreached(case: Case) -> tuple[str, ...]:
    """Supplies that loads want and the system, or the parts asked about, do not offer."""
    wanted = dict.fromkeys(load.supply for load in case.loads)
    return tuple(supply for supply in wanted if not is_reached(case, supply))


@rule(
    "supply-missing",
    asks="Does the system offer every voltage that the loads want?",
    limit="the bank's own voltage, a converter, or an inverter for mains",
    source=LABEL,
    worst=Severity.WILL_NOT_WORK,
    breaks=lambda case: case.whole and bool(unreached(case)),
)
def supply_missing(case: Case) -> Said:
    """A 24 V lamp does not light on 12 V."""
    nothing = phrase("Nothing in the system gives") if case.whole else phrase("No part here gives")
    for supply in unreached(case):
        loads = on_supply(case, supply)
        names = ", ".join(load.name for load in loads)
        wants = phrase("mains voltage") if supply == MAINS else supply
        yield Finding(
            Severity.WILL_NOT_WORK if case.whole else Severity.WORTH_KNOWING,
            phrase(
                "{nothing} {wants}, which {names} needs.",
                nothing=nothing,
                wants=wants,
                names=names,
            )
            if len(loads) == 1
            else phrase(
                "{nothing} {wants}, which {names} need.",
                nothing=nothing,
                wants=wants,
                names=names,
            ),
            ("loads", supply),
            options=tuple(supplied(case, supply)),
        )


def supplied(case: Case, supply: str) -> Iterator[Remedy]:
    if supply == MAINS:
        rated_w = max(all_at_once_w(case, MAINS), 1.0)
        surge_w = max(2.0 * rated_w, *(load.start_w for load in on_supply(case, MAINS)))
        inverter = InverterNameplate(
            name=f"a sine inverter of {rated_w:.0f} W",
            rated_w=rated_w,
            surge_w=surge_w,
            input_v=case.system.bank_v,
            output_v=case.mains_v,
            idle_w=0.01 * rated_w,
        )
        yield Remedy(
            phrase(
                "Add a sine inverter of at least {rated_w:.0f} W for a {bank_v:g} V bank.",
                rated_w=rated_w,
                bank_v=case.system.bank_v,
            ),
            case.changed(inverter=inverter),
            needs_of("inverter", "at least", rated_w=rated_w, surge_w=surge_w),
        )
    elif supply in VOLTS:
        watts = max(all_at_once_w(case, supply), 1.0)
        converter = ConverterNameplate(
            name=f"a converter to {supply}, {watts:.0f} W",
            input_min_v=0.8 * case.system.bank_v,
            input_max_v=min(1.1 * max(highest_bank_v(case), case.system.bank_v), HIGHEST_V),
            output_v=VOLTS[supply],
            rated_w=watts,
        )
        yield Remedy(
            phrase(
                "Add a converter from {bank_v:g} V to {supply} of at least {watts:.0f} W.",
                bank_v=case.system.bank_v,
                supply=supply,
                watts=watts,
            ),
            case.changed(converters=(*case.system.converters, converter)),
            needs_of("converter", "at least", rated_w=watts),
        )


def _outside(case: Case, converter: ConverterNameplate) -> bool:
    if case.system.bank is None:
        return not converter.input_min_v <= case.system.bank_v <= converter.input_max_v
    high_v = highest_bank_v(case) > converter.input_max_v
    return high_v or case.system.bank_v < converter.input_min_v


def wrong_converter_input(case: Case) -> bool:
    """Whether the bank's voltage leaves the range a converter is made for."""
    return any(_outside(case, converter) for converter in case.system.converters)


@rule(
    "converter-input",
    asks="Does the bank stay inside the input range of each converter?",
    limit="bank voltage, and the highest charge voltage in the cold, inside the label's range",
    source=LABEL,
    worst=Severity.DANGER,
    breaks=wrong_converter_input,
)
def converter_input(case: Case) -> Said:
    """A charging bank stands well above its nominal voltage."""
    high_v = (
        max(highest_bank_v(case), case.system.bank_v) if case.system.bank else case.system.bank_v
    )
    for index, converter in enumerate(case.system.converters):
        if not _outside(case, converter):
            continue
        too_high = high_v > converter.input_max_v
        wider = relabel(
            converter,
            input_max_v=max(converter.input_max_v, high_v),
            input_min_v=min(converter.input_min_v, case.system.bank_v),
        )
        others = case.system.converters
        yield Finding(
            Severity.DANGER if too_high else Severity.WILL_NOT_WORK,
            phrase(
                "{name} is made for {input_min_v:g} to {input_max_v:g} V; this bank gives "
                "{bank_v:g} V and up to {high_v:.1f} V while it charges.",
                name=converter.name,
                input_min_v=converter.input_min_v,
                input_max_v=converter.input_max_v,
                bank_v=case.system.bank_v,
                high_v=high_v,
            ),
            ("converter", converter.name),
            limit=Given("highest input voltage", converter.input_max_v, "V"),
            options=(
                Remedy(
                    phrase(
                        "Take one made for {bank_v:g} V banks, up to {high_v:.1f} V.",
                        bank_v=case.system.bank_v,
                        high_v=high_v,
                    ),
                    case.changed(converters=(*others[:index], wider, *others[index + 1 :])),
                    needs_of("converter", "at least", input_max_v=high_v),
                ),
            ),
        )


def _converted(case: Case) -> tuple[str, ...]:
    """Supplies that only converters give, USB apart."""
    own = {supply for supply, volts in VOLTS.items() if volts == case.system.bank_v}
    return tuple(supply for supply in VOLTS if supply not in own and supply != USB)


def converter_too_small(case: Case) -> bool:
    """Whether what is certainly asked at once exceeds all converters of that voltage."""
    for supply in _converted(case):
        given = converters_giving(case, supply)
        if given and certain_peak_w(case, supply) > sum(one.rated_w for one in given):
            return True
    return False


@rule(
    "converter-rating",
    asks="Do the converters carry what runs at once?",
    limit="largest load, and the known simultaneous power, ≤ rating",
    source=LABEL,
    worst=Severity.WILL_NOT_WORK,
    breaks=converter_too_small,
)
def converter_rating(case: Case) -> Said:
    """Above its rating a converter switches off."""
    for supply in _converted(case):
        given = converters_giving(case, supply)
        certain_w, all_w = certain_peak_w(case, supply), all_at_once_w(case, supply)
        if not given or max(certain_w, all_w) <= 0.0:
            continue
        rated_w = sum(one.rated_w for one in given)
        severity = Severity.FINE
        if certain_w > rated_w:
            severity = Severity.WILL_NOT_WORK
        elif all_w > rated_w:
            severity = Severity.WORTH_KNOWING
        yield Finding(
            severity,
            phrase(
                "The {supply} loads together draw {all_w:.0f} W, at least {certain_w:.0f} W at "
                "once; the converters give {rated_w:.0f} W.",
                supply=supply,
                all_w=all_w,
                certain_w=certain_w,
                rated_w=rated_w,
            ),
            ("converter", supply),
            limit=Given("rating of the converters", rated_w, "W"),
            options=stronger(case, given, supply) if severity < Severity.FINE else (),
        )


def stronger(case: Case, given: tuple[ConverterNameplate, ...], supply: str) -> tuple[Remedy, ...]:
    """Option: another converter of that voltage, large enough for all loads."""
    needed_w = max(all_at_once_w(case, supply), certain_peak_w(case, supply))
    rest = tuple(one for one in case.system.converters if one not in given)
    larger = relabel(given[0], rated_w=needed_w)
    return (
        Remedy(
            phrase(
                "Take a converter of at least {needed_w:.0f} W for {supply}.",
                needed_w=needed_w,
                supply=supply,
            ),
            case.changed(converters=(*rest, larger)),
            needs_of("converter", "at least", rated_w=needed_w),
        ),
    )


RULES = (supply_missing, converter_input, converter_rating)
