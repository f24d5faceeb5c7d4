"""What is drawn from the bank: too much current, or too little to keep it awake."""

from __future__ import annotations

from sunpantry.figures import Given
from sunpantry.match.bank_measures import max_discharge_a
from sunpantry.match.case import Case, LoadFacts
from sunpantry.match.changes import relabel, words_for
from sunpantry.match.finding import Finding, Need, Remedy, Said, Severity, rule, worked
from sunpantry.match.load_measures import (
    MAINS,
    bank_current_a,
    certain_peak_w,
    direct_current_loads,
    low_bank_v,
)
from sunpantry.match.sources import LABEL, PRACTICE
from sunpantry.phrases import joined, phrase


def load_current_a(case: Case) -> float:
    """Current that the loads certainly draw from the bank at once [A]."""
    supplies = {load.supply for load in case.loads}
    return max(
        (bank_current_a(case, certain_peak_w(case, supply), supply) for supply in supplies),
        default=0.0,
    )


def discharges_too_fast(case: Case) -> bool:
    """Whether the loads draw more than the battery's label allows."""
    bank = case.system.bank
    if bank is None or bank.battery.max_discharge_a is None:
        return False
    return load_current_a(case) > max_discharge_a(bank)


@rule(
    "discharge-current",
    asks="Can the battery give the current that the loads and the inverter want?",
    limit="current ≤ the label's limit; without one, the usual rate of the chemistry",
    source=phrase("{label}; usual rates are {practice}", label=LABEL, practice=PRACTICE),
    worst=Severity.WILL_NOT_WORK,
    breaks=discharges_too_fast,
)
def discharge_current(case: Case) -> Said:
    """Beyond its limit a lithium battery switches off; lead-acid sags."""
    bank, inverter = case.system.bank, case.system.inverter
    if bank is None:
        return
    limit_a, amps = max_discharge_a(bank), load_current_a(case)
    full_a = 0.0
    if inverter is not None:
        full_a = bank_current_a(case, inverter.rated_w, MAINS)
    if amps > limit_a:
        printed = bank.battery.max_discharge_a is not None
        severity = Severity.WILL_NOT_WORK if printed else Severity.WILL_DISAPPOINT
        words = phrase(
            "The loads draw {amps:.0f} A; the battery may give {limit_a:.0f} A.",
            amps=amps,
            limit_a=limit_a,
        )
    elif full_a > limit_a:
        severity = Severity.WORTH_KNOWING
        words = phrase(
            "At its full {rated_w:.0f} W the inverter would draw {full_a:.0f} A; the battery may "
            "give {limit_a:.0f} A.",
            rated_w=inverter.rated_w if inverter else 0,
            full_a=full_a,
            limit_a=limit_a,
        ) + (phrase(" The loads planned here draw {amps:.0f} A.", amps=amps) if amps > 0.0 else "")
    else:
        severity = Severity.FINE
        words = phrase(
            "The battery may give {limit_a:.0f} A, more than is asked of it.", limit_a=limit_a
        )
    needed = max(amps, full_a) / (limit_a / bank.parallel)
    parallel = bank.parallel if severity is Severity.FINE else int(needed) + 1
    total = words_for(parallel * bank.series, "battery")
    yield Finding(
        severity,
        words,
        ("battery", "inverter") if inverter is not None else ("battery",),
        (
            worked(
                "highest current drawn from the bank",
                max(amps, full_a),
                "A",
                "power / efficiency / voltage of a nearly empty bank",
                LABEL,
                ("voltage of a nearly empty bank", low_bank_v(case), "V"),
                ("current of the loads", amps, "A"),
                ("current of the inverter at its rating", full_a, "A"),
            ),
        ),
        Given("highest discharge current", limit_a, "A"),
        options=(
            Remedy(
                phrase("Use {total} instead of {count}.", total=total, count=bank.count),
                case.with_bank(parallel=parallel),
            ),
        )
        if severity < Severity.FINE
        else (),
    )


def least_draw(case: Case) -> tuple[str, float]:
    """What keeps a power bank awake at the quietest: whose draw, and how much [W].

    Loads that run day and night draw together; without any, the smallest by itself.
    """
    loads = direct_current_loads(case)
    steady = [load for load in loads if _never_stops(load)]
    if not steady:
        least = min(loads, key=lambda load: load.all_w)
        return least.name, least.all_w
    names = joined([load.name for load in steady], ", ", last=phrase(" and "))
    return names, sum(load.all_w for load in steady)


def _never_stops(load: LoadFacts) -> bool:
    return bool(load.energy_wh_day) and min(load.energy_wh_day) >= 0.999 * 24.0 * load.all_w


def stays_awake(case: Case) -> bool:
    """Whether the smallest draw keeps a power bank switched on."""
    bank = case.system.bank
    if bank is None or bank.battery.auto_off_a <= 0.0 or not direct_current_loads(case):
        return True
    return least_draw(case)[1] / 5.0 >= bank.battery.auto_off_a


@rule(
    "power-bank-sleeps",
    asks="Does a power bank stay on with so small a load?",
    limit="current of the smallest load ≥ the current below which it switches off",
    source=LABEL,
    worst=Severity.WILL_NOT_WORK,
    breaks=lambda case: not stays_awake(case),
)
def power_bank_sleeps(case: Case) -> Said:
    """Power banks take a small load for none and switch off."""
    bank = case.system.bank
    if bank is None or stays_awake(case):
        return
    names, least_w = least_draw(case)
    yield Finding(
        Severity.WILL_NOT_WORK,
        phrase(
            "{name} draws {all_w:.0f} mA; the power bank switches itself off below "
            "{auto_off_a:.0f} mA.",
            name=names,
            all_w=least_w / 5.0 * 1000,
            auto_off_a=bank.battery.auto_off_a * 1000,
        ),
        ("battery", names),
        limit=Given("current that keeps it on", bank.battery.auto_off_a, "A"),
        options=(
            Remedy(
                phrase(
                    "Take a power bank that stays on with small loads (an 'always on' setting)."
                ),
                case.with_bank(battery=relabel(bank.battery, auto_off_a=0.0)),
                (Need("battery", "auto_off_a", "at most", least_w / 5.0),),
            ),
        ),
    )


RULES = (discharge_current, power_bank_sleeps)
