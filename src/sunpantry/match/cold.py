"""Cold batteries: lithium that may not be charged, acid that freezes."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import replace

from sunpantry.figures import Given
from sunpantry.match.bank_measures import (
    HOUSING_NAMES,
    KIND_WORDS,
    coldest_battery_c,
    constants,
    housed_coldest_c,
    is_lead,
    least_charge_c,
)
from sunpantry.match.case import Case, ProofFacts
from sunpantry.match.changes import relabel
from sunpantry.match.finding import Finding, Need, Remedy, Said, Severity, rule, worked
from sunpantry.match.sources import FREEZING, LITHIUM
from sunpantry.parts.system import Bank
from sunpantry.phrases import Phrase, phrase
from sunpantry.physics.electrolyte import freezing_point_c

HOUSINGS_WARMER = ("buried", "house")
HOUSING_WORDS = {
    "buried": phrase("Bury the battery's box below the frost, drained and within reach"),
    "house": phrase("Keep the battery indoors"),
}


def warmer_places(case: Case) -> Iterator[Remedy]:
    """Options: a warmer place, with the cold it would see there estimated."""
    bank = case.system.bank
    if bank is None:
        return
    for housing in HOUSINGS_WARMER:
        there_c = housed_coldest_c(case.coldest_c, housing)
        here_c = coldest_battery_c(case)
        if housing == bank.housing or there_c <= here_c:
            continue
        changed = case.with_bank(housing=housing)
        if case.proof is not None:
            changed = replace(changed, proof=_warmed(case.proof, there_c))
        yield Remedy(
            phrase(
                "{place}: about {there_c:.0f} °C at its coldest.",
                place=HOUSING_WORDS[housing],
                there_c=there_c,
            ),
            changed,
        )


def _warmed(proof: ProofFacts, least_c: float) -> ProofFacts:
    return replace(
        proof,
        coldest_battery_c=max(proof.coldest_battery_c or least_c, least_c),
        coldest_below=tuple((soc, max(temp, least_c)) for soc, temp in proof.coldest_below),
        refused_cold_h_per_year=None,
    )


def _heated(case: Case, bank: Bank) -> Remedy:
    heater_w = 0.5 * bank.battery.capacity_ah
    return Remedy(
        phrase("Take a battery with a heater (about {heater_w:.0f} W).", heater_w=heater_w),
        case.with_bank(battery=relabel(bank.battery, heater_w=heater_w)),
        (Need("battery", "heater_w", "at least", heater_w),),
    )


def _is_warmed(coldest_c: float) -> Phrase:
    return phrase(
        "Its heater lets it charge though it gets as cold as {coldest_c:.0f} °C; the warmth "
        "costs energy when there is least of it.",
        coldest_c=coldest_c,
    )


def _refuses(coldest_c: float, least_c: float, told: str) -> Phrase:
    return phrase(
        "The battery gets as cold as {coldest_c:.0f} °C; below {least_c:.0f} °C it must not "
        "be charged, and one without protection is spoilt by it.{told}",
        coldest_c=coldest_c,
        least_c=least_c,
        told=told,
    )


@rule(
    "lithium-in-the-cold",
    asks="Is a lithium battery kept warm enough to be charged?",
    limit="0 °C to charge (or the label), −20 °C to discharge",
    source=LITHIUM,
    worst=Severity.WILL_DISAPPOINT,
)
def lithium_in_the_cold(case: Case) -> Said:
    """Below freezing lithium plates out on charge; the protection refuses it."""
    bank = case.system.bank
    if bank is None or is_lead(case):
        return
    coldest_c, least_c = coldest_battery_c(case), least_charge_c(bank)
    gives_from_c = constants(bank).min_discharge_c
    hours = None if case.proof is None else case.proof.refused_cold_h_per_year
    heated = bank.battery.heater_w > 0.0
    told: str = ""
    if hours is not None:
        told = phrase(" That happens in {hours:.0f} hours a year.", hours=hours)
    if coldest_c >= least_c:
        severity = Severity.FINE
        words = phrase(
            "The battery stays at {coldest_c:.0f} °C or warmer and may always be charged.",
            coldest_c=coldest_c,
        )
    else:
        # Of parts on a table it is not known where the battery will stand.
        severity = Severity.WILL_DISAPPOINT if case.whole else Severity.WORTH_KNOWING
        if heated and coldest_c >= gives_from_c:
            severity = Severity.WORTH_KNOWING
        words = _refuses(coldest_c, least_c, told) if not heated else _is_warmed(coldest_c)
        if coldest_c < gives_from_c:
            words += phrase(
                " Below {least_discharge_c:.0f} °C it gives nothing at all.",
                least_discharge_c=gives_from_c,
            )
    options = tuple(warmer_places(case)) if severity < Severity.FINE else ()
    if severity < Severity.FINE and not heated:
        options += (_heated(case, bank),)
    yield Finding(
        severity,
        words,
        ("battery",),
        (
            worked(
                "coldest temperature of the battery",
                coldest_c,
                "°C",
                "simulated, or estimated from the coldest air and the housing",
                LITHIUM,
                ("coldest air of a usual year", case.coldest_c, "°C"),
                ("housing", HOUSING_NAMES[bank.housing], ""),
            ),
        ),
        Given("coldest to charge", least_c, "°C"),
        options=options,
    )


def frost_margin(proof: ProofFacts) -> tuple[float, float, float] | None:
    """Where a simulated lead-acid bank came nearest to freezing.

    Parameters
    ----------
    proof : ProofFacts
        With ``coldest_below``.

    Returns
    -------
    tuple of float or None
        State of charge [-], temperature then [°C], freezing point there [°C]; the first is
        the lower edge of the band the cold was met in. ``None`` when not known.
    """
    nearest = None
    lower, colder_c = proof.lowest_soc or 0.0, float("inf")
    for soc, coldest_c in sorted(proof.coldest_below):
        if soc > lower and coldest_c < colder_c:
            freezes_c = float(freezing_point_c(lower))
            if nearest is None or coldest_c - freezes_c < nearest[1] - nearest[2]:
                nearest = (lower, coldest_c, freezes_c)
            colder_c = coldest_c
        lower = max(lower, soc)
    return nearest


def freezes(case: Case) -> bool:
    """Whether the simulated winters freeze the acid."""
    if case.proof is None or not is_lead(case):
        return False
    margin = frost_margin(case.proof)
    return margin is not None and margin[1] <= margin[2]


def _frost_words(case: Case) -> tuple[Severity, str, float, float, float]:
    """How bad, what to say; charge, temperature and freezing point it is said of."""
    margin = None if case.proof is None else frost_margin(case.proof)
    if margin is not None:
        soc, coldest_c, freezes_c = margin
        if coldest_c <= freezes_c:
            severity = Severity.DANGER
            words = phrase(
                "In the hardest winters the battery is as low as {soc:.0%} at {coldest_c:.0f} °C; "
                "its acid freezes at {freezes_c:.0f} °C then, and ice bursts the case.",
                soc=soc,
                coldest_c=coldest_c,
                freezes_c=freezes_c,
            )
        else:
            severity = Severity.FINE
            words = phrase(
                "The acid comes no nearer to freezing than {margin_k:.0f} degrees (at {soc:.0%} "
                "charge it freezes at {freezes_c:.0f} °C).",
                margin_k=coldest_c - freezes_c,
                soc=soc,
                freezes_c=freezes_c,
            )
    else:
        soc, coldest_c = 0.0, coldest_battery_c(case)
        freezes_c = float(freezing_point_c(soc))
        if coldest_c > freezes_c:
            severity = Severity.FINE
            words = phrase(
                "Even empty, the acid freezes only at {freezes_c:.0f} °C; the battery stays at "
                "{coldest_c:.0f} °C or warmer.",
                freezes_c=freezes_c,
                coldest_c=coldest_c,
            )
        else:
            severity = Severity.WORTH_KNOWING
            words = phrase(
                "Never leave this battery empty in frost: empty, its acid freezes at "
                "{freezes_c:.0f} °C, and it can be {coldest_c:.0f} °C there.",
                freezes_c=freezes_c,
                coldest_c=coldest_c,
            )
    return severity, words, soc, coldest_c, freezes_c


@rule(
    "freezing",
    asks="Can the acid freeze when the battery is low?",
    limit="battery warmer than the freezing point of its acid at that charge",
    source=FREEZING,
    worst=Severity.DANGER,
    breaks=freezes,
)
def freezing(case: Case) -> Said:
    """The emptier a lead-acid battery, the more its acid is water; ice bursts the case."""
    bank = case.system.bank
    if bank is None or not is_lead(case):
        return
    severity, words, soc, coldest_c, freezes_c = _frost_words(case)
    yield Finding(
        severity,
        words,
        ("battery",),
        (
            worked(
                "freezing point of the acid",
                freezes_c,
                "°C",
                "density of the acid at the state of charge, then its freezing point",
                FREEZING,
                ("state of charge", soc, ""),
                ("coldest temperature of the battery then", coldest_c, "°C"),
                ("kind of battery", KIND_WORDS[bank.battery.chemistry], ""),
            ),
        ),
        Given("coldest temperature of the battery", coldest_c, "°C"),
        options=tuple(warmer_places(case)) if severity < Severity.FINE else (),
    )


RULES = (lithium_in_the_cold, freezing)
