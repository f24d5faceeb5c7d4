"""Labels that contradict themselves are refused; those of real parts pass."""

from __future__ import annotations

from typing import Any

import pytest
from numpy.testing import assert_allclose

from sunpantry.design.document import parse_design
from sunpantry.design.nameplates import (
    BatteryNameplate,
    ControllerNameplate,
    ConverterNameplate,
    InverterNameplate,
    Nameplate,
    PanelNameplate,
)
from sunpantry.errors import InputError, PartError
from sunpantry.parts.catalogue import ROLES, shipped_catalogue
from sunpantry.parts.label_checks import label_problems
from sunpantry.parts.resolve import resolve_kit
from sunpantry.physics.kinetic import peukert_capacity_ah

PANEL: dict[str, Any] = {
    "name": "own", "power": "50 W", "voc": "21.6 V", "isc": "3.2 A", "vmp": "17.2 V",
    "imp": "2.91 A", "cells": 36,
}  # fmt: skip
BATTERY: dict[str, Any] = {
    "name": "own", "chemistry": "agm", "nominal": "12 V", "capacity": "60 Ah",
}  # fmt: skip
LITHIUM = {**BATTERY, "chemistry": "lifepo4", "nominal": "12.8 V"}
CONTROLLER: dict[str, Any] = {
    "name": "own", "kind": "pwm", "rated": "10 A", "max_pv_voc": "30 V",
}  # fmt: skip
INVERTER: dict[str, Any] = {"name": "own", "rated": "300 W", "surge": "600 W", "idle": "8 W"}
CONVERTER: dict[str, Any] = {
    "name": "own", "input_min": "9 V", "input_max": "32 V", "output": "5 V", "rated": "15 W",
}  # fmt: skip
SOUND: dict[type[Nameplate], tuple[dict[str, Any], ...]] = {
    PanelNameplate: (PANEL,),
    BatteryNameplate: (
        BATTERY,
        LITHIUM,
        {**BATTERY, "other_capacities": {"C10": "55 Ah", "100 h": "66 Ah", "C/5": "51 Ah"}},
        {**LITHIUM, "nominal": "48 V", "internal_resistance": "30 mΩ"},
        {**BATTERY, "chemistry": "power_bank", "nominal": "3.7 V", "capacity": "10 Ah"},
        {**BATTERY, "chemistry": "flooded", "nominal": "6 V", "self_discharge_per_month": "20 %"},
    ),
    ControllerNameplate: (CONTROLLER, {**CONTROLLER, "temp_comp_per_cell": "-5 mV/K"}),
    InverterNameplate: (INVERTER, {**INVERTER, "search": "1 W"}),
    ConverterNameplate: (CONVERTER,),
}


def problems(model: type[Nameplate], label: dict[str, Any]) -> list[str]:
    """What is wrong with a label, as 'key: what is allowed'."""
    found = label_problems(model.model_validate(label), "own")
    return [f"{one.where.removeprefix('own.')}: {one.allowed}" for one in found]


@pytest.mark.regression
@pytest.mark.parametrize("role", ROLES)
def test_every_shipped_part_passes(role: str) -> None:
    for part in shipped_catalogue().of(role):
        assert label_problems(part, role) == [], part.name


@pytest.mark.regression
def test_sound_labels_pass() -> None:
    for model, labels in SOUND.items():
        for label in labels:
            assert problems(model, label) == []


@pytest.mark.regression
@pytest.mark.parametrize(
    ("change", "field"),
    [
        ({"noct": "-5 °C"}, "noct"),
        ({"ageing_per_year": "20 %"}, "ageing_per_year"),
        ({"max_series_fuse": "2 A"}, "isc"),
        ({"max_system_voltage": "20 V"}, "voc"),
        ({"regulated_output": "24 V"}, "regulated_output"),
        ({"regulated_efficiency": 0.85}, "regulated_efficiency"),
    ],
)
def test_panels(change: dict[str, Any], field: str) -> None:
    found = problems(PanelNameplate, {**PANEL, **change})
    assert [one.split(":")[0] for one in found] == [field]


@pytest.mark.regression
@pytest.mark.parametrize(
    ("label", "told"),
    [
        # A slower discharge never gives less.
        ({"other_capacities": {"10": "70 Ah"}}, "other_capacities.10: at most the 60 Ah of 20"),
        ({"other_capacities": {"100": "50 Ah"}}, "capacity: at most the 50 Ah of 100"),
        ({"other_capacities": {"20": "70 Ah"}}, "other_capacities.20: the capacity itself, 60 Ah"),
        ({"other_capacities": {"10": "40 Ah"}}, "other_capacities.10: at least 42.4 Ah"),
        ({"internal_resistance": "5 Ω"}, "internal_resistance: from 0.35 to 140 mΩ"),
        ({"internal_resistance": "0 Ω"}, "internal_resistance: from 0.35"),
        ({"nominal": "12.8 V"}, "nominal: a whole number of cells of 2 V"),
        ({"absorption": "12 V"}, "absorption: from 13.5 to 15.6 V"),
        ({"absorption": "13.6 V", "float": "14.2 V"}, "float: at most absorption, 13.6 V"),
        ({"worn": "0 %"}, "worn: from 10 to 100 %"),
        ({"cycles": 500, "cycle_depth": "0 %"}, "cycle_depth: from 1"),
        ({"self_discharge_per_month": "90 %"}, "self_discharge_per_month: from 0 to 40 %"),
        ({"min_charge_temperature": "40 °C"}, "min_charge_temperature: from -40 to 20 °C"),
        ({"output_efficiency": 0.9}, "output_efficiency: from 40 to 100 %"),
        ({"chemistry": "lifepo4"}, "nominal: a whole number of cells of 3.2 V"),
    ],
)
def test_batteries(label: dict[str, Any], told: str) -> None:
    found = problems(BatteryNameplate, {**BATTERY, **label})
    assert len(found) == 1
    assert found[0].startswith(told)


@pytest.mark.regression
@pytest.mark.parametrize(
    ("nominal", "chemistry", "remedy"),
    [("12 V", "lifepo4", "12.8 V if it has 4"), ("24 V", "lifepo4", "25.6 V if it has 8"),
     ("13.2 V", "agm", "12 V if it has 6"), ("3 V", "lifepo4", "3.2 V if it has 1")],
)  # fmt: skip
def test_the_cells_that_were_meant(nominal: str, chemistry: str, remedy: str) -> None:
    label = {**BATTERY, "nominal": nominal, "chemistry": chemistry}
    (found,) = label_problems(BatteryNameplate.model_validate(label), "battery")
    assert remedy in found.remedy


# Peukert exponents of lead-acid on sale run from 1.05 (AGM) to 1.3 (flooded), the law of
# W. Peukert (1897): every such label must pass, and one of exponent 2.5 must not.
@pytest.mark.published
@pytest.mark.parametrize(("exponent", "passes"), [(1.05, True), (1.3, True), (2.5, False)])
def test_capacities_by_the_law_of_peukert(exponent: float, passes: bool) -> None:
    others = {
        f"{hours:g}": peukert_capacity_ah(60.0, rated_hours=20.0, exponent=exponent, hours=hours)
        for hours in (1.0, 5.0, 10.0, 100.0)
    }
    assert (problems(BatteryNameplate, {**BATTERY, "other_capacities": others}) == []) == passes


@pytest.mark.regression
@pytest.mark.parametrize(
    ("change", "told"),
    [
        ({"absorption": "13.5 V", "float": "14.4 V"}, "float: at most absorption"),
        ({"disconnect": "12.8 V", "reconnect": "12 V"}, "disconnect: less than reconnect, 12 V"),
        ({"equalise": "14 V"}, "absorption: at most equalise, 14 V"),
        ({"absorption": "28.8 V"}, "absorption: from 13 to 16 V"),
        ({"efficiency": 0.97}, "efficiency: from 40 to 100 %"),
        ({"temp_comp_per_cell": "4 mV/K"}, "temp_comp_per_cell: from -8 to 0 mV/K"),
        ({"temp_comp_per_cell": -18}, "temp_comp_per_cell: from -8 to 0 mV/K"),
        ({"self_consumption": 10}, "self_consumption: from 0 to 0.5 A"),
    ],
)
def test_controllers(change: dict[str, Any], told: str) -> None:
    (found,) = problems(ControllerNameplate, {**CONTROLLER, **change})
    assert found.startswith(told)


@pytest.mark.regression
@pytest.mark.parametrize(
    ("change", "told"),
    [
        ({"surge": "200 W"}, "rated: at most surge, 200 W"),
        ({"idle": "200 W"}, "idle: from 0 to 90 W"),
        ({"search": "20 W"}, "search: at most idle, 8 W"),
        ({"peak_efficiency": "80 %"}, "rated_efficiency: at most peak_efficiency, 80 %"),
        ({"cutoff": "21 V", "restart": "14 V"}, "cutoff: from 8 to 12.8 V"),
        ({"cutoff": "12.6 V"}, "cutoff: less than restart, 12.5 V"),
    ],
)
def test_inverters(change: dict[str, Any], told: str) -> None:
    found = problems(InverterNameplate, {**INVERTER, **change})
    assert found
    assert found[0].startswith(told)


@pytest.mark.regression
def test_converters() -> None:
    found = problems(
        ConverterNameplate,
        {**CONVERTER, "input_min": "40 V", "efficiency": 0.9, "idle": "10 W"},
    )
    assert [one.split(":")[0] for one in found] == ["input_min", "efficiency", "idle"]


DOCUMENT = """
schema = 1
name = "Odd labels"
bank_voltage = "5 V"
[site]
latitude = 53.9
longitude = -9.3
[[load]]
name = "Phone"
power = "5 W"
supply = "5 V"
hours_per_day = 1
[battery]
chemistry = "power_bank"
nominal = "3.7 V"
capacity = "10 Ah"
count = 1
"""


@pytest.mark.regression
def test_a_power_bank_is_known_by_its_sockets() -> None:
    """Its cells have 3.7 V, its sockets 5 V: such a label makes a bank of 5 V."""
    kit = resolve_kit(parse_design(DOCUMENT), shipped_catalogue())
    assert kit.bank.battery is not None
    with pytest.raises(InputError, match=r"2 × 3\.7 V"):
        parse_design(DOCUMENT.replace("count = 1", "series = 2"))


@pytest.mark.regression
def test_everything_wrong_is_told_at_once() -> None:
    text = DOCUMENT.replace("count = 1", 'count = 1\nworn = "0 %"\noutput_efficiency = 0.9')
    text += '[controller]\nkind = "pwm"\nrated = "5 A"\nmax_pv_voc = "25 V"\nefficiency = 0.97\n'
    with pytest.raises(PartError) as raised:
        resolve_kit(parse_design(text), shipped_catalogue())
    assert [one.where for one in raised.value.problems] == [
        "battery.output_efficiency",
        "battery.worn",
        "controller.efficiency",
    ]


# A label of 21.6 V that prints -73 mV/K has 100·(-0.073)/21.6 = -0.338 %/K; so with the rest.
@pytest.mark.analytic
@pytest.mark.parametrize(
    ("written", "field", "told"),
    [
        ({"temp_coeff_voc": "-73 mV/K"}, "temp_coeff_voc_pct_per_k", -7.3 / 21.6),
        ({"temp_coeff_voc": "-0.073 V/°C"}, "temp_coeff_voc_pct_per_k", -7.3 / 21.6),
        ({"temp_coeff_isc": "1.6 mA/K"}, "temp_coeff_isc_pct_per_k", 0.05),
        ({"temp_coeff_power": "-0.225 W/K"}, "temp_coeff_power_pct_per_k", -0.45),
        ({"temp_coeff_voc": "-0.31 %/°C"}, "temp_coeff_voc_pct_per_k", -0.31),
    ],
)
def test_coefficients_in_volts_and_amperes(
    written: dict[str, str], field: str, told: float
) -> None:
    panel = PanelNameplate.model_validate({**PANEL, **written})
    assert_allclose(getattr(panel, field), told, rtol=1e-12)


@pytest.mark.regression
@pytest.mark.parametrize("key", ["0", "C", "ten", "-5", "300", "10 A"])
def test_times_that_are_none(key: str) -> None:
    text = DOCUMENT + f'other_capacities = {{"{key}" = "9 Ah"}}\n'
    with pytest.raises(InputError, match="hours of discharge") as raised:
        parse_design(text)
    assert key in raised.value.problems[0].remedy


@pytest.mark.regression
def test_a_time_written_twice() -> None:
    text = DOCUMENT + 'other_capacities = {"C10" = "9 Ah", "10 h" = "9.5 Ah"}\n'
    with pytest.raises(InputError, match="10 h stands there twice"):
        parse_design(text)
