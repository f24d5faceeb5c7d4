"""The size of every cable: warm enough to live, short enough of volts to work, worth its copper.

References
----------
IEC 60228 (resistance), IEC 60364-5-52 (capacity), IEC 60364-5-52 table 52.2 (least
sizes, from memory).
"""

from __future__ import annotations

from dataclasses import dataclass

from sunpantry.figures import Figure
from sunpantry.phrases import phrase
from sunpantry.physics import cable as physics
from sunpantry.physics.cable_tables import BURIED_METHODS, INSULATIONS
from sunpantry.timegrid import HOURS_PER_YEAR
from sunpantry.wiring.cable_figures import Laying, cable_figures
from sunpantry.wiring.graph import Cable, Role
from sunpantry.wiring.inputs import WiringInputs

_METHOD = {"clipped": "C", "conduit": "B1", "buried": "D2", "free_air": "E"}
# Thinnest copper worth laying [mm²]: strength and connectors; common practice and
# IEC 60364-5-52 table 52.2, from memory.
LEAST_MM2: dict[Role, float] = {
    "string": 4.0,
    "array": 4.0,
    "controller": 2.5,
    "battery": 6.0,
    "main": 6.0,
    "inverter": 6.0,
    "charger": 2.5,
    "board": 2.5,
    "branch": 1.5,
    "lead": 0.5,
    "mains": 1.5,
    "mains_branch": 1.5,
    "supply": 2.5,
}
SMALL_SUN_A = 2.0  # a string below this is a toy of a few watts on thin cable
EARTH_MM2 = 6.0  # bonding that stands by itself (common practice, no source)
# Only the thick cables around the battery are laid in several equal conductors.
MOST_CONDUCTORS = 3
_IN_PARALLEL: tuple[Role, ...] = ("battery", "main", "inverter", "controller")
# Air behind panels in full sun [°C]: the reference of EN 50618.
BEHIND_PANELS_C = 60.0
# Price of a metre of single core: common practice, no source [EUR, EUR/mm²].
PRICE_PER_M, PRICE_PER_M_MM2 = 0.25, 0.20


@dataclass(frozen=True)
class Run:
    """A cable with its size, and what follows from it.

    Parameters
    ----------
    size_mm2 : float
        Standard cross-section of one conductor [mm²].
    conductors : int
        Equal conductors side by side on each pole; 1 unless the current is very large.
    capacity_a : float
        What the run may carry without end [A].
    capacity_needed_a : float
        What its design current or its fuse asks for [A].
    drop_v, drop_pct, target_pct : float
        Voltage lost at the working current with hot copper [V, %], and the aim [%].
    loss_w : float
        Power lost at the working current [W].
    yearly_loss_wh : float or None
        Energy lost in a year [Wh]; ``None`` when no profile of the current is known.
    economic_mm2 : float or None
        Size beyond which more copper no longer pays for itself [mm²].
    limited_by : str
        'voltage drop', 'heat', 'fuse', 'least size' or 'nothing fits'.
    """

    cable: Cable
    insulation: physics.Insulation
    method: str
    size_mm2: float
    conductors: int
    capacity_a: float
    capacity_needed_a: float
    drop_v: float
    drop_pct: float
    target_pct: float
    loss_w: float
    yearly_loss_wh: float | None
    economic_mm2: float | None
    limited_by: str
    in_awg: bool
    figures: tuple[Figure, ...]

    @property
    def label(self) -> str:
        """Size as printed: '4 mm²', 'AWG 10', '2 × 70 mm²'."""
        size = self.size_label
        if self.conductors == 1:
            return size
        return phrase("{conductors} × {size}", conductors=self.conductors, size=size)

    @property
    def size_label(self) -> str:
        """Size of one conductor as printed."""
        if self.in_awg:
            return physics.gauge_for(self.size_mm2)
        return phrase("{size_mm2:g} mm²", size_mm2=self.size_mm2)

    @property
    def fits(self) -> bool:
        """Whether a size was found that meets every demand."""
        return self.limited_by != "nothing fits"

    def loop_ohm(self, *, temperature_c: float = 20.0) -> float:
        """Resistance there and back [Ω]."""
        return _loop_ohm(self.cable, self.size_mm2, self.conductors, temperature_c=temperature_c)


def _laying(cable: Cable, inputs: WiringInputs) -> Laying:
    wiring = inputs.wiring
    air_c = max(wiring.ambient_c, inputs.hottest_c)
    if cable.role in ("string", "array"):
        return Laying("solar", "air", max(BEHIND_PANELS_C, air_c), wiring.grouped)
    if cable.role == "lead":
        return Laying("cord", "air", air_c, 1)
    method = _METHOD[wiring.installation]
    # Inside the battery's corner cables lie on the wall, wherever the long runs lie.
    if cable.role in ("battery", "main", "controller", "inverter", "board", "mains", "charger"):
        method = "C"
    insulation: physics.Insulation = wiring.insulation
    if method not in INSULATIONS[insulation][0]:
        insulation = "pvc"
    around_c = wiring.ambient_c if method in BURIED_METHODS else air_c
    return Laying(insulation, method, around_c, wiring.grouped)


def _loop_ohm(cable: Cable, size_mm2: float, conductors: int, *, temperature_c: float) -> float:
    return (
        physics.loop_resistance_ohm(
            length_m=cable.length_m, size_mm2=size_mm2, temperature_c=temperature_c
        )
        / conductors
    )


def least_mm2(cable: Cable) -> float:
    """Thinnest size worth laying for a cable [mm²]."""
    small = cable.duty is not None and cable.duty.design_a < SMALL_SUN_A
    if cable.role in ("string", "array") and small:
        return 1.5
    return LEAST_MM2[cable.role] if cable.duty else EARTH_MM2


def size_run(cable: Cable, inputs: WiringInputs, *, capacity_needed_a: float) -> Run:
    """Find the smallest standard size that does.

    Parameters
    ----------
    cable : Cable
        With its duty.
    capacity_needed_a : float
        What it must carry without end: the larger of its design current and what its
        fuse demands [A].

    Returns
    -------
    Run
        Where no size does, the largest one with ``limited_by`` 'nothing fits'.
    """
    duty = cable.duty
    if duty is None:
        return _earth_run(cable, inputs)
    laying = _laying(cable, inputs)
    allowed_v = duty.drop_share * duty.base_v
    least = least_mm2(cable)
    found = None
    most = MOST_CONDUCTORS if cable.role in _IN_PARALLEL else 1
    for conductors in range(1, most + 1):
        size = physics.smallest_size_mm2(
            current_a=duty.working_a / conductors,
            capacity_needed_a=capacity_needed_a / conductors,
            length_m=cable.length_m,
            allowed_drop_v=allowed_v,
            method=laying.method,
            insulation=laying.insulation,
            ambient_c=laying.ambient_c,
            circuits=laying.circuits + conductors - 1,
        )
        if size is not None:
            found = (max(size, least), conductors)
            break
    if found is None:
        sizes = [size for size in physics.SIZES_MM2 if laying.capacity_a(size, 1) is not None]
        return _run(
            cable,
            inputs,
            laying,
            sizes[-1],
            most,
            needed_a=capacity_needed_a,
            reason=phrase("nothing fits"),
        )
    reason = _reason(cable, laying, *found, needed_a=capacity_needed_a, least=least)
    return _run(cable, inputs, laying, *found, needed_a=capacity_needed_a, reason=reason)


def _reason(
    cable: Cable,
    laying: Laying,
    size_mm2: float,
    conductors: int,
    *,
    needed_a: float,
    least: float,
) -> str:
    """What forbids the next smaller size."""
    duty = cable.duty
    smaller = [size for size in physics.SIZES_MM2 if size < size_mm2]
    if duty is None or not smaller or size_mm2 <= least:
        return phrase("least size")
    ohm = _loop_ohm(cable, smaller[-1], conductors, temperature_c=laying.hottest_c)
    if duty.working_a * ohm > duty.drop_share * duty.base_v:
        return phrase("voltage drop")
    return "fuse" if needed_a > duty.design_a * (1 + 1e-9) else "heat"


def _run(
    cable: Cable,
    inputs: WiringInputs,
    laying: Laying,
    size_mm2: float,
    conductors: int,
    *,
    needed_a: float,
    reason: str,
) -> Run:
    duty = cable.duty
    if duty is None:
        raise ValueError(f"{cable.id} has no duty")
    drop_v = duty.working_a * _loop_ohm(cable, size_mm2, conductors, temperature_c=laying.hottest_c)
    capacity = laying.capacity_a(size_mm2, conductors) or 0.0
    mean_square = inputs.mean_square_a2.get(cable.key)
    yearly = economic = None
    if mean_square is not None:
        yearly = _yearly_wh(cable, inputs, size_mm2, conductors, mean_square)
    # A lead with plugs comes as thick as it is sold.
    if mean_square is not None and cable.role != "lead":
        economic = economic_size_mm2(cable, inputs, size_mm2, conductors=conductors)
    return Run(
        cable=cable,
        insulation=laying.insulation,
        method=laying.method,
        size_mm2=size_mm2,
        conductors=conductors,
        capacity_a=capacity,
        capacity_needed_a=needed_a,
        drop_v=drop_v,
        drop_pct=100.0 * drop_v / duty.base_v,
        target_pct=100.0 * duty.drop_share,
        loss_w=duty.working_a * drop_v,
        yearly_loss_wh=yearly,
        economic_mm2=economic,
        limited_by=reason,
        in_awg=inputs.wiring.sizes == "awg",
        figures=cable_figures(
            cable, laying, size_mm2, conductors, drop_v=drop_v, capacity_a=capacity
        ),
    )


def _earth_run(cable: Cable, inputs: WiringInputs) -> Run:
    return Run(
        cable=cable,
        insulation="pvc",
        method="C",
        size_mm2=EARTH_MM2,
        conductors=1,
        capacity_a=0.0,
        capacity_needed_a=0.0,
        drop_v=0.0,
        drop_pct=0.0,
        target_pct=0.0,
        loss_w=0.0,
        yearly_loss_wh=None,
        economic_mm2=None,
        limited_by=phrase("least size"),
        in_awg=inputs.wiring.sizes == "awg",
        figures=(),
    )


def _yearly_wh(
    cable: Cable, inputs: WiringInputs, size_mm2: float, conductors: int, mean_square_a2: float
) -> float:
    """Energy lost in a year [Wh]; the copper is taken at the temperature around it."""
    ohm = _loop_ohm(cable, size_mm2, conductors, temperature_c=inputs.wiring.ambient_c)
    return mean_square_a2 * ohm * HOURS_PER_YEAR


def economic_size_mm2(
    cable: Cable, inputs: WiringInputs, size_mm2: float, *, conductors: int = 1
) -> float:
    """Size at which copper and what it wastes over the years cost least together.

    Parameters
    ----------
    cable : Cable
        Its key names the mean square of its current in ``inputs.mean_square_a2``.
    size_mm2 : float
        Smallest size that is allowed [mm²].

    Returns
    -------
    float
        A standard size, at least ``size_mm2`` [mm²]. Energy is valued at
        ``inputs.energy_price`` for ``inputs.copper_years`` without interest.
    """
    mean_square = inputs.mean_square_a2.get(cable.key, 0.0)

    def cost(size: float) -> float:
        wasted_kwh = _yearly_wh(cable, inputs, size, conductors, mean_square) / 1000.0
        copper = conductors * len(cable.start) * cable.length_m * price_per_m(size)
        return copper + wasted_kwh * inputs.copper_years * inputs.energy_price

    return min((size for size in physics.SIZES_MM2 if size >= size_mm2), key=cost)


def price_per_m(size_mm2: float) -> float:
    """Price of a metre of single core [currency/m]; common practice, no source."""
    return PRICE_PER_M + PRICE_PER_M_MM2 * size_mm2
