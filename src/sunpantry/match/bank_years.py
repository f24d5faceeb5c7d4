"""How the bank fares over the years: needs the simulated winters."""

from __future__ import annotations

from dataclasses import replace

from sunpantry.design.moments import MONTHS
from sunpantry.figures import Given
from sunpantry.match.bank_measures import constants, is_lead
from sunpantry.match.case import Case
from sunpantry.match.changes import relabel, words_for
from sunpantry.match.finding import Finding, Need, Remedy, Said, Severity, rule, worked
from sunpantry.match.sources import PRACTICE
from sunpantry.phrases import joined, phrase

# A shorter life than this disappoints, or is worth knowing [years]: a person's patience.
SHORT_LIFE_YEARS = 3.0
MODEST_LIFE_YEARS = 6.0
# Lead-acid wants to be quite full at least every 14 days, and not to stand below 40 % for
# more than a month of the year altogether (common practice, no source).
FULL_DAYS_A_MONTH = 2.0
LOW_HOURS_A_YEAR = 720.0
LITTLE_USED = 0.60


def expected_years(case: Case) -> float | None:
    """Years until the bank is worn out by its daily depth [years]; ``None``: not known."""
    bank = case.system.bank
    depth = None if case.proof is None else case.proof.typical_depth
    if bank is None or not depth:
        return None
    battery, chemistry = bank.battery, constants(bank)
    cycles, at_depth = chemistry.cycles_at_half, 0.5
    if battery.cycles is not None:
        cycles, at_depth = float(battery.cycles), battery.cycle_depth_pct / 100.0
    calendar = battery.calendar_life_years or chemistry.calendar_years
    worn_by_use: float = (
        cycles * (max(at_depth, 0.01) / max(depth, 0.001)) ** chemistry.depth_exponent / 365.0
    )
    return min(float(calendar), worn_by_use)


@rule(
    "depth-and-life",
    asks="How long does the battery live at the depth it is used?",
    limit="less than 3 years disappoints, less than 6 is worth knowing",
    source=phrase("cycles on the label, wear growing with depth; {practice}", practice=PRACTICE),
    worst=Severity.WILL_DISAPPOINT,
)
def depth_and_life(case: Case) -> Said:
    """Deep cycles cost life."""
    bank, years, proof = case.system.bank, expected_years(case), case.proof
    if bank is None or years is None or proof is None or not proof.typical_depth:
        return
    depth = proof.typical_depth
    if years < SHORT_LIFE_YEARS:
        severity = Severity.WILL_DISAPPOINT
    else:
        severity = Severity.WORTH_KNOWING if years < MODEST_LIFE_YEARS else Severity.FINE
    options = []
    for count in range(bank.parallel + 1, 4 * bank.parallel + 2):
        spread = replace(proof, typical_depth=depth * bank.parallel / count)
        changed = replace(case.with_bank(parallel=count), proof=spread)
        if severity < Severity.FINE and (expected_years(changed) or 0.0) >= MODEST_LIFE_YEARS:
            total = words_for(count * bank.series, "battery")
            options.append(
                Remedy(
                    phrase(
                        "Use {total} instead of {count}: each works less.",
                        total=total,
                        count=bank.count,
                    ),
                    changed,
                )
            )
            break
    yield Finding(
        severity,
        phrase(
            "A usual day takes {depth:.0%} out of the battery; at that depth it lasts about "
            "{years:.0f} years.",
            depth=depth,
            years=years,
        ),
        ("battery",),
        (
            worked(
                "years until the battery is worn out",
                years,
                "years",
                "cycles × (depth they are given for / depth used)^exponent / 365, at most the "
                "calendar life",
                PRACTICE,
                ("depth of a usual day", depth, ""),
                ("cycles on the label", bank.battery.cycles or "not given", ""),
                ("exponent", constants(bank).depth_exponent, ""),
            ),
        ),
        Given("life that is no disappointment", SHORT_LIFE_YEARS, "years"),
        options=tuple(options),
    )


def _as_lithium(case: Case) -> tuple[Remedy, ...]:
    """Option: a battery that does not mind standing part empty."""
    bank, controller = case.system.bank, case.system.controller
    if bank is None:
        return ()
    block_v = bank.battery.nominal_v * 12.8 / 12.0
    lithium = relabel(
        bank.battery,
        chemistry="lifepo4",
        nominal_v=block_v,
        absorption_v=None,
        float_v=None,
        cycles=None,
    )
    changed = case.with_bank(battery=lithium, owned=0, keep_proof=True)
    needs = [Need("battery", "chemistry", "is", "lifepo4")]
    if controller is not None and "lifepo4" not in controller.chemistries:
        kinds = (*controller.chemistries, "lifepo4")
        changed = changed.changed(
            keep_proof=True, controller=relabel(controller, chemistries=kinds)
        )
        needs.append(Need("controller", "chemistries", "is", "lifepo4"))
    return (
        Remedy(
            phrase(
                "Take LiFePO4 batteries of the same capacity, and a controller with a setting for "
                "them: they do not mind standing part empty."
            ),
            changed,
            tuple(needs),
        ),
    )


@rule(
    "seldom-full",
    asks="Does a lead-acid battery get full often enough in the dark months?",
    limit="full on at least 2 days of each month",
    source=PRACTICE,
    worst=Severity.WILL_DISAPPOINT,
)
def seldom_full(case: Case) -> Said:
    """Never quite full for weeks, lead-acid sulphates and loses capacity for good."""
    proof = case.proof
    if proof is None or not is_lead(case) or len(proof.full_days_by_month) != len(MONTHS):
        return
    poor = [
        (days, month)
        for days, month in zip(proof.full_days_by_month, MONTHS, strict=True)
        if days < FULL_DAYS_A_MONTH
    ]
    least = min(proof.full_days_by_month)
    if poor:
        listed = joined(month for _, month in poor)
        words = phrase(
            "In these months the battery gets quite full on fewer than {full_days_a_month:.0f} "
            "days: {listed}. Standing part empty it loses capacity for good: more panel, a "
            "steeper tilt for winter or a full charge from another source every fortnight helps.",
            full_days_a_month=FULL_DAYS_A_MONTH,
            listed=listed,
        )
    else:
        words = phrase(
            "Even in the darkest month the battery gets full on {least:.0f} days.", least=least
        )
    yield Finding(
        Severity.WILL_DISAPPOINT if poor else Severity.FINE,
        words,
        ("battery", "array"),
        limit=Given("least days full in a month", FULL_DAYS_A_MONTH, "days"),
        options=_as_lithium(case) if poor else (),
    )


@rule(
    "stands-low",
    asks="Does a lead-acid battery stand nearly empty for long?",
    limit="at most 720 hours a year below 40 %",
    source=PRACTICE,
    worst=Severity.WILL_DISAPPOINT,
)
def stands_low(case: Case) -> Said:
    """Standing low hardens the plates."""
    proof = case.proof
    if proof is None or not is_lead(case) or proof.hours_below_40_per_year is None:
        return
    hours = proof.hours_below_40_per_year
    low = hours > LOW_HOURS_A_YEAR
    yield Finding(
        Severity.WILL_DISAPPOINT if low else Severity.FINE,
        phrase("The battery stands below 40 % for {hours:.0f} hours a year", hours=hours)
        + (phrase(", which hardens its plates.") if low else "."),
        ("battery",),
        limit=Given("most hours below 40 %", LOW_HOURS_A_YEAR, "h"),
        options=_as_lithium(case) if low else (),
    )


@rule(
    "unused-sun",
    asks="How much of what the array could give finds no use?",
    limit="more than 60 % is worth knowing",
    source=PRACTICE,
    worst=Severity.WORTH_KNOWING,
)
def unused_sun(case: Case) -> Said:
    """A system made for winter has sun to spare in summer."""
    spilled = None if case.proof is None else case.proof.spilled_share
    if spilled is None:
        return
    much = spilled > LITTLE_USED
    yield Finding(
        Severity.WORTH_KNOWING if much else Severity.FINE,
        phrase(
            "Over the years {spilled:.0%} of what the array could give finds no use",
            spilled=spilled,
        )
        + (
            phrase(
                ": work that can wait for sun (tool batteries, washing, pumping) costs nothing "
                "here."
            )
            if much
            else "."
        ),
        ("array",),
        limit=Given("share without use", LITTLE_USED, ""),
    )


RULES = (depth_and_life, seldom_full, stands_low, unused_sun)
