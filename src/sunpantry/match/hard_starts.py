"""Hard starts: the protection inside a lithium battery, and the low-voltage disconnect."""

from __future__ import annotations

from collections.abc import Iterator

from sunpantry.figures import Given
from sunpantry.match.bank_measures import half_full_v, max_discharge_a
from sunpantry.match.case import Case, LoadFacts
from sunpantry.match.changes import beside, other_controller
from sunpantry.match.finding import Finding, Remedy, Said, Severity, rule, worked
from sunpantry.match.load_measures import bank_current_a, direct_current_loads, expected_peak_w
from sunpantry.match.sources import LABEL, PRACTICE
from sunpantry.phrases import phrase
from sunpantry.simulate.columns import LONGEST_START_S

# Multiple of its lasting limit that the protection of a lithium battery lets through for
# the second or two of a start: common practice, no source.
PROTECTION_BEARS = 2.0


def start_current_a(case: Case, *, alone: bool) -> float:
    """Highest current from the bank as one load starts, alone or while the others run [A]."""
    supplies = {load.supply for load in case.loads}
    running_a = sum(
        bank_current_a(case, expected_peak_w(case, supply), supply) for supply in sorted(supplies)
    )
    highest_a = 0.0
    for load in case.loads:
        start_a = bank_current_a(case, load.start_w, load.supply)
        others_a = running_a - bank_current_a(case, load.power_w, load.supply)
        highest_a = max(highest_a, start_a + (0.0 if alone else max(others_a, 0.0)))
    return highest_a


def _bears_a(case: Case) -> float | None:
    """Current the protection lets through in a start [A]; ``None``: no lithium battery."""
    bank = case.system.bank
    if bank is None or bank.battery.chemistry != "lifepo4":
        return None
    return PROTECTION_BEARS * max_discharge_a(bank)


def trips_protection(case: Case) -> bool:
    """Whether one start alone opens the protection of a battery whose label says its limit."""
    bears_a, bank = _bears_a(case), case.system.bank
    if bears_a is None or bank is None or bank.battery.max_discharge_a is None:
        return False
    return start_current_a(case, alone=True) > bears_a


@rule(
    "start-trips-battery",
    asks="Does the protection inside a lithium battery open in a hard start?",
    limit="current of the start ≤ 2 × the highest discharge current on the label",
    source=phrase("{label}; twice for a second: {practice}", label=LABEL, practice=PRACTICE),
    worst=Severity.WILL_NOT_WORK,
    breaks=trips_protection,
)
def start_trips_battery(case: Case) -> Said:
    """A lithium battery does not sag, it switches off."""
    bank, bears_a = case.system.bank, _bears_a(case)
    alone_a, amps = start_current_a(case, alone=True), start_current_a(case, alone=False)
    if bank is None or bears_a is None or amps <= 0.0:
        return
    if trips_protection(case):
        severity, amps = Severity.WILL_NOT_WORK, alone_a
    else:
        severity = Severity.WILL_DISAPPOINT if amps > bears_a else Severity.FINE
    hardest = max(case.loads, key=lambda load: bank_current_a(case, load.start_w, load.supply))
    if severity is Severity.WILL_NOT_WORK:
        words = phrase(
            "{load} draws {amps:.0f} A from the battery as it starts; the protection inside lets "
            "about {bears_a:.0f} A through for a moment and then switches everything off.",
            load=hardest.name,
            amps=amps,
            bears_a=bears_a,
        )
    elif severity is Severity.WILL_DISAPPOINT:
        words = phrase(
            "A load that starts while the others run draws {amps:.0f} A; the protection inside the "
            "battery lets about {bears_a:.0f} A through for a moment and may switch it off.",
            amps=amps,
            bears_a=bears_a,
        )
    else:
        words = phrase(
            "Even the hardest start ({amps:.0f} A) does not open the protection of the battery.",
            amps=amps,
        )
    yield Finding(
        severity,
        words,
        ("battery", "loads"),
        (
            worked(
                "current from the battery in the hardest start",
                amps,
                "A",
                "starting power / efficiency / voltage of a nearly empty bank",
                PRACTICE,
                ("starting power", hardest.start_w, "W"),
                ("current of one start alone", alone_a, "A"),
            ),
        ),
        Given("current that the protection bears for a moment", bears_a, "A"),
        options=tuple(beside(case, lambda larger: (_bears_a(larger) or 0.0) >= amps))
        if severity < Severity.FINE
        else (),
    )


def _direct_start_a(case: Case, load: LoadFacts) -> float:
    """Current from the bank as a load on direct current starts [A]."""
    return bank_current_a(case, load.start_w, load.supply)


@rule(
    "start-opens-disconnect",
    asks="Does a start on direct current pull the battery down to the low-voltage disconnect?",
    limit="voltage of the half-full bank during the start ≥ low-voltage disconnect",
    source=phrase(
        "ohmic part of the battery's resistance; typical values are {practice}", practice=PRACTICE
    ),
    worst=Severity.WILL_DISAPPOINT,
)
def start_opens_disconnect(case: Case) -> Said:
    """A pump that starts on a small battery puts out the lights."""
    bank, controller = case.system.bank, case.system.controller
    loads = [load for load in direct_current_loads(case) if load.start_w > load.power_w]
    if bank is None or controller is None or not loads or controller.load_output_a <= 0.0:
        return
    if bank.battery.chemistry == "power_bank" or controller.disconnect_delay_s >= LONGEST_START_S:
        return
    hardest = max(loads, key=lambda load: _direct_start_a(case, load))
    amps = _direct_start_a(case, hardest)
    volts, limit_v = half_full_v(bank, amps=amps), controller.disconnect_v * case.scale
    opens = volts < limit_v
    yield Finding(
        Severity.WILL_DISAPPOINT if opens else Severity.FINE,
        phrase(
            "When {load} starts, the half-full battery falls to {volts:.1f} V for a moment; the "
            "controller switches the loads off at {limit_v:.1f} V.",
            load=hardest.name,
            volts=max(volts, 0.0),
            limit_v=limit_v,
        ),
        ("controller", "battery"),
        (
            worked(
                "voltage of the half-full battery during the hardest start on direct current",
                volts,
                "V",
                "rest voltage − starting power / voltage of a nearly empty bank × resistance",
                PRACTICE,
                ("starting power", hardest.start_w, "W"),
                ("current of the start", amps, "A"),
                ("capacity", bank.capacity_ah, "Ah"),
            ),
        ),
        Given("voltage at which the loads are switched off", limit_v, "V"),
        options=tuple(_rides_it_out(case, amps, limit_v)) if opens else (),
    )


def _rides_it_out(case: Case, amps: float, limit_v: float) -> Iterator[Remedy]:
    """Options: a disconnect that waits, or a battery that sags less."""
    yield from other_controller(
        case,
        phrase(
            "Take a controller that waits {seconds:g} s or longer before it switches the loads "
            "off.",
            seconds=LONGEST_START_S,
        ),
        disconnect_delay_s=LONGEST_START_S,
    )
    yield from beside(
        case,
        lambda larger: (
            larger.system.bank is not None and half_full_v(larger.system.bank, amps=amps) >= limit_v
        ),
    )


RULES = (start_trips_battery, start_opens_disconnect)
