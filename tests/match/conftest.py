"""A small builder of cases: plain labels, each figure easily replaced."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import replace
from typing import Any

import pytest

from sunpantry.design.nameplates import (
    BatteryNameplate,
    ControllerNameplate,
    ConverterNameplate,
    InverterNameplate,
    PanelNameplate,
)
from sunpantry.match.case import Case, Choices, LoadFacts
from sunpantry.parts.system import Array, Bank, System

# Module SD8 of the check values, a 36-cell entry of the open CEC list.
PANEL: dict[str, Any] = {
    "name": "36-cell panel",
    "power_w": 95.16,
    "voc_v": 22.5,
    "isc_a": 5.529,
    "vmp_v": 18.3,
    "imp_a": 5.2,
    "cells": 36,
    "temp_coeff_voc_pct_per_k": -0.33,
    "temp_coeff_power_pct_per_k": -0.45,
    "price": 100.0,
}
BATTERY: dict[str, Any] = {
    "name": "AGM 100",
    "chemistry": "agm",
    "nominal_v": 12.0,
    "capacity_ah": 100.0,
    "max_charge_a": 25.0,
    "max_discharge_a": 200.0,
}
CONTROLLER: dict[str, Any] = {
    "name": "controller",
    "kind": "pwm",
    "rated_a": 10.0,
    "max_pv_voc_v": 50.0,
    "load_output_a": 10.0,
    "disconnect_v": 11.5,
    "temperature_sensor": True,
}
INVERTER: dict[str, Any] = {
    "name": "inverter",
    "rated_w": 300.0,
    "surge_w": 600.0,
    "idle_w": 6.0,
    "cutoff_v": 11.5,
}
CONVERTER: dict[str, Any] = {
    "name": "USB adaptor",
    "input_min_v": 9.0,
    "input_max_v": 36.0,
    "output_v": 5.0,
    "rated_w": 15.0,
}
TILT = (35.0,) * 12
Build = Callable[..., Case]


def make_case(
    *,
    panel: dict[str, Any] | None = None,
    controller: dict[str, Any] | None = None,
    battery: dict[str, Any] | None = None,
    inverter: dict[str, Any] | None = None,
    converters: Sequence[dict[str, Any]] = (),
    wiring: tuple[int, int] = (1, 1),
    bank: tuple[int, int] = (1, 1),
    without: Sequence[str] = (),
    bank_v: float = 12.0,
    **rest: Any,
) -> Case:
    """Make a case; a dict replaces figures of the plain label, ``without`` leaves parts out."""
    labels = {"panel": panel, "controller": controller, "battery": battery}
    fields = {role: {} if label is None else label for role, label in labels.items()}
    array = Array(
        PanelNameplate(**{**PANEL, **fields["panel"]}),
        *wiring,
        rest.pop("tilt_deg", TILT),
        rest.pop("azimuth_deg", 180.0),
        owned=rest.pop("panels_owned", 0),
    )
    store = Bank(
        BatteryNameplate(**{**BATTERY, **fields["battery"]}),
        *bank,
        housing=rest.pop("housing", "shed"),
        owned=rest.pop("batteries_owned", 0),
    )
    system = System(
        bank_v,
        () if "panel" in without else (array, *rest.pop("more_arrays", ())),
        None if "battery" in without else store,
        None
        if "controller" in without
        else ControllerNameplate(**{**CONTROLLER, **fields["controller"]}),
        None if inverter is None else InverterNameplate(**{**INVERTER, **inverter}),
        tuple(ConverterNameplate(**{**CONVERTER, **one}) for one in converters),
        rest.pop("controller_count", 1),
    )
    choices = Choices(**rest.pop("choices", {}))
    loads = tuple(LoadFacts(**one) for one in rest.pop("loads", ()))
    case = Case(system, choices=choices, loads=loads)
    return replace(case, **rest)


@pytest.fixture(scope="session")
def build() -> Build:
    """Builder of cases."""
    return make_case
