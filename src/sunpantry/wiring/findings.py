"""What the wiring itself finds: cables and fuses that no size cures, loads left unfed."""

from __future__ import annotations

from collections.abc import Sequence

from sunpantry.match.finding import Finding, Severity
from sunpantry.phrases import joined, phrase
from sunpantry.wiring.build import share_strings
from sunpantry.wiring.cables import Run
from sunpantry.wiring.graph import Circuit
from sunpantry.wiring.inputs import WiringInputs
from sunpantry.wiring.protect import Protection
from sunpantry.wiring.selective import selectivity_finding

MAINS_BAND = 0.10


def wiring_findings(
    circuit: Circuit,
    inputs: WiringInputs,
    runs: Sequence[Run],
    protections: Sequence[Protection],
) -> tuple[Finding, ...]:
    """Findings of a sized circuit, the worst first.

    Parameters
    ----------
    circuit, inputs, runs, protections
        A sized circuit.

    Returns
    -------
    tuple of Finding
        Empty when there is nothing to say.
    """
    found = [
        *_uncoordinated(circuit, protections),
        *_too_long(runs),
        *_unfed(circuit),
        *_other_mains(circuit, inputs),
        *_uneven(inputs),
        *_unswitched(circuit),
        *_not_on_load_terminals(circuit, inputs),
        *_overloaded_terminals(circuit, inputs),
        *selectivity_finding(circuit, protections),
        *_more_copper(runs),
    ]
    return tuple(sorted(found, key=lambda one: one.severity))


def _uncoordinated(circuit: Circuit, protections: Sequence[Protection]) -> list[Finding]:
    names = {cable.id: cable.name for cable in circuit.cables}
    return [
        Finding(
            Severity.DANGER,
            phrase(
                "No fuse or switch on the list protects the cable '{cable}' ({id}): {label} is the "
                "nearest. Raise the voltage of the bank or share the load among several circuits.",
                cable=names[one.device.cable],
                id=one.device.id,
                label=one.label,
            ),
            (one.device.id,),
            figures=one.figures,
            rule="coordination",
            source="IEC 60364-4-43 §433.1",
        )
        for one in protections
        if not one.coordinated
    ]


def _too_long(runs: Sequence[Run]) -> list[Finding]:
    found = []
    for run in runs:
        if run.fits:
            continue
        heat = run.capacity_a < run.capacity_needed_a
        why = (
            phrase(
                "needs {capacity_needed_a:.0f} A and the thickest carries {capacity_a:.0f} A",
                capacity_needed_a=run.capacity_needed_a,
                capacity_a=run.capacity_a,
            )
            if heat
            else phrase(
                "loses {drop_pct:.0f}% of its voltage even at {label}, the aim is "
                "{target_pct:.0f}%, which {most_m:.3g} m would keep",
                drop_pct=run.drop_pct,
                label=run.label,
                target_pct=run.target_pct,
                most_m=run.cable.length_m * run.target_pct / run.drop_pct,
            )
        )
        found.append(
            Finding(
                Severity.WILL_NOT_WORK,
                phrase(
                    "The cable '{name}' ({length_m:g} m) {why}. Shorten it, or supply it at a "
                    "higher voltage.",
                    name=run.cable.name,
                    length_m=run.cable.length_m,
                    why=why,
                ),
                (run.cable.id,),
                figures=run.figures,
                rule="cable-size",
                source="IEC 60228, IEC 60364-5-52",
            )
        )
    return found


def _unfed(circuit: Circuit) -> list[Finding]:
    return [
        Finding(
            Severity.WILL_NOT_WORK,
            phrase("'{load}' cannot be supplied: {why}.", load=load, why=why),
            (load,),
            rule="unfed-load",
            source="the parts of the system",
        )
        for load, why in circuit.unfed
    ]


def _other_mains(circuit: Circuit, inputs: WiringInputs) -> list[Finding]:
    inverter = inputs.system.inverter
    fed = any(cable.role == "mains_branch" for cable in circuit.cables)
    if inverter is None or not fed or abs(inverter.output_v / inputs.mains_v - 1.0) <= MAINS_BAND:
        return []
    return [
        Finding(
            Severity.WILL_NOT_WORK,
            phrase(
                "The inverter gives {output_v:g} V; what is sold here for the mains wants "
                "{mains_v:g} V. Take an inverter for {mains_v:g} V.",
                output_v=inverter.output_v,
                mains_v=inputs.mains_v,
            ),
            ("inverter",),
            rule="mains-voltage",
            source="mains voltage ± 10 %, IEC 60038, from memory",
        )
    ]


def _uneven(inputs: WiringInputs) -> list[Finding]:
    watts = [
        sum(array.series * array.panel.power_w for array in strings)
        for strings in share_strings(inputs)
    ]
    if len(watts) < 2 or max(watts) <= 1.01 * min(watts):
        return []
    return [
        Finding(
            Severity.WILL_DISAPPOINT,
            phrase(
                "{count} equal controllers get unequal shares of the panels ({shares}). Take as "
                "many strings as there are controllers, or twice as many.",
                count=len(watts),
                shares=joined(phrase("{power_w:.0f} W", power_w=one) for one in watts),
            ),
            ("controller", "panel"),
            rule="equal-shares",
            source="how the system was reckoned",
        )
    ]


def _unswitched(circuit: Circuit) -> list[Finding]:
    return [
        Finding(
            Severity.WORTH_KNOWING,
            phrase(
                "The loads hang on the battery and not on the controller's load terminals, so a "
                "low-voltage disconnect ({id}) has to guard the battery.",
                id=device.id,
            ),
            (device.id,),
            rule="low-voltage-disconnect",
            source="common practice, no source",
        )
        for device in circuit.devices
        if device.kind == "disconnect"
    ]


def _not_on_load_terminals(circuit: Circuit, inputs: WiringInputs) -> list[Finding]:
    inverters = circuit.of_kind("inverter")
    if inputs.inverter_fed_from != "load output" or not inverters:
        return []
    return [
        Finding(
            Severity.WORTH_KNOWING,
            phrase(
                "The design hangs the inverter on the controller's load terminals; here it is "
                "wired to the battery, with its own fuse. As it is switched on it draws for a "
                "moment many times its current, which burns load terminals, and its own cut-off "
                "is the one that knows its needs."
            ),
            (inverters[0].id,),
            rule="inverter-on-battery",
            source="common practice, no source",
        )
    ]


def _overloaded_terminals(circuit: Circuit, inputs: WiringInputs) -> list[Finding]:
    """Loads that the design keeps on load terminals which do not carry them all."""
    controller = inputs.system.controller
    if controller is None or inputs.loads_fed_from != "load output":
        return []
    terminals = {part.id for part in circuit.of_kind("controller")}
    drawn_a = sum(
        cable.duty.design_a
        for cable in circuit.cables
        if cable.start_part in terminals
        and cable.role in ("board", "branch", "lead")
        and cable.duty
    )
    if drawn_a <= controller.load_output_a or not drawn_a:
        return []
    return [
        Finding(
            Severity.WILL_DISAPPOINT,
            phrase(
                "All loads together draw {drawn_a:.1f} A, and the load terminals carry "
                "{limit_a:g} A: with everything on they switch off, or the loads that matter "
                "less must rest. Leave 'loads_fed_from' out to hang them on the battery.",
                drawn_a=drawn_a,
                limit_a=controller.load_output_a,
            ),
            ("controller", "loads"),
            rule="load-terminals",
            source="the labels of the parts",
        )
    ]


def _more_copper(runs: Sequence[Run]) -> list[Finding]:
    return [
        Finding(
            Severity.WORTH_KNOWING,
            phrase(
                "Thicker copper pays for itself in '{name}': {economic_mm2:g} mm² instead of "
                "{size_mm2:g} mm².",
                name=run.cable.name,
                economic_mm2=run.economic_mm2,
                size_mm2=run.size_mm2,
            ),
            (run.cable.id,),
            rule="more-copper",
            source="price of copper cable: common practice, no source",
        )
        for run in runs
        if run.economic_mm2 is not None and run.economic_mm2 > run.size_mm2
    ]
