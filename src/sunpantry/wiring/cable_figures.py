"""How a cable lies, and the working of its size."""

from __future__ import annotations

from dataclasses import dataclass

from sunpantry.figures import Figure, Given
from sunpantry.phrases import phrase
from sunpantry.physics import cable as physics
from sunpantry.physics.cable_tables import INSULATIONS
from sunpantry.wiring.graph import Cable

_METHODS = {"air": phrase("in free air")}
_INSULATIONS: dict[str, str] = {
    "solar": phrase("solar cable"),
    "cord": phrase("flexible lead"),
    "pvc": "PVC",
    "xlpe": "XLPE",
}


@dataclass(frozen=True, slots=True)
class Laying:
    """How a cable lies, for its capacity."""

    insulation: physics.Insulation
    method: str
    ambient_c: float
    circuits: int

    @property
    def hottest_c(self) -> float:
        return min(INSULATIONS[self.insulation][1], physics.HOT_C)

    def capacity_a(self, size_mm2: float, conductors: int) -> float | None:
        one = physics.current_capacity_a(
            size_mm2,
            method=self.method,
            insulation=self.insulation,
            ambient_c=self.ambient_c,
            circuits=self.circuits + conductors - 1,
        )
        return None if one is None else conductors * one


def cable_figures(
    cable: Cable,
    laying: Laying,
    size_mm2: float,
    conductors: int,
    *,
    drop_v: float,
    capacity_a: float,
) -> tuple[Figure, ...]:
    """Working of a cable's current, voltage drop and capacity.

    Parameters
    ----------
    cable : Cable
        The cable; without a duty there is no working.
    laying : Laying
        How it lies.
    size_mm2 : float
        Cross-section of one conductor [mm²].
    conductors : int
        Side by side on each pole.
    drop_v, capacity_a : float
        What came out [V, A].
    """
    duty = cable.duty
    if duty is None:
        return ()
    ohm_per_km = physics.resistance_ohm_per_km(size_mm2, temperature_c=laying.hottest_c)
    copper = phrase(
        "resistance of {size_mm2:g} mm² at {hottest_c:g} °C",
        size_mm2=size_mm2,
        hottest_c=laying.hottest_c,
    )
    mine = phrase("{id} ({name})", id=cable.id, name=cable.name)
    return (
        Figure(
            phrase("design current of {mine}", mine=mine),
            *(duty.design_a, "A", duty.formula, duty.inputs, duty.source),
        ),
        Figure(
            phrase("voltage drop of {mine}", mine=mine),
            drop_v,
            "V",
            "working current × 2 × length × resistance / conductors side by side",
            (
                Given("working current", duty.working_a, "A"),
                Given("length one way", cable.length_m, "m"),
                Given(copper, ohm_per_km, "Ω/km"),
                Given("conductors side by side", conductors),
                Given("voltage it is a share of", duty.base_v, "V"),
            ),
            "IEC 60228 class 5",
        ),
        Figure(
            phrase("capacity of {mine}", mine=mine),
            capacity_a,
            "A",
            "table value × ambient factor × grouping factor × conductors side by side",
            (
                Given("installation method", _METHODS.get(laying.method, laying.method)),
                Given("insulation", _INSULATIONS[laying.insulation]),
                Given("temperature around it", laying.ambient_c, "°C"),
                Given("circuits together", laying.circuits + conductors - 1),
                Given("conductors side by side", conductors),
            ),
            "EN 50618, from memory"
            if laying.insulation == "solar"
            else "BS 7671 table 4F3A, from memory"
            if laying.insulation == "cord"
            else "IEC 60364-5-52 tables B.52.2 to B.52.17",
        ),
    )
