"""Systems to wire: a few chosen ones, and as many random ones as are wanted."""

from __future__ import annotations

import random
from dataclasses import replace
from typing import Any

from sunpantry.design.promise import Wiring
from sunpantry.parts.catalogue import shipped_catalogue
from sunpantry.parts.system import Array, Bank, System
from sunpantry.wiring.inputs import DirectLine, LoadKind, LoadLine, WiringInputs

PARTS = shipped_catalogue()
FLAT = (35.0,) * 12
KINDS: tuple[LoadKind, ...] = ("light", "motor", "electronics", "heater", "fence", "other")


def array(panel: str, series: int = 1, parallel: int = 1) -> Array:
    """Equal panels, facing south."""
    return Array(PARTS.panel(panel), series, parallel, FLAT, 180.0)


def bank(battery: str, series: int = 1, parallel: int = 1) -> Bank:
    """Equal batteries in a shed."""
    return Bank(PARTS.battery(battery), series, parallel)


def one_lamp() -> WiringInputs:
    """One panel and one lamp, the smallest with a battery."""
    system = System(
        12.0,
        (array("20 W panel, 36 cells"),),
        bank("12 V 7 Ah sealed lead-acid (AGM)"),
        PARTS.controller("PWM 5 A, 12 V"),
    )
    return WiringInputs(system, (LoadLine("Hen house lamp", "12 V", 5.0, kind="light"),))


def phone_only() -> WiringInputs:
    """A travel panel straight to a telephone."""
    system = System(5.0, (array("10 W travel panel, 5 V"),), None, None)
    return WiringInputs(system, (LoadLine("Telephone", "5 V", 8.0, kind="electronics"),))


def power_bank() -> WiringInputs:
    """A travel panel, a power bank, two loads."""
    system = System(5.0, (array("21 W folding panel, 5 V"),), bank("power bank, 20 Ah"), None)
    loads = (
        LoadLine("Telephone", "5 V", 8.0, kind="electronics"),
        LoadLine("Reading lamp", "5 V", 3.0, kind="light"),
    )
    return WiringInputs(system, loads)


def apiary_hut() -> WiringInputs:
    """The apiary hut at Carrowmoor: lights, an extractor, telephones, a small inverter."""
    system = System(
        12.0,
        (array("100 W panel, 36 cells", series=2),),
        bank("12 V 100 Ah AGM", parallel=2),
        PARTS.controller("MPPT 20 A, 12/24 V, 100 V"),
        PARTS.inverter("600 W sine, 12 V"),
        (PARTS.converter("12/24 V to 5 V USB, 30 W"),),
    )
    loads = (
        LoadLine("Hut lights", "12 V", 18.0, importance="must", kind="light"),
        LoadLine("Fence energiser", "12 V", 4.0, importance="must", kind="fence"),
        LoadLine("Water pump", "12 V", 60.0, surge_w=150.0, kind="motor"),
        LoadLine("Telephones", "5 V", 15.0, kind="electronics"),
        LoadLine("Honey extractor", "mains", 250.0, surge_w=600.0, kind="motor"),
    )
    return WiringInputs(system, loads, coldest_c=-6.0)


def whole_house() -> WiringInputs:
    """Three strings, four batteries, an inverter and twelve load branches."""
    system = System(
        24.0,
        (array("285 W panel, 60 cells", series=2, parallel=3),),
        bank("12 V 200 Ah AGM", series=2, parallel=2),
        PARTS.controller("MPPT 60 A, 12/24/48 V, 150 V"),
        PARTS.inverter("2000 W sine, 24 V"),
        (
            PARTS.converter("24 V to 12 V, 240 W"),
            PARTS.converter("12/24 V to 5 V USB, 30 W"),
        ),
    )
    loads = (
        LoadLine("Kitchen lights", "24 V", 24.0, importance="must", kind="light"),
        LoadLine("Bedroom lights", "24 V", 16.0, kind="light"),
        LoadLine("Water pump", "24 V", 120.0, surge_w=300.0, kind="motor"),
        LoadLine("Refrigerator", "24 V", 60.0, surge_w=150.0, kind="motor"),
        LoadLine("Porch and yard lights", "24 V", 20.0, importance="may", kind="light"),
        LoadLine("Router", "12 V", 12.0, kind="electronics"),
        LoadLine("Radio", "12 V", 10.0, plug="vehicle socket", kind="electronics"),
        LoadLine("Telephones", "5 V", 20.0, kind="electronics"),
        LoadLine("Washing machine", "mains", 450.0, surge_w=1500.0, kind="motor"),
        LoadLine("Laptop", "mains", 65.0, kind="electronics"),
        LoadLine("Tool chargers", "mains", 120.0, kind="electronics"),
        LoadLine("Kitchen mixer", "mains", 300.0, surge_w=600.0, kind="motor"),
    )
    return WiringInputs(system, loads, coldest_c=-10.0, on_roof=True, charger_a=30.0)


def farmhouse() -> WiringInputs:
    """Two arrays on a roof, a 48 V bank, the mains behind a transfer switch."""
    system = System(
        48.0,
        (
            array("450 W half-cut panel, 72 cells", series=2, parallel=2),
            array("450 W half-cut panel, 72 cells", series=2),
        ),
        bank("51.2 V 100 Ah LiFePO4", parallel=2),
        PARTS.controller("MPPT 60 A, 12/24/48 V, 150 V"),
        PARTS.inverter("5000 W sine, 48 V"),
    )
    loads = (
        LoadLine("Fridge", "mains", 100.0, surge_w=800.0, importance="must", kind="motor"),
        LoadLine("Router", "mains", 9.0, kind="electronics"),
    )
    return WiringInputs(system, loads, on_roof=True, transfer_w=5000.0, second_source="mains")


def random_inputs(seed: int) -> WiringInputs:
    """Some system within the range the drawing promises to hold."""
    dice = random.Random(seed)  # noqa: S311  (no secret)
    if dice.random() < 0.12:
        return _random_small(dice)
    volts = dice.choice((12.0, 12.0, 24.0, 48.0))
    arrays = tuple(
        Array(dice.choice(PARTS.panels[3:]), dice.randint(1, 3), 1, FLAT, 180.0)
        for _ in range(dice.randint(1, 2))
    )
    if dice.random() < 0.3:
        arrays = (Array(dice.choice(PARTS.panels[3:]), dice.randint(1, 3), 3, FLAT, 180.0),)
    battery = dice.choice(
        [
            one
            for one in PARTS.batteries
            if one.chemistry != "power_bank" and one.nominal_v <= 1.1 * volts
        ]
    )
    series = max(1, round(volts / (1.06 * battery.nominal_v)))
    fitting = [one for one in PARTS.controllers if volts in one.bank_voltages]
    inverters = [one for one in PARTS.inverters if one.input_v == volts]
    converters = [
        one for one in PARTS.converters if one.input_min_v <= 0.95 * volts < one.input_max_v
    ]
    system = System(
        volts,
        arrays,
        Bank(battery, series, dice.randint(1, 4)),
        dice.choice(fitting) if dice.random() < 0.93 else None,
        dice.choice(inverters) if dice.random() < 0.6 else None,
        tuple(dice.sample(converters, dice.randint(0, min(2, len(converters))))),
        controller_count=dice.choice((1, 1, 1, 2)),
    )
    return _with_loads(dice, system)


def _random_small(dice: random.Random) -> WiringInputs:
    store = bank("power bank, 10 Ah", parallel=dice.randint(1, 2)) if dice.random() < 0.5 else None
    panel = dice.choice([one for one in PARTS.panels if one.regulated_output_v])
    system = System(5.0, (Array(panel, 1, dice.randint(1, 2), FLAT, 180.0),), store, None)
    return _with_loads(dice, system)


def _with_loads(dice: random.Random, system: System) -> WiringInputs:
    words = ("Lamp", "Pump house", "Öl-Förderpumpe groß", "Router and telephone exchange", "Fan",
             "Incubator for fifty eggs in the barn", "Radio", "冷蔵庫", "Freezer")  # fmt: skip
    supplies: list[Any] = [f"{system.bank_v:g} V", "5 V", "12 V", "mains"]
    loads = []
    for number in range(dice.randint(1, 12)):
        power_w = dice.choice((1.0, 5.0, 12.0, 40.0, 90.0, 250.0))
        loads.append(
            LoadLine(
                f"{dice.choice(words)} {number + 1}",
                dice.choice(supplies),
                power_w,
                surge_w=power_w * dice.choice((0.0, 1.0, 3.0, 6.0)),
                plug=dice.choice(("wired", "wired", "vehicle socket")),
                kind=dice.choice(KINDS),
            )
        )
    wiring = Wiring(
        runs={"array": dice.choice((2.0, 10.0, 40.0)), "loads": dice.choice((2.0, 8.0, 30.0))},
        installation=dice.choice(("clipped", "conduit", "buried", "free_air")),
        insulation=dice.choice(("pvc", "xlpe")),
        ambient_c=dice.choice((20.0, 30.0, 45.0)),
        grouped=dice.choice((1, 2, 4)),
        sizes=dice.choice(("mm2", "mm2", "awg")),
    )
    return WiringInputs(
        system,
        tuple(loads),
        wiring,
        coldest_c=dice.choice((-25.0, -8.0, 5.0)),
        charger_a=dice.choice((0.0, 0.0, 20.0)),
        on_roof=dice.random() < 0.4,
        transfer_w=dice.choice((0.0, 0.0, 3000.0)),
        second_source=dice.choice(("mains", "generator", "carried_battery")),
        inverter_fed_from=dice.choice(("battery", "battery", "load output")),
        loads_fed_from=dice.choice(("either", "either", "load output")),
    )


def spring_pump() -> WiringInputs:
    """A pump straight on two strings of panels, and nothing else."""
    line = DirectLine("Spring pump", array("100 W panel, 36 cells", series=2, parallel=2), 160.0)
    return WiringInputs(System(12.0, (), None, None), direct=(line,))


def hut_and_spring() -> WiringInputs:
    """The apiary hut, with a pump on a panel of its own beside it."""
    line = DirectLine("Spring pump", array("100 W panel, 36 cells"), 80.0)
    return replace(apiary_hut(), direct=(line,))
