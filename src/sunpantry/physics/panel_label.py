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
from sunpantry.phrases import phrase
from sunpantry.physics.panel import BOLTZMANN_EV_PER_K, REFERENCE_K

THERMAL_VOLTAGE_V = BOLTZMANN_EV_PER_K * REFERENCE_K
# Open-circuit voltage of one cell: thin-film cadmium telluride to amorphous silicon.
LEAST_CELL_V, MOST_CELL_V = 0.38, 0.95
LEAST_FILL_FACTOR = 0.40
# Temperature coefficients that a label may carry [%/K]: somewhat wider than the open CEC list
# of 21 535 modules, where they run from -0.85 to -0.17, -0.14 to 0.53 and -0.68 to -0.17.
VOC_PCT_PER_K = (-1.0, -0.10)
ISC_PCT_PER_K = (-0.20, 0.60)
POWER_PCT_PER_K = (-1.0, -0.05)
_AGAIN = phrase("read both again from the label; they are often swapped")


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
    temp_coeff_voc_pct_per_k, temp_coeff_isc_pct_per_k, temp_coeff_power_pct_per_k : float or None
        Temperature coefficients [%/K]; ``None`` where the label has none.
    """

    power_w: float
    voc_v: float
    isc_a: float
    vmp_v: float
    imp_a: float
    cells: int
    power_tolerance_pct: float = 5.0
    temp_coeff_voc_pct_per_k: float | None = None
    temp_coeff_isc_pct_per_k: float | None = None
    temp_coeff_power_pct_per_k: float | None = None

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
    The largest fill factor from [1]_ in the module docstring; temperature coefficients from
    the CEC list that pvlib ships; voltages of a cell are common knowledge of the trade, no
    source.
    """
    problems = _not_positive(label, name) or _contradictions(label, name)
    problems += _coefficients(label, name)
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
            phrase("must be above 0"),
            phrase("read it again from the label"),
        )
        for field, value, unit in figures
        if not (math.isfinite(value) and value > 0.0)
    ]


def _contradictions(label: PanelLabel, name: str) -> list[Problem]:
    problems = []
    if label.vmp_v >= label.voc_v:
        allowed = phrase("must be below Voc = {voc_v:g} V", voc_v=label.voc_v)
        problems.append(Problem(f"{name}.vmp", f"{label.vmp_v:g} V", allowed, _AGAIN))
    if label.imp_a >= label.isc_a:
        allowed = phrase("must be below Isc = {isc_a:g} A", isc_a=label.isc_a)
        problems.append(Problem(f"{name}.imp", f"{label.imp_a:g} A", allowed, _AGAIN))
    product_w = label.vmp_v * label.imp_a
    if abs(product_w / label.power_w - 1.0) > label.power_tolerance_pct / 100.0 + 1e-9:
        problems.append(
            Problem(
                f"{name}.power",
                f"{label.power_w:g} W",
                phrase(
                    "must be Vmp × Imp = {product_w:.4g} W within {tolerance:g} %",
                    product_w=product_w,
                    tolerance=label.power_tolerance_pct,
                ),
                phrase("correct the figure that is wrong, or state a wider power_tolerance"),
            )
        )
    per_cell_v = label.voc_v / label.cells
    if not LEAST_CELL_V <= per_cell_v <= MOST_CELL_V:
        problems.append(_wrong_cells(label, per_cell_v, name))
    elif label.vmp_v < label.voc_v and label.imp_a < label.isc_a:
        best = ideal_fill_factor(voc_v=label.voc_v, cells=label.cells)
        if not LEAST_FILL_FACTOR <= label.fill_factor <= best:
            problems.append(
                Problem(
                    f"{name}.vmp",
                    f"{label.vmp_v:g} V",
                    phrase(
                        "gives a fill factor Vmp·Imp/(Voc·Isc) of {factor:.3f}; such cells can "
                        "give {least:.2f} to {best:.3f}",
                        factor=label.fill_factor,
                        least=LEAST_FILL_FACTOR,
                        best=best,
                    ),
                    phrase("read the four figures again from the label"),
                )
            )
    return problems


def _wrong_cells(label: PanelLabel, per_cell_v: float, name: str) -> Problem:
    return Problem(
        f"{name}.cells",
        f"{label.cells}",
        phrase(
            "gives {per_cell_v:.2f} V a cell at open circuit; a cell gives {least_v:g} to "
            "{most_v:g} V",
            per_cell_v=per_cell_v,
            least_v=LEAST_CELL_V,
            most_v=MOST_CELL_V,
        ),
        phrase(
            "count the cells in series (about {count}; of a half-cut panel count one half; of "
            "thin film count each junction of a stack)",
            count=max(1, round(label.voc_v / 0.62)),
        ),
    )


def _coefficients(label: PanelLabel, name: str) -> list[Problem]:
    """Signs that are wrong, and units that are not per cent."""
    problems = []
    for field, value, (low, high) in (
        ("temp_coeff_voc", label.temp_coeff_voc_pct_per_k, VOC_PCT_PER_K),
        ("temp_coeff_isc", label.temp_coeff_isc_pct_per_k, ISC_PCT_PER_K),
        ("temp_coeff_power", label.temp_coeff_power_pct_per_k, POWER_PCT_PER_K),
    ):
        if value is None or low <= value <= high:
            continue
        if field != "temp_coeff_isc" and value > 0.0:
            remedy = phrase("write it with a minus: a panel loses it as it warms")
        elif low < value:
            remedy = phrase("write it in per cent: -0.0033 per kelvin is -0.33 %/K")
        else:
            remedy = phrase("read it again from the label, with its unit (%/K, mV/K, mA/K or W/K)")
        problems.append(
            Problem(
                f"{name}.{field}",
                f"{value:g} %/K",
                phrase("must be from {low:g} to {high:g} %/K", low=low, high=high),
                remedy,
            )
        )
    return problems
