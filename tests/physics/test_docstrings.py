"""Every model says where it holds, where it leaves its source, and what that is."""

from __future__ import annotations

from importlib import import_module

import pytest

MODELS = (
    "ageing", "battery", "battery_step", "cell_temperature", "chemistry", "converter",
    "electrolyte", "enclosure", "inverter", "joined_arrays", "kinetic", "panel_fit",
    "water_loss",
)  # fmt: skip


@pytest.mark.regression
@pytest.mark.parametrize("name", MODELS)
def test_models_say_where_they_hold(name: str) -> None:
    told = import_module(f"sunpantry.physics.{name}").__doc__ or ""
    assert "References" in told
    assert "Departures" in told
    assert "Validity" in told or "Valid " in told
