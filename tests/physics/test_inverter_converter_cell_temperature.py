"""Inverter losses, DC converters and cell temperature against published figures."""

from __future__ import annotations

import numpy as np
import pytest
from numpy.testing import assert_allclose

from sunpantry.errors import PartError
from sunpantry.physics.cell_temperature import (
    cell_temperature_faiman,
    cell_temperature_noct,
    cell_temperature_sandia,
)
from sunpantry.physics.converter import converter_input_w, converter_output_w
from sunpantry.physics.inverter import (
    InverterModel,
    californian_efficiency,
    european_efficiency,
    fit_inverter,
)

# Check sheet IN3: a curve made up for the purpose, weighted by the published weights.
CURVE = {0.05: 0.80, 0.10: 0.87, 0.20: 0.91, 0.30: 0.925, 0.50: 0.93, 0.75: 0.92, 1.0: 0.90}


@pytest.mark.published
def test_weighted_efficiencies() -> None:
    assert_allclose(european_efficiency(CURVE.__getitem__), 0.9134, atol=5e-5)
    assert_allclose(californian_efficiency(CURVE.__getitem__), 0.9192, atol=5e-5)


# Check sheet IN4, loss model of Schmidt & Sauer (1996): P0 1 %, k1 2 %, k2 5 % of the rating.
@pytest.mark.published
def test_quadratic_losses() -> None:
    model = InverterModel(rated_w=1000.0, p0_w=10.0, k1=0.02, k2_per_w=0.05 / 1000.0)
    assert_allclose(model.efficiency([100.0, 500.0, 1000.0]), [0.8889, 0.9390, 0.9259], atol=5e-5)
    fine = np.linspace(1.0, 1000.0, 9991)
    best = fine[np.argmax(model.efficiency(fine))]
    assert_allclose(best / 1000.0, 0.447, atol=5e-4)
    assert model.efficiency(0.0) == 0.0
    assert model.input_power_w(0.0) == 10.0


# The model must give back the three figures it was fitted to.
@pytest.mark.analytic
@pytest.mark.parametrize(
    ("idle", "peak", "rated"), [(6.0, 0.91, 0.86), (20.0, 0.94, 0.94), (0.0, 0.92, 0.85)]
)
def test_fit_meets_the_label(idle: float, peak: float, rated: float) -> None:
    model = fit_inverter(rated_w=600.0, idle_w=idle, peak_efficiency=peak, rated_efficiency=rated)
    power = np.linspace(0.01, 600.0, 60_000)
    assert_allclose(model.efficiency(600.0), rated, rtol=1e-12)
    assert_allclose(model.efficiency(power).max(), peak, rtol=1e-4)
    assert model.input_power_w(0.0) == idle


@pytest.mark.analytic
def test_fit_keeps_the_rating_where_the_label_asks_too_much() -> None:
    model = fit_inverter(rated_w=150.0, idle_w=6.0, peak_efficiency=0.95, rated_efficiency=0.88)
    assert model.k1 == 0.0
    assert_allclose(model.efficiency(150.0), 0.88, rtol=1e-12)
    hungry = fit_inverter(rated_w=150.0, idle_w=40.0, peak_efficiency=0.9, rated_efficiency=0.88)
    assert (hungry.k1, hungry.k2_per_w) == (0.0, 0.0)


@pytest.mark.regression
def test_impossible_efficiencies_are_refused() -> None:
    with pytest.raises(PartError, match="at least the rated efficiency"):
        fit_inverter(rated_w=1.0, idle_w=0.0, peak_efficiency=0.8, rated_efficiency=0.9)
    with pytest.raises(PartError, match="at most 100 %"):
        fit_inverter(rated_w=1.0, idle_w=0.0, peak_efficiency=1.1, rated_efficiency=0.9)


@pytest.mark.analytic
def test_converter_meets_its_label_and_inverts() -> None:
    label = {"rated_w": 60.0, "efficiency": 0.9, "idle_w": 0.5}
    assert_allclose(converter_input_w([0.0, 60.0], **label), [0.5, 60.0 / 0.9], rtol=1e-12)
    out = np.linspace(0.0, 60.0, 13)
    assert_allclose(converter_output_w(converter_input_w(out, **label), **label), out, atol=1e-12)
    assert converter_output_w(500.0, **label) == 60.0
    assert converter_output_w(0.2, **label) == 0.0


# Check sheet CT1-CT5: closed forms of IEC 61215, Faiman (2008) as in the documentation of
# pvlib, and King et al. (2004); tolerance 0.01 K.
@pytest.mark.published
def test_cell_temperatures() -> None:
    noct = cell_temperature_noct(
        air_temperature_c=25.0, irradiance_w_m2=[800.0, 1000.0], noct_c=45.0
    )
    assert_allclose(noct, [50.0, 56.25], atol=1e-9)
    assert_allclose(
        cell_temperature_faiman(
            air_temperature_c=[20.0, 25.0, 25.0],
            irradiance_w_m2=[800.0, 1000.0, 1000.0],
            wind_m_s=[1.0, 1.0, 3.0],
        ),
        [45.126, 56.407, 46.968],
        atol=0.001,
    )
    assert_allclose(
        cell_temperature_sandia(air_temperature_c=25.0, irradiance_w_m2=1000.0), 54.384, atol=0.001
    )
