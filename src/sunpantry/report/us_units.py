"""Units as people in the United States write them."""

from __future__ import annotations

# Factor and offset from the unit kept inside to the one used in the United States.
US_UNITS: dict[str, tuple[str, float, float]] = {
    "m": ("ft", 1.0 / 0.3048, 0.0),
    "km": ("mi", 1.0 / 1.609344, 0.0),
    "cm": ("in", 1.0 / 2.54, 0.0),
    "mm": ("in", 1.0 / 25.4, 0.0),
    "m²": ("ft²", 1.0 / 0.3048**2, 0.0),
    "cm²": ("in²", 1.0 / 2.54**2, 0.0),
    "km/h": ("mph", 1.0 / 1.609344, 0.0),
    "m/s": ("ft/s", 1.0 / 0.3048, 0.0),
    "kg": ("lb", 1.0 / 0.45359237, 0.0),
    "L": ("gal", 1.0 / 3.785411784, 0.0),
    "L/min": ("gal/min", 1.0 / 3.785411784, 0.0),
    "°C": ("°F", 1.8, 32.0),
}
