"""The document: the shortest one, and reading back what was written."""

from __future__ import annotations

import json
import subprocess
import sys
from pathlib import Path
from typing import Any

import jsonschema
import pytest

from sunpantry.design import (
    Design,
    Load,
    design_document,
    design_json_schema,
    parse_design,
    read_design,
    write_design,
)
from sunpantry.design.keys import human_key
from sunpantry.design.kit import own_keys
from sunpantry.design.nameplates import (
    BatteryNameplate,
    ControllerNameplate,
    ConverterNameplate,
    InverterNameplate,
    PanelNameplate,
)
from sunpantry.design.starter import starter_text
from sunpantry.errors import InputError

# As published with the project's description of the document.
SHORTEST = """\
schema = 1
name = "Lamp in the hut"

[site]
latitude = 54.1
longitude = -9.2

[[load]]
name = "Lamp"
power = "8 W"
supply = "12 V"        # "5 V", "12 V", "24 V" or "mains"
hours_per_day = 4      # by default in the evening, after dusk
"""

EVERYTHING = """\
schema = 1
name = "Höhe \\"Nord\\"\\u007f"
notes = "two\\nlines"
seed = 7
winters = 12
step = "15 min"
bank_voltage = "24 V"

[site]
place = "Carrowmoor"
latitude = 54.1
longitude = "-9.2 °"
altitude = "120 ft"
timezone = "Europe/Dublin"
albedo = [0.2, 0.2, "20 %", 0.2, 0.2, 0.2, 0.2, 0.2, 0.2, 0.2, 0.2, 0.6]
monthly_sun = [0.6, 1.3, 2.4, 3.6, 4.8, 4.9, 4.6, 3.8, 2.8, 1.5, 0.8, 0.4]
monthly_temperature = [6, 6, 7, 9, 11, 14, 15, 15, 14, 11, 8, 7]
horizon = [[180, 5], ["90°", "12.5°"]]
soiling = "3 %"
mains = "120 V"

[[site.obstacle]]
name = "ash trees"
height = "8 m"
distance = "12 m"
from = 120
until = 160
bare_months = "Nov-Apr"

[[load]]
name = "Fridge"
like = "12 V fridge"
duty = [0.2, 0.2, 0.25, 0.3, 0.35, 0.4, 0.45, 0.45, 0.4, 0.3, 0.25, 0.2]

[[load]]
name = "Morning light"
quantity = 3
power = "0.005 kW"
supply = "24 V"
from = 06:30:00
until = "dawn + 0:15"
weekdays = ["Monday", "tue"]
months = ["October", 11, 12, 1]

[[load]]
name = "Wash"
power = "2 kW"
supply = "mains"
energy_per_use = "0.6 kWh"
minutes_per_use = 90
uses_per_week = 3
surge = "2.5 kW"
can_wait = { days = 4, rule = "Battery above 80%" }

[[load]]
name = "Yard light"
power = 20
supply = "12 V"
standby = "0.5 W"
bursts = { per_night = 8, minutes = "90 s" }

[[array]]
power = "100 W"
voc = "22.5 V"
isc = "5.9 A"
vmp = "18.6 V"
imp = "5.4 A"
cells = 36
series = 2
parallel = 1
owned = true
tilt_winter = 70
tilt_summer = 30
azimuth = "south-east"

[battery]
part = "flooded 105 Ah"
series = 2
parallel = 2
owned = 2
housing = "house"

[inverter]
part = "none or other"
off_when_idle = true
from = "07:00"
until = "22:00"

[[converter]]
part = "24 to 12"

[backup]
kind = "generator"
power = "1 kW"
fuel_per_kwh = "0.6 L/kWh"
quiet_from = "21:00"
quiet_until = "08:00"

[[tank]]
name = "trough"
volume = "1 m³"

[[tank.drinker]]
name = "cows"
number = 4
litres_each = "70 L"

[[pump]]
into = "trough"
static_head = "12 m"
pipe_length = "80 m"
curve = [[0, 20], [10, 15, ], [20, 0]]
rated_power = "80 W"

[search]
chemistries = ["agm", "lifepo4"]
backup = true

[promise]
should = "12 h"

[money.prices]
"24 to 12" = 35.5

[wiring]
installation = "buried"

[wiring.runs]
array = "14 m"
"Yard light" = "22 m"
"""


@pytest.mark.regression
def test_the_shortest_document_is_enough() -> None:
    design = parse_design(SHORTEST)
    lamp = design.loads[0]
    assert design.name == "Lamp in the hut"
    assert (design.site.latitude, design.site.longitude) == (54.1, -9.2)
    assert (lamp.name, lamp.power_w, lamp.supply, lamp.hours_per_day) == ("Lamp", 8.0, "12 V", 4.0)
    assert design.arrays == ()
    assert design.battery is None
    assert (design.winters, design.step_h, design.seed) == (30, 1.0, 1)


@pytest.mark.regression
def test_every_key_is_read_in_its_unit() -> None:
    design = parse_design(EVERYTHING)
    site, (fridge, morning, wash, yard) = design.site, design.loads
    assert design.step_h == 0.25
    assert site.altitude_m == pytest.approx(36.576)  # 120 international feet, exact by definition
    assert site.horizon == ((90.0, 12.5), (180.0, 5.0))
    assert isinstance(site.albedo, tuple)
    assert site.albedo[2] == pytest.approx(0.2)
    assert site.obstacles[0].bare_months == (1, 2, 3, 4, 11, 12)
    assert isinstance(fridge.duty, tuple)
    assert (morning.from_, morning.until) == ("06:30", "dawn+0:15")
    assert (morning.months, morning.weekdays) == ((1, 10, 11, 12), ("mon", "tue"))
    assert (wash.power_w, wash.energy_per_use_wh, wash.minutes_per_use) == (2000.0, 600.0, 90.0)
    assert wash.can_wait is not None
    assert wash.can_wait.battery_above == 0.8
    assert yard.bursts is not None
    assert yard.bursts.minutes == pytest.approx(1.5)
    (array,) = design.arrays
    assert array.label is not None
    assert (array.label.power_w, array.owned, array.azimuth_deg) == (100.0, "all", 135.0)
    assert design.tanks[0].volume_l == pytest.approx(1000.0)
    assert design.pumps[0].curve == ((0.0, 20.0), (10.0, 15.0), (20.0, 0.0))
    assert design.promise.hours("should") == 12.0
    assert design.wiring.run_m("loads", "Yard light") == 22.0
    assert design.wiring.run_m("loads", "Fridge") == 8.0


@pytest.mark.regression
@pytest.mark.parametrize("text", [SHORTEST, EVERYTHING, starter_text()])
def test_what_was_written_reads_back(text: str) -> None:
    design = parse_design(text)
    written = write_design(design)
    assert parse_design(written) == design
    assert write_design(parse_design(written)) == written


@pytest.mark.regression
def test_a_document_keeps_what_was_not_set_open() -> None:
    assert write_design(parse_design(SHORTEST)) == (
        'schema = 1\nname = "Lamp in the hut"\n\n'
        "[site]\nlatitude = 54.1\nlongitude = -9.2\n\n"
        '[[load]]\nname = "Lamp"\npower = "8 W"\nsupply = "12 V"\nhours_per_day = "4 h"\n'
    )


@pytest.mark.regression
def test_a_design_built_in_code_reads_back() -> None:
    design = Design.model_validate({"site": {"latitude": 1.0, "longitude": 2.0}})
    load = Load(name="Lamp", power_w=8.0, supply="12 V", hours_per_day=4.0)
    built = design.model_copy(update={"loads": (load,)})
    assert parse_design(write_design(built)).loads == (load,)


@pytest.mark.regression
@pytest.mark.parametrize(
    "model",
    [
        PanelNameplate,
        BatteryNameplate,
        ControllerNameplate,
        InverterNameplate,
        ConverterNameplate,
        Load,
        Design,
    ],
)
def test_no_two_attributes_share_a_key(model: Any) -> None:
    spelt = [
        str(field.validation_alias or human_key(name)) for name, field in model.model_fields.items()
    ]
    assert len(set(spelt)) == len(spelt)
    assert set(own_keys(model).values()) == set(model.model_fields)


@pytest.mark.independent
@pytest.mark.parametrize("text", [SHORTEST, EVERYTHING, starter_text()])
def test_the_json_schema_accepts_documents(text: str) -> None:
    """The reference library for JSON schema accepts what the program accepts."""
    schema = design_json_schema()
    jsonschema.Draft202012Validator.check_schema(schema)
    document = json.loads(json.dumps(design_document(parse_design(text))))
    jsonschema.validate(document, schema)


@pytest.mark.independent
def test_the_json_schema_refuses_unknown_keys() -> None:
    document = design_document(parse_design(SHORTEST))
    with pytest.raises(jsonschema.ValidationError, match="powr"):
        jsonschema.validate({**document, "load": [{"name": "x", "powr": 3}]}, design_json_schema())


@pytest.mark.regression
def test_a_missing_file_is_told(tmp_path: Path) -> None:
    with pytest.raises(InputError, match="a design file that exists; `sunpantry new FILE`"):
        read_design(tmp_path / "none.toml")
    (tmp_path / "latin.toml").write_bytes(b'name = "\xe9"')
    with pytest.raises(InputError, match="save it as UTF-8 text"):
        read_design(tmp_path / "latin.toml")
    with pytest.raises(InputError, match="a file that can be read"):
        read_design(tmp_path)
    (tmp_path / "good.toml").write_text("\ufeff" + SHORTEST, encoding="utf-8")
    assert read_design(tmp_path / "good.toml").name == "Lamp in the hut"


@pytest.mark.regression
def test_reading_a_document_wakes_no_heavy_library() -> None:
    code = (
        "import sys; from sunpantry.design import parse_design\n"
        "from sunpantry.design.starter import starter_text; parse_design(starter_text())\n"
        "print(*sorted({'numpy','pandas','pvlib','pint','scipy','numba'} & set(sys.modules)))"
    )
    done = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, check=True)
    assert done.stdout.strip() == ""
