"""More designs for the referee: hard frost, disconnects that wait, power banks that fall asleep."""

from __future__ import annotations

from dataclasses import replace

from tests.referee.designs import (
    AGM_18,
    LITHIUM_50,
    MPPT_10,
    P100,
    PWM_10,
    TRAVEL_10,
    Case,
    S,
    system,
)
from tests.referee.load_tables import COMPRESSOR, FENCE, LAMP, LIGHT_5

from sunpantry.parts.system import System

SENSOR = """
[[load]]
name = "Sensor"
power = "0.25 W"
supply = "5 V"
hours_per_day = 24
importance = "must"
"""


def waiting(seconds: float, whole: System) -> System:
    """The same with a disconnect that waits."""
    assert whole.controller is not None
    patient = whole.controller.model_copy(update={"disconnect_delay_s": seconds})
    return replace(whole, controller=patient)


def more_cases() -> tuple[Case, ...]:
    """What came with discharge below -20 °C, the delay of a disconnect and the sleep in watts."""
    return (
        Case("LiFePO4 outdoors in hard frost", "Lapland", FENCE, system(
            12, (P100, 1, 1, 85, S), bank=(LITHIUM_50, 1, 1), controller=MPPT_10,
            housing="outdoors"), days=150),
        Case("a compressor behind a disconnect that waits", "Castile", COMPRESSOR + LAMP, waiting(
            10.0, system(
            12, (P100, 1, 1, 50, S), bank=(AGM_18, 1, 1), controller=PWM_10)), capacity_left=0.8),
        Case("power bank that a sensor does not keep awake", "Kenya", SENSOR + LIGHT_5, system(
            5, (TRAVEL_10, 1, 1, 10, 0.0), bank=("power bank, 20 Ah", 1, 1), housing="house")),
    )  # fmt: skip
