"""Unlike arrays on one tracker, against the sum of their whole curves."""

from __future__ import annotations

from typing import Any

import numpy as np
import pvlib
import pytest
from numpy.testing import assert_allclose

from sunpantry.physics.joined_arrays import common_maximum, power_share
from sunpantry.physics.panel_fit import fit_panel

SIXTY: dict[str, Any] = {
    "power_w": 270.0, "voc_v": 38.3, "isc_a": 9.43, "vmp_v": 31.0, "imp_a": 8.71, "cells": 60,
    "temp_coeff_voc_pct_per_k": -0.31, "temp_coeff_isc_pct_per_k": 0.05,
    "temp_coeff_power_pct_per_k": -0.41,
}  # fmt: skip
SEVENTY_TWO: dict[str, Any] = {
    "power_w": 330.0, "voc_v": 45.6, "isc_a": 9.3, "vmp_v": 37.6, "imp_a": 8.78, "cells": 72,
    "temp_coeff_voc_pct_per_k": -0.31, "temp_coeff_isc_pct_per_k": 0.05,
    "temp_coeff_power_pct_per_k": -0.40,
}  # fmt: skip


def curve(label: dict[str, Any], light: float, volts: np.ndarray) -> np.ndarray:
    """Current by pvlib at given voltages, none of it backwards."""
    model = fit_panel(**label)
    five = pvlib.pvsystem.calcparams_desoto(
        light, 25.0, model.alpha_a_per_k, model.a_v, model.il_a, model.io_a, model.rsh_ohm,
        model.rs_ohm,
    )  # fmt: skip
    amps: np.ndarray = np.maximum(pvlib.pvsystem.i_from_v(volts, *five), 0.0)
    return amps


def alone(label: dict[str, Any], light: float) -> tuple[float, float, float]:
    """Maximum power, its voltage and that without load, from the same curve."""
    volts = np.linspace(0.0, 50.0, 20001)
    power = volts * curve(label, light, volts)
    return power.max(), volts[power.argmax()], volts[power > 0.0].max()


# The other computation adds up the single-diode curves of pvlib and looks for the maximum.
@pytest.mark.independent
@pytest.mark.parametrize(
    ("one", "other", "lights", "tolerance"),
    [
        (SIXTY, SIXTY, (800.0, 250.0), 0.005),  # east and west
        (SIXTY, SIXTY, (1000.0, 60.0), 0.005),
        (SIXTY, SEVENTY_TWO, (900.0, 900.0), 0.03),  # unlike strings
        (SIXTY, SEVENTY_TWO, (900.0, 300.0), 0.03),
        (SIXTY, SEVENTY_TWO, (200.0, 900.0), 0.03),
    ],
)
def test_common_maximum_against_the_curves(
    one: dict[str, Any], other: dict[str, Any], lights: tuple[float, float], tolerance: float
) -> None:
    own = np.array([alone(one, lights[0]), alone(other, lights[1])])
    power, best_v, _ = common_maximum(own[:, :1], own[:, 1:2], own[:, 2:])
    volts = np.linspace(0.0, 50.0, 20001)
    whole = volts * (curve(one, lights[0], volts) + curve(other, lights[1], volts))
    assert_allclose(power[0], whole.max(), rtol=tolerance)
    assert_allclose(best_v[0], volts[whole.argmax()], atol=1.5)
    assert power[0] <= own[:, 0].sum() * (1.0 + 1e-12)


@pytest.mark.analytic
def test_like_arrays_lose_nothing_and_dark_ones_do_not_count() -> None:
    power = np.array([[100.0, 100.0, 0.0], [50.0, 0.0, 0.0]])
    best, unloaded = np.where(power > 0, 30.0, 0.0), np.where(power > 0, 37.0, 0.0)
    whole, volts, open_v = common_maximum(power, best, unloaded)
    assert_allclose(whole, [150.0, 100.0, 0.0])
    assert_allclose(volts, [30.0, 30.0, 0.0])
    assert_allclose(open_v, [37.0, 37.0, 0.0])


@pytest.mark.analytic
def test_share_has_its_maximum_where_it_says() -> None:
    volts = np.linspace(0.0, 40.0, 8001)
    share = power_share(volts, best_v=np.array(30.0), no_load_v=np.array(37.0))
    assert_allclose(volts[share.argmax()], 30.0, atol=0.01)
    assert_allclose(share.max(), 1.0)
    assert share[volts > 37.0].max() == 0.0
