"""Loads of the compared systems, as tables of a design document."""

from __future__ import annotations

LAMP = """
[[load]]
name = "Lamp"
power = "8 W"
supply = "12 V"
hours_per_day = 5
importance = "should"
"""
FENCE = """
[[load]]
name = "Fence"
power = "2 W"
supply = "12 V"
hours_per_day = 24
importance = "must"
"""
RADIO = """
[[load]]
name = "Radio"
power = "12 W"
supply = "12 V"
from = "08:00"
until = "18:00"
importance = "may"
"""
PHONES = """
[[load]]
name = "Phones"
power = "7 W"
supply = "5 V"
quantity = 2
hours_per_day = 2
importance = "should"
"""
LAPTOP = """
[[load]]
name = "Laptop"
power = "45 W"
supply = "mains"
from = "09:00"
until = "14:30"
importance = "should"
"""
FRIDGE = """
[[load]]
name = "Fridge"
power = "60 W"
surge = "500 W"
supply = "mains"
from = "00:00"
until = "24:00"
duty = 0.3
importance = "must"
"""
TELEVISION = """
[[load]]
name = "Television"
power = "90 W"
supply = "mains"
hours_per_day = 4
importance = "may"
"""
ROUTER_24 = """
[[load]]
name = "Router"
power = "9 W"
supply = "24 V"
hours_per_day = 24
importance = "must"
"""
LINK_48 = """
[[load]]
name = "Radio link"
power = "22 W"
supply = "48 V"
hours_per_day = 24
importance = "must"
"""
WASHING = """
[[load]]
name = "Washing"
power = "250 W"
supply = "mains"
energy_per_use = "400 Wh"
uses_per_week = 4
importance = "may"
can_wait = { days = 3, rule = "sun to spare" }
"""
TOOLS = """
[[load]]
name = "Tool batteries"
power = "30 W"
supply = "12 V"
energy_per_use = "60 Wh"
uses_per_week = 7
importance = "should"
can_wait = { days = 2, rule = "battery above 70 %" }
"""
TOOLS_BY_SUN = TOOLS.replace("battery above 70 %", "sun to spare")
PHONE_BY_SUN = """
[[load]]
name = "Phone"
power = "5 W"
supply = "5 V"
energy_per_use = "12 Wh"
uses_per_week = 7
importance = "should"
can_wait = { days = 2, rule = "sun to spare" }
"""
PHONE_5 = """
[[load]]
name = "Phone"
power = "6 W"
supply = "5 V"
from = "19:00"
until = "22:00"
importance = "should"
"""
LIGHT_5 = """
[[load]]
name = "Lamp on a plug"
power = "2 W"
supply = "5 V"
hours_per_day = 3
importance = "must"
"""
NIGHT = """
[[load]]
name = "Night light"
power = "3 W"
supply = "12 V"
from = "dusk"
until = "dawn"
importance = "must"
"""
COMPRESSOR = """
[[load]]
name = "Cool box"
power = "50 W"
surge = "220 W"
supply = "12 V"
from = "00:00"
until = "24:00"
duty = 0.2
importance = "must"
"""
PUMP = """
[[load]]
name = "Pump"
power = "60 W"
surge = "600 W"
supply = "12 V"
energy_per_use = "40 Wh"
uses_per_week = 7
importance = "should"
can_wait = { days = 3, rule = "battery above 50 %" }
"""
