"""Fit modules of two open lists from their labels alone and compare the power.

Run ``python tools/fit_module_list.py`` (about two minutes). The matrix is that of
IEC 61853-1 (irradiance 100…1100 W/m², cell 15…75 °C, without the corners the standard
leaves out). The references are the CEC list's own parameters evaluated by pvlib, and the
crystalline modules that Sandia measured outdoors, by the Sandia model. The first were
made from labels, the second from measurements. A module counts with the root mean square
of its relative errors over the matrix.
"""

from __future__ import annotations

import sys
from collections import Counter

import numpy as np
import pandas as pd
import pvlib
from numpy.typing import NDArray

from sunpantry.errors import PartError
from sunpantry.physics.panel import PanelModel, maximum_power
from sunpantry.physics.panel_fit import fit_panel

# IEC 61853-1:2011, table 2: cell temperature [°C] -> irradiances measured there [W/m²].
MATRIX = {
    15.0: (100.0, 200.0, 400.0, 600.0, 800.0, 1000.0),
    25.0: (100.0, 200.0, 400.0, 600.0, 800.0, 1000.0, 1100.0),
    50.0: (400.0, 600.0, 800.0, 1000.0, 1100.0),
    75.0: (600.0, 800.0, 1000.0, 1100.0),
}
LIGHT = np.array([g for lights in MATRIX.values() for g in lights])
WARMTH = np.array([t for t, lights in MATRIX.items() for _ in lights])


def module_list() -> pd.DataFrame:
    """The CEC module list shipped in pvlib, one module a row."""
    return pd.DataFrame(pvlib.pvsystem.retrieve_sam("cecmod")).T


def fitted(row: pd.Series) -> PanelModel:
    """Fit one module from the figures that its label carries."""
    voc, isc = float(row.V_oc_ref), float(row.I_sc_ref)
    return fit_panel(
        power_w=float(row.V_mp_ref) * float(row.I_mp_ref),
        voc_v=voc,
        isc_a=isc,
        vmp_v=float(row.V_mp_ref),
        imp_a=float(row.I_mp_ref),
        cells=int(row.N_s),
        temp_coeff_voc_pct_per_k=100.0 * float(row.beta_oc) / voc,
        temp_coeff_isc_pct_per_k=100.0 * float(row.alpha_sc) / isc,
        temp_coeff_power_pct_per_k=float(row.gamma_r),
        name=str(row.name),
    )


def reference_power(row: pd.Series) -> NDArray[np.float64]:
    """Maximum power over the matrix by pvlib from the list's own parameters [W]."""
    at = pvlib.pvsystem.calcparams_cec(
        LIGHT,
        WARMTH,
        float(row.alpha_sc),
        float(row.a_ref),
        float(row.I_L_ref),
        float(row.I_o_ref),
        float(row.R_sh_ref),
        float(row.R_s),
        float(row.Adjust),
    )
    point = pvlib.pvsystem.max_power_point(*at, method="newton")
    return np.asarray(point["p_mp"], dtype=np.float64)


def departure(model: PanelModel, reference_w: NDArray[np.float64]) -> NDArray[np.float64]:
    """Relative errors over the matrix [-]."""
    got = maximum_power(model, irradiance_w_m2=LIGHT, cell_temperature_c=WARMTH).power_w
    return np.asarray(got / reference_w - 1.0)


def errors_pct(rows: pd.DataFrame) -> tuple[pd.Series, Counter[str]]:
    """Root mean square error of each module [%], and the reasons of the refused."""
    found: dict[str, float] = {}
    refused: Counter[str] = Counter()
    for name, row in rows.iterrows():
        try:
            model = fitted(row)
        except PartError as error:
            refused[error.problems[0].where.rsplit(".", 1)[1]] += 1
            continue
        errors = departure(model, reference_power(row))
        found[str(name)] = float(100.0 * np.sqrt(np.mean(errors**2)))
    return pd.Series(found), refused


def measured_modules() -> pd.DataFrame:
    """Crystalline modules of the Sandia list shipped in pvlib, one module a row."""
    rows = pd.DataFrame(pvlib.pvsystem.retrieve_sam("sandiamod")).T
    return rows[rows["Material"].isin(["c-Si", "mc-Si"])]


def measured_errors_pct(rows: pd.DataFrame) -> pd.DataFrame:
    """Root mean square and mean error of each module, and that at 200 W/m² and 25 °C [%]."""
    dim = int(np.flatnonzero((LIGHT == 200.0) & (WARMTH == 25.0))[0])
    found = {}
    for name, row in rows.iterrows():
        voc, vmp = float(row.Voco), float(row.Vmpo)
        model = fit_panel(
            power_w=vmp * float(row.Impo),
            voc_v=voc,
            isc_a=float(row.Isco),
            vmp_v=vmp,
            imp_a=float(row.Impo),
            cells=int(row.Cells_in_Series),
            temp_coeff_voc_pct_per_k=100.0 * float(row.Bvoco) / voc,
            temp_coeff_isc_pct_per_k=100.0 * float(row.Aisc),
            temp_coeff_power_pct_per_k=100.0 * (float(row.Aimp) + float(row.Bvmpo) / vmp),
            name=str(name),
        )
        point = pvlib.pvsystem.sapm(LIGHT, WARMTH, row)
        errors = 100.0 * departure(model, np.asarray(point["p_mp"], dtype=np.float64))
        found[str(name)] = {
            "rms": float(np.sqrt(np.mean(errors**2))),
            "mean": float(errors.mean()),
            "dim": float(errors[dim]),
        }
    return pd.DataFrame(found).T


def main() -> None:
    """Print the figures for the whole list, or for a seeded sample of a given size."""
    rows = module_list()
    if len(sys.argv) > 1:
        rows = rows.sample(int(sys.argv[1]), random_state=1)
    errors, refused = errors_pct(rows)
    print(f"modules {len(rows)}, fitted {len(errors)}, refused {dict(refused)}")
    for share in (0.5, 0.9, 0.95, 0.99, 1.0):
        print(f"quantile {share:4.2f}: {errors.quantile(share):.3f} %")
    print(errors.nlargest(15).to_string())
    measured = measured_errors_pct(measured_modules())
    print(f"measured outdoors: {len(measured)} modules")
    print(measured.quantile([0.05, 0.5, 0.95]).round(2).to_string())


if __name__ == "__main__":
    main()
