"""The bank itself: voltage, number, age and kind of its batteries."""

from __future__ import annotations

from dataclasses import replace

from sunpantry.design.kit import voltage_class
from sunpantry.design.nameplates import BatteryNameplate
from sunpantry.figures import Given
from sunpantry.match.case import Case, Joined
from sunpantry.match.changes import relabel, words_for
from sunpantry.match.finding import Finding, Need, Remedy, Said, Severity, rule
from sunpantry.match.sources import LABEL, PRACTICE
from sunpantry.parts.system import Bank
from sunpantry.phrases import phrase

MOST_PARALLEL = 4
LIKE_CAPACITY = 0.10
WORN_PCT = 80.0


def makes_another_voltage(case: Case) -> bool:
    """Whether the batteries in series do not make the bank's voltage."""
    bank = case.system.bank
    if bank is None:
        return False
    if bank.battery.chemistry == "power_bank":
        return case.system.bank_v != 5.0 or bank.series != 1
    return voltage_class(bank.nominal_v) != case.system.bank_v


@rule(
    "bank-voltage",
    asks="Do the batteries in series make the bank's voltage?",
    limit="series × nominal voltage is of the bank's class",
    source=LABEL,
    worst=Severity.WILL_NOT_WORK,
    breaks=makes_another_voltage,
)
def bank_voltage(case: Case) -> Said:
    """Two 12 V batteries in series make 24 V."""
    bank = case.system.bank
    if bank is None or not makes_another_voltage(case):
        return
    yield Finding(
        Severity.WILL_NOT_WORK,
        phrase(
            "{series} × {nominal_v:g} V make {bank_nominal_v:g} V, not the {bank_v:g} V of the "
            "system.",
            series=bank.series,
            nominal_v=bank.battery.nominal_v,
            bank_nominal_v=bank.nominal_v,
            bank_v=case.system.bank_v,
        ),
        ("battery",),
        limit=Given("bank voltage", case.system.bank_v, "V"),
        options=_right_voltage(case, bank),
    )


def _right_voltage(case: Case, bank: Bank) -> tuple[Remedy, ...]:
    options = []
    if bank.battery.chemistry == "power_bank":
        return (
            Remedy(
                phrase("A power bank stands alone on the 5 V side."),
                case.changed(bank_v=5.0, bank=replace(bank, series=1)),
            ),
        )
    for series in range(1, 33):
        if voltage_class(series * bank.battery.nominal_v) == case.system.bank_v:
            whole = bank.count % series == 0
            parallel = bank.count // series if whole else bank.parallel
            changed = replace(bank, series=series, parallel=parallel, owned=0)
            count = words_for(changed.count, "battery")
            options.append(
                Remedy(
                    phrase("Use {count}, {series} in series.", count=count, series=series),
                    case.changed(bank=changed),
                )
            )
            break
    made_v = voltage_class(bank.nominal_v)
    if made_v is not None:
        options.append(
            Remedy(
                phrase("Make it a {made_v:g} V system.", made_v=made_v), case.changed(bank_v=made_v)
            )
        )
    return tuple(options)


@rule(
    "batteries-in-parallel",
    asks="Are too many batteries side by side?",
    limit="at most 4 strings in parallel",
    source=PRACTICE,
    worst=Severity.WILL_DISAPPOINT,
)
def batteries_in_parallel(case: Case) -> Said:
    """The more strings, the less equally they share the work."""
    bank = case.system.bank
    if bank is None or bank.parallel <= MOST_PARALLEL:
        return
    larger_ah = bank.capacity_ah / MOST_PARALLEL
    ratio = bank.parallel / MOST_PARALLEL
    fields = {
        key: None if value is None else value * ratio
        for key, value in (
            ("max_charge_a", bank.battery.max_charge_a),
            ("max_discharge_a", bank.battery.max_discharge_a),
        )
    }
    larger = relabel(bank.battery, capacity_ah=larger_ah, **fields)
    yield Finding(
        Severity.WILL_DISAPPOINT,
        phrase(
            "{parallel} strings side by side never share the work equally: the nearest ones age "
            "first. Use at most {most_parallel}, with equally long cables and a fuse for each.",
            parallel=bank.parallel,
            most_parallel=MOST_PARALLEL,
        ),
        ("battery",),
        limit=Given("strings side by side", MOST_PARALLEL, ""),
        options=(
            Remedy(
                phrase(
                    "Take larger batteries: {most_parallel} strings of at least {larger_ah:.0f} "
                    "Ah.",
                    most_parallel=MOST_PARALLEL,
                    larger_ah=larger_ah,
                ),
                case.with_bank(battery=larger, parallel=MOST_PARALLEL, owned=0),
                (Need("battery", "capacity_ah", "at least", larger_ah),),
            ),
        ),
    )


@rule(
    "old-with-new-batteries",
    asks="Are old batteries in one bank with new ones?",
    limit="all batteries of a bank of one age, none worn below 80 %",
    source=PRACTICE,
    worst=Severity.WILL_DISAPPOINT,
)
def old_with_new_batteries(case: Case) -> Said:
    """The old one drags the new one down within a year or two."""
    bank = case.system.bank
    if bank is None:
        return
    if 0 < bank.owned < bank.count:
        yield Finding(
            Severity.WILL_DISAPPOINT,
            phrase(
                "{owned} batteries are there already and {count} would be new. In one bank the old "
                "ones drag the new ones down: use either the old or new ones only.",
                owned=bank.owned,
                count=bank.count - bank.owned,
            ),
            ("battery", "age"),
            options=(
                Remedy(phrase("Buy the whole bank new."), case.with_bank(keep_proof=True, owned=0)),
            ),
        )
    if bank.battery.worn_pct < WORN_PCT:
        yield Finding(
            Severity.WORTH_KNOWING,
            phrase(
                "These batteries hold {left_pct:.0f}% of what they did when new; below "
                "{worn_pct:.0f}% they count as worn out and may fail soon.",
                left_pct=bank.battery.worn_pct,
                worn_pct=WORN_PCT,
            ),
            ("battery", "wear"),
            limit=Given("capacity left", WORN_PCT, "%"),
            options=(
                Remedy(
                    phrase("Replace them by new ones."),
                    case.with_bank(battery=relabel(bank.battery, worn_pct=100.0)),
                ),
            ),
        )


def _unlike(bank: Bank, other: BatteryNameplate) -> str | None:
    """What differs: 'chemistry', 'voltage', 'capacity', 'wear'; None when alike."""
    mine = bank.battery
    if mine.chemistry != other.chemistry:
        return phrase("chemistry")
    if abs(mine.nominal_v - other.nominal_v) > 0.1 * mine.nominal_v:
        return phrase("voltage")
    if abs(other.capacity_ah / mine.capacity_ah - 1.0) > LIKE_CAPACITY:
        return phrase("capacity")
    return phrase("wear") if abs(mine.worn_pct - other.worn_pct) > 10.0 else None


def joins_unlike_batteries(case: Case) -> bool:
    """Whether batteries are joined that harm each other at once."""
    bank = case.system.bank
    if bank is None:
        return False
    series = case.joined.how == "series"
    for other in case.joined.batteries:
        unlike = _unlike(bank, other)
        if unlike == "chemistry" or (unlike == "voltage" and not series):
            return True
        if unlike in ("voltage", "capacity") and series:
            return True
    return False


@rule(
    "unlike-batteries",
    asks="Are batteries of different kind, capacity or wear joined?",
    limit="one chemistry, one voltage, capacities within 10 %",
    source=PRACTICE,
    worst=Severity.DANGER,
    breaks=joins_unlike_batteries,
)
def unlike_batteries(case: Case) -> Said:
    """In series the small one is reversed, in parallel currents flow between them."""
    bank = case.system.bank
    if bank is None:
        return
    series = case.joined.how == "series"
    for other in case.joined.batteries:
        unlike = _unlike(bank, other)
        names = phrase("{name} and {other_name}", name=bank.battery.name, other_name=other.name)
        if unlike is None:
            severity, words = (
                Severity.FINE,
                phrase("{names} are alike and may be joined when equally old.", names=names),
            )
        elif unlike == "chemistry":
            severity = Severity.DANGER
            words = phrase(
                "{names} are of different chemistry: each overcharges or drains the other.",
                names=names,
            )
        elif unlike == "voltage" and not series:
            severity = Severity.DANGER
            words = phrase(
                "{names} differ in voltage: side by side a huge current flows between them.",
                names=names,
            )
        elif unlike in ("voltage", "capacity") and series:
            severity = Severity.DANGER
            words = phrase(
                "{names} differ in {unlike}: in series the smaller is emptied first and then "
                "charged backwards.",
                names=names,
                unlike=unlike,
            )
        else:
            severity = Severity.WILL_DISAPPOINT
            words = phrase(
                "{names} differ in {unlike}: the weaker drags the other down.",
                names=names,
                unlike=unlike,
            )
        yield Finding(
            severity,
            words,
            ("battery", other.name),
            options=() if unlike is None else _apart(case),
        )


def _apart(case: Case) -> tuple[Remedy, ...]:
    joined = case.joined
    return (
        Remedy(
            phrase("Keep them apart: each kind a bank of its own, with its own controller."),
            replace(case, joined=Joined(panels=joined.panels, how=joined.how)),
        ),
    )


RULES = (bank_voltage, batteries_in_parallel, old_with_new_batteries, unlike_batteries)
