"""Small documents with every part fixed, so that nothing has to be searched."""

from __future__ import annotations

SITE = """
schema = 1
name = "Test at Carrowmoor"
[site]
place = "Carrowmoor"
latitude = 53.87
longitude = -9.33
altitude = "60 m"
"""


def pwm_system(*, panel: str, battery: str, count: int = 1, panels: int = 1) -> str:
    """A 12 V system with an adjustable PWM controller."""
    return f"""
[[array]]
part = "{panel}"
count = {panels}
series = 1
tilt = "60°"
azimuth = "south"
[controller]
part = "PWM 20 A, 12/24 V, adjustable"
[battery]
part = "{battery}"
count = {count}
parallel = {count}
"""


PLENTY = """
[[array]]
part = "450 W half-cut panel, 72 cells"
count = 8
series = 1
tilt = "60°"
azimuth = "south"
[controller]
part = "MPPT 100 A, 12/24/48 V, 150 V"
count = 2
[battery]
part = "12.8 V 200 Ah LiFePO4"
count = 6
parallel = 6
housing = "house"
"""

FENCE = """
[[load]]
name = "Fence"
power = "2 W"
supply = "12 V"
hours_per_day = 24
importance = "must"
"""
