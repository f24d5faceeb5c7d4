"""The wiring plan: everything about the wiring in one frozen object, and as plain data."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import asdict, dataclass
from functools import cached_property
from typing import TYPE_CHECKING, Any

from sunpantry.figures import Figure
from sunpantry.match.finding import Finding
from sunpantry.wiring.build import build_circuit
from sunpantry.wiring.cables import Run
from sunpantry.wiring.findings import wiring_findings
from sunpantry.wiring.graph import Circuit
from sunpantry.wiring.inputs import WiringInputs
from sunpantry.wiring.materials import Material, materials_for
from sunpantry.wiring.notice import Notice
from sunpantry.wiring.notices import notices_for
from sunpantry.wiring.protect import Protection, size_all
from sunpantry.wiring.settings import Setting, settings_sheet
from sunpantry.wiring.steps import connection_steps

if TYPE_CHECKING:
    from sunpantry.wiring.drawing import Drawing


@dataclass(frozen=True)
class WiringPlan:
    """A system wired.

    Parameters
    ----------
    circuit : Circuit
        The graph.
    runs : tuple of Run
        Every cable with its size, in the order of ``circuit.cables``.
    protections : tuple of Protection
        Every fuse, breaker and switch with its rating.
    settings : tuple of Setting
        What to set on controller and inverter.
    winter_battery_c : float
        Battery temperature of the winter settings [°C].
    notices : tuple of Notice
        Warnings, labels, terminals, earthing, local rules.
    steps : tuple of str
        Order of connection.
    materials : tuple of Material
        What to buy.
    findings : tuple of Finding
        What is wrong or worth knowing.
    workings : tuple of Figure
        Every number with formula, inputs and source.
    energy_price, currency
        Worth of a kilowatt-hour lost, and in what [currency/kWh].
    """

    circuit: Circuit
    runs: tuple[Run, ...]
    protections: tuple[Protection, ...]
    settings: tuple[Setting, ...]
    winter_battery_c: float
    notices: tuple[Notice, ...]
    steps: tuple[str, ...]
    materials: tuple[Material, ...]
    findings: tuple[Finding, ...]
    workings: tuple[Figure, ...]
    energy_price: float = 0.0
    currency: str = "EUR"

    def diagram(self, name: str, voice: Callable[[str], str] = str) -> Drawing:
        """Circuit diagram with standard symbols.

        Parameters
        ----------
        name : str
            Of the design.
        voice : callable
            Says a phrase in the language and with the numbers of the reader.
        """
        from sunpantry.wiring.drawing import circuit_diagram

        return circuit_diagram(self.circuit, self.runs, self.protections, name=name, voice=voice)

    def picture(
        self, name: str, voice: Callable[[str], str] = str, *, narrow: bool = False
    ) -> Drawing:
        """Plain picture of what goes where.

        Parameters
        ----------
        name, voice
            As of :meth:`diagram`.
        narrow : bool
            In one column, for a telephone.
        """
        from sunpantry.wiring.drawing import plain_picture

        return plain_picture(
            self.circuit,
            self.runs,
            self.protections,
            name=name,
            steps=self.steps,
            narrow=narrow,
            voice=voice,
        )

    @cached_property
    def material_price(self) -> float:
        """Typical price of all materials [EUR]; common practice, no source."""
        return sum(line.price for line in self.materials)

    def to_json(self) -> dict[str, Any]:
        """Plain data for JSON: runs, protections, settings, notices, materials, findings."""
        return {
            "runs": [
                {
                    **run_row(run, self.circuit),
                    "yearly_loss_price": None
                    if run.yearly_loss_wh is None
                    else run.yearly_loss_wh / 1000.0 * self.energy_price,
                }
                for run in self.runs
            ],
            "currency": self.currency,
            "protections": [protection_row(one, self.circuit) for one in self.protections],
            "settings": [asdict(setting) for setting in self.settings],
            "winter_battery_c": self.winter_battery_c,
            "steps": list(self.steps),
            "notices": [asdict(notice) for notice in self.notices],
            "materials": [asdict(line) for line in self.materials],
            "findings": [
                {
                    "severity": found.severity.words,
                    "rule": found.rule,
                    "sentence": found.sentence,
                    "about": list(found.about),
                    "source": found.source,
                }
                for found in self.findings
            ],
        }


def wire(inputs: WiringInputs) -> WiringPlan:
    """Wire a system: circuit, cables, protection, settings, notices, materials.

    Parameters
    ----------
    inputs : WiringInputs
        The system, its loads, distances and temperatures.

    Returns
    -------
    WiringPlan
        The same for the same inputs, always.
    """
    circuit = build_circuit(inputs)
    runs, protections = size_all(circuit, inputs)
    settings, workings = settings_sheet(inputs)
    return WiringPlan(
        circuit=circuit,
        runs=runs,
        protections=protections,
        settings=settings,
        winter_battery_c=inputs.battery_in_winter_c,
        notices=notices_for(circuit, inputs, runs, protections),
        steps=connection_steps(circuit),
        materials=materials_for(circuit, inputs, runs, protections),
        findings=wiring_findings(circuit, inputs, runs, protections),
        workings=(
            *(figure for run in runs for figure in run.figures),
            *(figure for one in protections for figure in one.figures),
            *workings,
        ),
        energy_price=inputs.energy_price,
        currency=inputs.currency,
    )


def hard_findings(inputs: WiringInputs) -> tuple[Finding, ...]:
    """Findings of the wiring that forbid a system: danger, and what will not work.

    Parameters
    ----------
    inputs : WiringInputs
        The system, its loads, distances and temperatures.

    Returns
    -------
    tuple of Finding
        Those of :func:`wire`, found without drawings, settings and shopping list: a few
        milliseconds. Empty for a system that may be proposed.
    """
    circuit = build_circuit(inputs)
    runs, protections = size_all(circuit, inputs)
    found = wiring_findings(circuit, inputs, runs, protections)
    return tuple(one for one in found if one.severity.is_hard)


def run_row(run: Run, circuit: Circuit) -> dict[str, Any]:
    """One row of the cable schedule, as plain data."""
    cable, duty = run.cable, run.cable.duty
    return {
        "id": cable.id,
        "key": cable.key,
        "name": cable.name,
        "role": cable.role,
        "from": circuit.by_id[cable.start_part].name,
        "from_id": cable.start_part,
        "to": circuit.by_id[cable.end_part].name,
        "to_id": cable.end_part,
        "terminals": [
            [f"{one.part} {one.name}", f"{two.part} {two.name}"]
            for one, two in zip(cable.start, cable.end, strict=True)
        ],
        "length_m": cable.length_m,
        "size": run.label,
        "size_mm2": run.size_mm2,
        "conductors_per_pole": run.conductors,
        "insulation": run.insulation,
        "method": run.method,
        "working_a": duty.working_a if duty else None,
        "design_a": duty.design_a if duty else None,
        "capacity_a": run.capacity_a if duty else None,
        "drop_v": run.drop_v if duty else None,
        "drop_pct": run.drop_pct if duty else None,
        "target_pct": run.target_pct if duty else None,
        "loss_w": run.loss_w if duty else None,
        "yearly_loss_wh": run.yearly_loss_wh,
        "economic_mm2": run.economic_mm2,
        "limited_by": run.limited_by,
    }


def protection_row(one: Protection, circuit: Circuit) -> dict[str, Any]:
    """One row of the protection schedule, as plain data."""
    cable = next(cable for cable in circuit.cables if cable.id == one.device.cable)
    return {
        "id": one.device.id,
        "kind": one.kind,
        "name": one.name,
        "rating": one.label,
        "rating_a": one.rating_a,
        "poles": list(one.device.poles),
        "cable": cable.id,
        "protects": cable.name,
        "place": one.device.place,
        "reason": one.device.reason,
        "voltage_v": one.voltage_v,
        "rated_v": one.rated_v,
        "breaking_a": one.breaking_a,
        "prospective_a": one.prospective_a,
        "backed_up_by": one.backed_up_by,
        "coordinated": one.coordinated,
    }
