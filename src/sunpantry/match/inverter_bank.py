"""What an inverter asks of the bank: cut-off, sag, idling, and amperes in the cable."""

from __future__ import annotations

from dataclasses import replace

from sunpantry.figures import Given
from sunpantry.match.bank_measures import cells, constants, half_full_v
from sunpantry.match.case import Case
from sunpantry.match.changes import beside, other_inverter, relabel
from sunpantry.match.finding import Finding, Need, Remedy, Said, Severity, rule, worked
from sunpantry.match.inverter_rules import start_alone_w, start_with_others_w
from sunpantry.match.load_measures import MAINS, direct_current_a, low_bank_v, on_supply
from sunpantry.match.sources import CHARGE_POINTS, LABEL, PRACTICE
from sunpantry.phrases import phrase

# Currents at which cables, fuses and terminals grow awkward [A]: common practice, no source.
MUCH_CURRENT_A = 100.0
TOO_MUCH_CURRENT_A = 200.0
IDLE_NOTED = 0.10
IDLE_MUCH = 0.25


@rule(
    "inverter-cutoff",
    asks="Does the inverter switch off before the battery is drained to the end?",
    limit="cut-off ≥ 1.90 V a lead-acid cell, 3.00 V a LiFePO4 cell",
    source=CHARGE_POINTS,
    worst=Severity.WORTH_KNOWING,
)
def inverter_cutoff(case: Case) -> Said:
    """An inverter watches over itself, not over the battery."""
    inverter, bank = case.system.inverter, case.system.bank
    if inverter is None or bank is None or bank.battery.chemistry == "power_bank":
        return
    protects_v = constants(bank).disconnect_v * cells(bank)
    cutoff_v = inverter.cutoff_v * case.scale
    early = cutoff_v >= protects_v - 1e-9
    yield Finding(
        Severity.FINE if early else Severity.WORTH_KNOWING,
        phrase("The inverter switches off at {cutoff_v:.1f} V", cutoff_v=cutoff_v)
        + (
            phrase(", in time to spare the battery.")
            if early
            else phrase(
                ", later than the {protects_v:.1f} V that spare the battery: set it higher if "
                "it can be set, or switch it off by hand when the battery is low.",
                protects_v=protects_v,
            )
        ),
        ("inverter", "battery"),
        limit=Given("voltage that spares the battery", protects_v, "V"),
        options=()
        if early
        else tuple(
            other_inverter(
                case,
                phrase(
                    "Set the cut-off to {protects_v:.1f} V, or take an inverter with which that "
                    "can be done.",
                    protects_v=protects_v,
                ),
                cutoff_v=round(protects_v / case.scale, 2),
            )
        ),
    )


def sagging_v(case: Case, draw_w: float) -> float | None:
    """Voltage of the half-full bank while the inverter gives a power [V]; ``None``: no bank."""
    inverter, bank = case.system.inverter, case.system.bank
    if inverter is None or bank is None or draw_w <= 0.0:
        return None
    amps = draw_w / (max(inverter.rated_efficiency_pct, 1.0) / 100.0) / case.system.bank_v
    return half_full_v(bank, amps=amps)


def _trips(case: Case, draw_w: float) -> bool:
    inverter, volts = case.system.inverter, sagging_v(case, draw_w)
    return inverter is not None and volts is not None and volts < inverter.cutoff_v * case.scale


def never_starts(case: Case) -> bool:
    """Whether the hardest load, alone on the half-full bank, trips the inverter as it starts."""
    return _trips(case, start_alone_w(case))


@rule(
    "start-trips-inverter",
    asks="Does the battery sag so far in a hard start that the inverter switches off?",
    limit="voltage of the half-full bank during the start ≥ cut-off of the inverter",
    source=phrase(
        "ohmic part of the battery's resistance; typical values are {practice}", practice=PRACTICE
    ),
    worst=Severity.WILL_NOT_WORK,
    breaks=never_starts,
)
def start_trips_inverter(case: Case) -> Said:
    """A small battery sags under a motor's start."""
    inverter, bank, draw_w = case.system.inverter, case.system.bank, start_with_others_w(case)
    alone = never_starts(case)
    if alone:
        draw_w = start_alone_w(case)
    volts = sagging_v(case, draw_w)
    if inverter is None or bank is None or volts is None:
        return
    limit_v = inverter.cutoff_v * case.scale
    trips = volts < limit_v
    hardest = max(on_supply(case, MAINS), key=lambda load: load.start_w).name
    if alone:
        severity, when = (
            Severity.WILL_NOT_WORK,
            phrase("When {hardest} starts, even alone", hardest=hardest),
        )
    elif trips:
        severity, when = Severity.WILL_DISAPPOINT, phrase("When a load starts while the others run")
    else:
        severity, when = Severity.FINE, phrase("When the hardest load starts")
    yield Finding(
        severity,
        phrase(
            "{when}, the half-full battery falls to {volts:.1f} V; the inverter switches off at "
            "{limit_v:.1f} V",
            when=when,
            volts=max(volts, 0.0),
            limit_v=limit_v,
        )
        + (phrase(", and {hardest} never gets going.", hardest=hardest) if alone else "."),
        ("inverter", "battery"),
        (
            worked(
                "voltage of the half-full battery during the hardest start",
                volts,
                "V",
                "rest voltage − starting power / efficiency / bank voltage × resistance",
                PRACTICE,
                ("starting power", draw_w, "W"),
                ("bank voltage", case.system.bank_v, "V"),
                ("capacity", bank.capacity_ah, "Ah"),
                ("batteries side by side", bank.parallel, ""),
            ),
        ),
        Given("cut-off of the inverter", limit_v, "V"),
        options=tuple(beside(case, _starts_hold)) if trips else (),
    )


def _starts_hold(case: Case) -> bool:
    return not _trips(case, start_with_others_w(case))


def idle_share(case: Case) -> float | None:
    """Share of the energy drawn from the bank that the idling inverter eats [-]."""
    inverter = case.system.inverter
    if inverter is None:
        return None
    if case.proof is not None and case.proof.idle_share is not None:
        return case.proof.idle_share
    asked_wh = _per_day_wh(case, mains=True) / max(inverter.rated_efficiency_pct, 1.0) * 100.0
    other_wh = _per_day_wh(case, mains=False)
    if asked_wh + other_wh <= 0.0:
        return None
    idle_w = inverter.idle_w if inverter.search_w is None else inverter.search_w
    idle_wh = idle_w * _hours_on(case)
    return idle_wh / (idle_wh + asked_wh + other_wh)


def _per_day_wh(case: Case, *, mains: bool) -> float:
    return sum(
        sum(load.energy_wh_day) / len(load.energy_wh_day)
        for load in case.loads
        if load.energy_wh_day and (load.supply == MAINS) is mains
    )


def _hours_on(case: Case) -> float:
    """Hours a day the inverter is on: all day, or as long as its loads work one by one [h]."""
    if not case.choices.inverter_off_when_idle:
        return 24.0
    hours = sum(
        sum(load.energy_wh_day) / len(load.energy_wh_day) / load.all_w
        for load in on_supply(case, MAINS)
        if load.energy_wh_day and load.all_w > 0.0
    )
    return min(hours, 24.0)


@rule(
    "inverter-idle-draw",
    asks="How much does the inverter eat while it does nothing?",
    limit="10 % of the energy drawn is worth knowing, 25 % disappoints",
    source=PRACTICE,
    worst=Severity.WILL_DISAPPOINT,
)
def inverter_idle_draw(case: Case) -> Said:
    """An inverter left on day and night often eats more than what hangs on it."""
    inverter, share = case.system.inverter, idle_share(case)
    if inverter is None or share is None:
        return
    severity = Severity.FINE
    if share > IDLE_NOTED:
        severity = Severity.WILL_DISAPPOINT if share > IDLE_MUCH else Severity.WORTH_KNOWING
    unproven = replace(case, proof=None)
    off = Remedy(
        phrase("Switch the inverter off when nothing needs it."),
        unproven.chosen(inverter_off_when_idle=True),
    )
    lean_w = 0.2 * inverter.idle_w
    lean = Remedy(
        phrase("Take an inverter with a search mode of {lean_w:.1f} W or less.", lean_w=lean_w),
        unproven.changed(inverter=relabel(inverter, search_w=lean_w)),
        (Need("inverter", "search_w", "at most", lean_w),),
    )
    yield Finding(
        severity,
        phrase(
            "The idling inverter eats {share:.0%} of the energy drawn from the battery.",
            share=share,
        ),
        ("inverter",),
        (
            worked(
                "share of the energy eaten by the idling inverter",
                share,
                "",
                "idle energy / (idle energy + energy of the loads), or from the simulation",
                PRACTICE,
                ("idle draw", inverter.idle_w, "W"),
                ("hours on in a day", _hours_on(case), "h"),
            ),
        ),
        Given("share that disappoints", IDLE_MUCH, ""),
        options=(off, lean) if severity < Severity.FINE else (),
    )


def bank_cable_a(case: Case) -> float:
    """Current in the main cable: of the inverter at its rating and of the DC loads [A]."""
    inverter = case.system.inverter
    amps = direct_current_a(case)
    if inverter is not None:
        efficiency = max(inverter.rated_efficiency_pct, 1.0) / 100.0
        amps += inverter.rated_w / efficiency / low_bank_v(case)
    return amps


@rule(
    "bank-voltage-for-power",
    asks="Is the bank's voltage high enough for the power drawn from it?",
    limit="100 A is worth knowing, 200 A disappoints",
    source=PRACTICE,
    worst=Severity.WILL_DISAPPOINT,
)
def bank_voltage_for_power(case: Case) -> Said:
    """3 kW from 12 V are 300 A: finger-thick cables."""
    bank, amps = case.system.bank, bank_cable_a(case)
    if bank is None or amps <= 0.0:
        return
    severity = Severity.FINE
    if amps > MUCH_CURRENT_A:
        too_much = amps > TOO_MUCH_CURRENT_A
        severity = Severity.WILL_DISAPPOINT if too_much else Severity.WORTH_KNOWING
    words = phrase("Up to {amps:.0f} A flow between battery and loads", amps=amps)
    if severity is Severity.FINE:
        words += "."
    else:
        words += phrase(
            ": thick, short cables and a large fuse. At twice the bank voltage it would be half "
            "the current and a quarter of the loss."
        )
    yield Finding(
        severity,
        words,
        ("battery", "inverter"),
        (
            worked(
                "highest current between battery and loads",
                amps,
                "A",
                "inverter rating / efficiency / voltage of a nearly empty bank + DC loads",
                LABEL,
                ("voltage of a nearly empty bank", low_bank_v(case), "V"),
                ("current of the DC loads", direct_current_a(case), "A"),
            ),
        ),
        Given("current that is awkward", MUCH_CURRENT_A, "A"),
        options=tuple(_higher_bank(case)) if severity < Severity.FINE else (),
    )


def _higher_bank(case: Case) -> list[Remedy]:
    system, bank = case.system, case.system.bank
    options: list[Remedy] = []
    if bank is None:
        return options
    for volts in (24.0, 48.0):
        times = round(volts / system.bank_v)
        if volts <= system.bank_v:
            continue
        inverter, controller = system.inverter, system.controller
        needs = [Need("inverter", "input_v", "is", volts)] if inverter is not None else []
        if controller is not None and volts not in controller.bank_voltages:
            needs.append(Need("controller", "bank_voltages", "is", volts))
            controller = relabel(controller, bank_voltages=(*controller.bank_voltages, volts))
        changed = case.changed(
            bank_v=volts,
            bank=replace(
                bank, series=bank.series * times, parallel=-(-bank.parallel // times), owned=0
            ),
            controller=controller,
            inverter=None if inverter is None else relabel(inverter, input_v=volts),
        )
        options.append(
            Remedy(phrase("Make it a {volts:g} V system.", volts=volts), changed, tuple(needs))
        )
    return options


RULES = (
    inverter_cutoff,
    start_trips_inverter,
    inverter_idle_draw,
    bank_voltage_for_power,
)
