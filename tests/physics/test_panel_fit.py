"""From a label to a curve: published fits, the open module list, and labels that lie."""

from __future__ import annotations

import runpy
from pathlib import Path
from typing import Any

import numpy as np
import pytest
from numpy.testing import assert_allclose

from sunpantry.errors import PartError
from sunpantry.physics.array_losses import (
    ageing_factor,
    bypass_groups,
    bypassed_v,
    joining_factor,
    unshaded_v,
)
from sunpantry.physics.panel import maximum_power, open_circuit_voltage, short_circuit_current
from sunpantry.physics.panel_fit import fit_panel
from sunpantry.physics.panel_label import ISC_PCT_PER_K, POWER_PCT_PER_K, VOC_PCT_PER_K

MODULE_LIST = runpy.run_path(str(Path(__file__).parents[2] / "tools" / "fit_module_list.py"))

SIXTY: dict[str, Any] = {
    "power_w": 270.0,
    "voc_v": 38.3,
    "isc_a": 9.43,
    "vmp_v": 31.0,
    "imp_a": 8.71,
    "cells": 60,
    "temp_coeff_voc_pct_per_k": 100 * -0.13788 / 38.3,
    "temp_coeff_isc_pct_per_k": 100 * 0.005658 / 9.43,
}


# Published with pvlib's fit_desoto (its test suite), stated tolerance 0.5 % (5 % for Io).
@pytest.mark.published
def test_five_parameters_of_a_label() -> None:
    model = fit_panel(**SIXTY)
    assert_allclose(model.il_a, 9.45232, rtol=1e-5)
    assert_allclose(model.io_a, 3.22463e-10, rtol=1e-4)
    assert_allclose(model.rs_ohm, 0.29781, rtol=1e-4)
    assert_allclose(model.rsh_ohm, 125.799, rtol=1e-4)
    assert_allclose(model.a_v, 1.59129, rtol=1e-5)


# The list's parameters evaluated by pvlib over the matrix of IEC 61853-1. Asked: median
# below 1.5 %, 95th percentile below 4 %. The whole list gave 0.010 %, 0.019 %, worst 0.99 %
# (tools/fit_module_list.py); so close because the list was itself made from the labels by
# the method of Dobos (2012).
@pytest.mark.independent
def test_open_module_list_from_labels_alone() -> None:
    rows = MODULE_LIST["module_list"]().sample(250, random_state=5)
    errors, refused = MODULE_LIST["errors_pct"](rows)
    assert len(errors) >= 240
    assert set(refused) <= {"cells"}
    assert errors.median() < 0.05
    assert errors.quantile(0.95) < 0.2


# 381 crystalline modules measured outdoors by Sandia (list of 2015 in pvlib), whose curves
# owe nothing to the single-diode model. No tolerance is published. Found: median error
# 2.9 %, bias +1.5 %; the model promises too much in dim light, +4 % at 200 W/m².
@pytest.mark.published
def test_modules_measured_outdoors() -> None:
    rows = MODULE_LIST["measured_modules"]().sample(150, random_state=5)
    errors = MODULE_LIST["measured_errors_pct"](rows)
    assert errors["rms"].median() < 3.5
    assert 0.0 < errors["mean"].median() < 2.5
    assert 2.0 < errors["dim"].median() < 5.0


ODD_LABELS: dict[str, dict[str, Any]] = {
    "travel panel for 5 V": {
        "power_w": 5.0, "voc_v": 6.9, "isc_a": 0.93, "vmp_v": 5.8, "imp_a": 0.86, "cells": 11,
    },
    "old 36 cells": {
        "power_w": 50.0, "voc_v": 21.6, "isc_a": 3.2, "vmp_v": 17.2, "imp_a": 2.91, "cells": 36,
        "temp_coeff_power_pct_per_k": -0.5,
    },
    "amorphous": {
        "power_w": 12.0, "voc_v": 24.0, "isc_a": 0.95, "vmp_v": 16.8, "imp_a": 0.71, "cells": 28,
        "temp_coeff_voc_pct_per_k": -0.3, "temp_coeff_power_pct_per_k": -0.2,
    },
    "half-cut": {
        "power_w": 410.0, "voc_v": 37.3, "isc_a": 13.9, "vmp_v": 31.3, "imp_a": 13.1, "cells": 54,
        "temp_coeff_voc_pct_per_k": -0.26, "temp_coeff_power_pct_per_k": -0.34,
    },
    "72 cells": {
        "power_w": 330.0, "voc_v": 46.2, "isc_a": 9.2, "vmp_v": 37.8, "imp_a": 8.73, "cells": 72,
        "temp_coeff_power_pct_per_k": -0.40,
    },
    "single cell": {
        "power_w": 0.5, "voc_v": 0.6, "isc_a": 1.2, "vmp_v": 0.48, "imp_a": 1.05, "cells": 1,
    },
}  # fmt: skip


# The curve must pass through the four points it was fitted to.
@pytest.mark.analytic
@pytest.mark.parametrize("name", ODD_LABELS)
def test_curve_passes_through_its_label(name: str) -> None:
    label = ODD_LABELS[name]
    model = fit_panel(**label)
    at = {"irradiance_w_m2": 1000.0, "cell_temperature_c": 25.0}
    point = maximum_power(model, **at)
    assert_allclose(point.voltage_v, label["vmp_v"], rtol=1e-6)
    assert_allclose(point.current_a, label["imp_a"], rtol=1e-6)
    assert_allclose(open_circuit_voltage(model, **at), label["voc_v"], rtol=1e-6)
    isc = float(short_circuit_current(model, **at))
    assert_allclose(isc, label["isc_a"], rtol=0.06)
    assert_allclose(100 * abs(isc / label["isc_a"] - 1), model.label_error_pct, atol=1e-6)
    assert model.rs_ohm >= 0.0
    assert model.rsh_ohm > 0.0


@pytest.mark.analytic
def test_power_coefficient_is_met() -> None:
    model = fit_panel(**SIXTY, temp_coeff_power_pct_per_k=-0.40)
    cold, mild, hot = maximum_power(
        model, irradiance_w_m2=1000.0, cell_temperature_c=[-10.0, 25.0, 50.0]
    ).power_w
    assert_allclose(100 * (hot - cold) / (60 * mild), -0.40, atol=1e-4)


@pytest.mark.regression
@pytest.mark.parametrize(
    ("change", "field", "message"),
    [
        ({"vmp_v": 38.3}, "vmp", "must be below Voc"),
        ({"imp_a": 9.43, "power_w": 292.0}, "imp", "must be below Isc"),
        ({"power_w": 300.0}, "power", "must be Vmp × Imp"),
        ({"cells": 120}, "cells", "half-cut"),
        ({"cells": 36}, "cells", "0.38 to 0.95"),
        ({"vmp_v": 36.0, "imp_a": 9.3, "power_w": 335.0}, "vmp", "fill factor"),
        ({"vmp_v": 15.0, "imp_a": 8.0, "power_w": 120.0}, "vmp", "fill factor"),
        ({"temp_coeff_voc_pct_per_k": 0.33}, "temp_coeff_voc", "with a minus"),
        ({"temp_coeff_voc_pct_per_k": -0.0033}, "temp_coeff_voc", "in per cent"),
        ({"temp_coeff_voc_pct_per_k": -1.5}, "temp_coeff_voc", "with its unit"),
        ({"temp_coeff_power_pct_per_k": 0.45}, "temp_coeff_power", "with a minus"),
        ({"temp_coeff_power_pct_per_k": -0.0045}, "temp_coeff_power", "in per cent"),
        ({"temp_coeff_isc_pct_per_k": 2.0}, "temp_coeff_isc", "-0.2 to 0.6"),
        ({"isc_a": 0.0}, "isc", "above 0"),
        ({"voc_v": float("nan")}, "voc", "above 0"),
    ],
)
def test_label_that_contradicts_itself_is_refused(
    change: dict[str, float], field: str, message: str
) -> None:
    with pytest.raises(PartError, match=message) as raised:
        fit_panel(**{**SIXTY, **change}, name="mine")
    assert raised.value.problems[0].where == f"mine.{field}"


@pytest.mark.regression
def test_every_contradiction_is_told_at_once() -> None:
    with pytest.raises(PartError) as raised:
        fit_panel(**{**SIXTY, "vmp_v": 40.0, "imp_a": 9.9})
    assert [problem.where for problem in raised.value.problems] == [
        "panel.vmp",
        "panel.imp",
        "panel.power",
    ]


# Every module of the CEC list that pvlib ships: what is allowed must not refuse a real panel.
@pytest.mark.published
def test_coefficients_of_real_panels_are_allowed() -> None:
    rows = MODULE_LIST["module_list"]()
    for values, (low, high) in (
        (100.0 * rows.beta_oc / rows.V_oc_ref, VOC_PCT_PER_K),
        (100.0 * rows.alpha_sc / rows.I_sc_ref, ISC_PCT_PER_K),
        (rows.gamma_r, POWER_PCT_PER_K),
    ):
        assert low <= values.min()
        assert values.max() <= high


# A label of random figures is met within what the model tells of itself, or refused with a
# reason; nothing else.
@pytest.mark.analytic
def test_any_label_is_fitted_or_refused() -> None:
    rng = np.random.default_rng(11)
    fitted = 0
    for _ in range(300):
        cells = int(rng.choice([1, 11, 33, 36, 60, 72, 96, 144]))
        voc, isc = cells * rng.uniform(0.35, 0.8), 10.0 ** rng.uniform(-1.0, 1.3)
        vmp, imp = voc * rng.uniform(0.7, 0.9), isc * rng.uniform(0.75, 0.99)
        power_pct = float(rng.uniform(-0.6, -0.2))
        try:
            model = fit_panel(
                power_w=vmp * imp, voc_v=voc, isc_a=isc, vmp_v=vmp, imp_a=imp, cells=cells,
                temp_coeff_voc_pct_per_k=float(rng.uniform(-0.5, -0.2)),
                temp_coeff_power_pct_per_k=power_pct,
            )  # fmt: skip
        except PartError:
            continue
        fitted += 1
        cold, mild, hot = maximum_power(
            model, irradiance_w_m2=1000.0, cell_temperature_c=[-10.0, 25.0, 50.0]
        ).power_w
        within = model.label_error_pct / 100.0 + 1e-6
        assert_allclose(mild, vmp * imp, rtol=within)
        slope = power_pct + model.power_coeff_error_pct_per_k
        assert_allclose(100 * (hot - cold) / (60 * mild), slope, atol=1e-6)
    assert fitted > 150


@pytest.mark.analytic
def test_losses_of_an_array() -> None:
    assert_allclose(ageing_factor(years=2, loss_pct_per_year=1.0), 0.9801, rtol=1e-12)
    assert joining_factor(panels=1, leads_fraction=0.0) == 1.0
    assert_allclose(joining_factor(panels=4), 0.98 * 0.99, rtol=1e-12)
    # One of three groups bypassed: two thirds of 30 V less half a volt.
    volts = np.array([30.0, 0.3])
    assert_allclose(bypassed_v(volts, cells=60, shaded_groups=1), [19.5, 0.0])
    assert_allclose(bypassed_v(volts, cells=60, shaded_groups=0), volts)
    assert_allclose(bypassed_v(volts, cells=36, shaded_groups=2), 0.0)
    back = unshaded_v(np.array([19.5]), cells=60, shaded_groups=1)
    assert_allclose(back, 30.0)
    assert [bypass_groups(cells) for cells in (11, 36, 54, 60, 72, 96)] == [1, 2, 3, 3, 3, 4]


# The whole curve with a group bypassed, by pvlib's solution of the single diode: the power that
# a tracker finds there, against the simple factor at an unchanged current.
@pytest.mark.independent
@pytest.mark.parametrize("shaded", [1, 2])
@pytest.mark.parametrize("light", [150.0, 600.0, 1000.0])
def test_part_shade_factor_against_the_curve(shaded: int, light: float) -> None:
    import pvlib

    model = fit_panel(**SIXTY, temp_coeff_power_pct_per_k=-0.42)
    five = pvlib.pvsystem.calcparams_desoto(
        light, 25.0, model.alpha_a_per_k, model.a_v, model.il_a, model.io_a, model.rsh_ohm,
        model.rs_ohm,
    )  # fmt: skip
    amps = np.linspace(0.0, float(five[0]), 4001)
    volts = pvlib.pvsystem.v_from_i(amps, *five)
    whole = (amps * volts).max()
    at_best = volts[int((amps * volts).argmax())]
    left = ((3 - shaded) / 3.0 * volts - 0.5 * shaded) * amps
    factor = bypassed_v(np.array([at_best]), cells=60, shaded_groups=shaded)[0] / at_best
    assert_allclose(factor, left.max() / whole, rtol=0.01)


@pytest.mark.conservation
def test_more_light_and_colder_cells_never_give_less() -> None:
    model = fit_panel(**SIXTY, temp_coeff_power_pct_per_k=-0.42)
    light = np.linspace(0.0, 1300.0, 80)[:, None]
    warmth = np.linspace(-40.0, 90.0, 60)[None, :]
    power = maximum_power(model, irradiance_w_m2=light, cell_temperature_c=warmth).power_w
    assert (np.diff(power, axis=0) > 0.0).all()
    assert (np.diff(power[1:], axis=1) < 0.0).all()
