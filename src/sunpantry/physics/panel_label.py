"""Whether the figures on the back of a panel can be true together.

References
----------
.. [1] M. A. Green, "Accuracy of analytical expressions for solar cell fill factors",
   Solar Cells 7 (1982) 337-340: the largest fill factor a diode allows.
"""

from __future__ import annotations

import math
from dataclasses import dataclass

from sunpantry.errors import PartError, Problem
from sunpantry.physics.panel import BOLTZMANN_EV_PER_K, REFERENCE_K

THERMAL_VOLTAGE_V = BOLTZMANN_EV_PER_K * REFERENCE_K
# Open-circuit voltage of one cell: thin-film cadmium telluride to amorphous silicon.
LEAST_CELL_V, MOST_CELL_V = 0.38, 0.95
LEAST_FILL_FACTOR = 0.40
_AGAIN = "read both again from the label; they are often swapped"


@dataclass(frozen=True, slots=True)
class PanelLabel:
    """The electrical figures of a label at standard test conditions.

    Parameters
    ----------
    power_w : float
        Rated power [W].
    voc_v, vmp_v : float
        Voltages at open circuit and at maximum power [V].
    isc_a, imp_a : float
        Currents at short circuit and at maximum power [A].
    cells : int
        Cells in series; of a half-cut panel, those of one half [-].
    power_tolerance_pct : float
        How far the rated power may lie from voltage × current [%].
    """

    power_w: float
    voc_v: float
    isc_a: float
    vmp_v: float
    imp_a: float
    cells: int
    power_tolerance_pct: float = 5.0

    @property
    def fill_factor(self) -> float:
        """Vmp·Imp/(Voc·Isc) [-]."""
        return self.vmp_v * self.imp_a / (self.voc_v * self.isc_a)


def check_label(label: PanelLabel, *, name: str = "panel") -> None:
    """Refuse a label whose figures contradict each other.

    Parameters
    ----------
    label : PanelLabel
        The figures.
    name : str
        Name of the panel for messages [-].

    Raises
    ------
    PartError
        One problem for each contradiction, all at once.

    References
    ----------
    The largest fill factor from [1]_ in the module docstring; voltages of a cell are
    common knowledge of the trade, no source.
    """
    problems = _not_positive(label, name) or _contradictions(label, name)
    if problems:
        raise PartError(problems)


def ideal_fill_factor(*, voc_v: float, cells: int) -> float:
    """Largest fill factor of cells without any resistance, ideality 0.9.

    Parameters
    ----------
    voc_v : float
        Open-circuit voltage [V].
    cells : int
        Cells in series [-].

    Returns
    -------
    float
        Fill factor [-].

    References
    ----------
    [1]_ in the module docstring. Departure: ideality 0.9 instead of 1, because labels
    of good panels round to values slightly better than an ideal diode.
    """
    v = voc_v / (cells * 0.9 * THERMAL_VOLTAGE_V)
    return (v - math.log(v + 0.72)) / (v + 1.0)


def _not_positive(label: PanelLabel, name: str) -> list[Problem]:
    figures = (
        ("power", label.power_w, "W"),
        ("voc", label.voc_v, "V"),
        ("isc", label.isc_a, "A"),
        ("vmp", label.vmp_v, "V"),
        ("imp", label.imp_a, "A"),
        ("cells", label.cells, ""),
    )
    return [
        Problem(
            f"{name}.{field}",
            f"{value:g} {unit}".strip(),
            "must be above 0",
            "read it again from the label",
        )
        for field, value, unit in figures
        if not (math.isfinite(value) and value > 0.0)
    ]


def _contradictions(label: PanelLabel, name: str) -> list[Problem]:
    problems = []
    if label.vmp_v >= label.voc_v:
        allowed = f"must be below Voc = {label.voc_v:g} V"
        problems.append(Problem(f"{name}.vmp", f"{label.vmp_v:g} V", allowed, _AGAIN))
    if label.imp_a >= label.isc_a:
        allowed = f"must be below Isc = {label.isc_a:g} A"
        problems.append(Problem(f"{name}.imp", f"{label.imp_a:g} A", allowed, _AGAIN))
    product_w = label.vmp_v * label.imp_a
    if abs(product_w / label.power_w - 1.0) > label.power_tolerance_pct / 100.0 + 1e-9:
        problems.append(
            Problem(
                f"{name}.power",
                f"{label.power_w:g} W",
                f"must be Vmp × Imp = {product_w:.4g} W within {label.power_tolerance_pct:g} %",
                "correct the figure that is wrong, or state a wider power_tolerance_pct",
            )
        )
    per_cell_v = label.voc_v / label.cells
    if not LEAST_CELL_V <= per_cell_v <= MOST_CELL_V:
        problems.append(
            Problem(
                f"{name}.cells",
                f"{label.cells}",
                f"gives {per_cell_v:.2f} V a cell at open circuit; "
                f"a cell gives {LEAST_CELL_V:g} to {MOST_CELL_V:g} V",
                f"count the cells in series (about {max(1, round(label.voc_v / 0.62))}; of a "
                "half-cut panel count one half; of thin film count each junction of a stack)",
            )
        )
    elif label.vmp_v < label.voc_v and label.imp_a < label.isc_a:
        best = ideal_fill_factor(voc_v=label.voc_v, cells=label.cells)
        if not LEAST_FILL_FACTOR <= label.fill_factor <= best:
            problems.append(
                Problem(
                    f"{name}.vmp",
                    f"{label.vmp_v:g} V",
                    f"gives a fill factor Vmp·Imp/(Voc·Isc) of {label.fill_factor:.3f}; "
                    f"such cells can give {LEAST_FILL_FACTOR:.2f} to {best:.3f}",
                    "read the four figures again from the label",
                )
            )
    return problems
