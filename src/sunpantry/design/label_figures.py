"""Figures that labels print in more ways than one, brought to the one the models read."""

from __future__ import annotations

import math
import re
from collections.abc import Mapping
from typing import Any

from pydantic_core import PydanticCustomError

from sunpantry.phrases import phrase
from sunpantry.units import parse_quantity

# Keys of a panel's temperature coefficients: what they are a share of, and the unit in which
# older labels print them.
_COEFFICIENTS = {
    "temp_coeff_voc": (("voc", "voc_v"), "V"),
    "temp_coeff_isc": (("isc", "isc_a"), "A"),
    "temp_coeff_power": (("power", "power_w"), "W"),
}
_PER_KELVIN = re.compile(r"^(?P<amount>.*[A-Za-z])\s*/\s*(?:K|°C|C)\s*$")
# "10", "10 h", "C10", "C/10".
_RATE = re.compile(r"^\s*(?:[Cc]\s*/?\s*)?(?P<hours>\d+(?:[.,]\d+)?)\s*(?:h|hours?)?\s*$")
_LONGEST_H = 240.0


def coefficients_in_percent(raw: Any) -> Any:
    """Turn a panel's temperature coefficients in mV/K, mA/K or W/K into per cent a kelvin.

    Parameters
    ----------
    raw : Any
        The table as written; anything but a table is handed back as it is.

    Returns
    -------
    Any
        The same, with each such coefficient divided by the figure it belongs to, where that
        can be read; else it is left for the reader of the field to refuse.
    """
    if not isinstance(raw, Mapping):
        return raw
    read = dict(raw)
    for stem, (bases, unit) in _COEFFICIENTS.items():
        for key in (stem, f"{stem}_pct_per_k"):
            match = _PER_KELVIN.match(str(read.get(key, "")))
            base = next((read[name] for name in bases if name in read), None)
            if match is None or base is None:
                continue
            try:
                share = parse_quantity(match["amount"], unit) / parse_quantity(base, unit)
            except (ValueError, ZeroDivisionError):
                continue
            read[key] = 100.0 * share
    return read


def hours_of_rates(raw: Any) -> Any:
    """Read the discharge times that capacities are printed for: 10, C10, C/10 and "10 h".

    Parameters
    ----------
    raw : Any
        The table as written; anything but a table is handed back as it is.

    Returns
    -------
    Any
        The same table by plain hours.

    Raises
    ------
    PydanticCustomError
        For a key that is no time above 0 and up to 240 hours, or one that is written twice.
    """
    if not isinstance(raw, Mapping):
        return raw
    read: dict[str, Any] = {}
    for key, value in raw.items():
        match = _RATE.match(str(key))
        hours = float(match["hours"].replace(",", ".")) if match else math.nan
        if not 0.0 < hours <= _LONGEST_H:
            raise _refused(phrase("'{key}' is no such time", key=str(key)))
        if f"{hours:g}" in read:
            raise _refused(phrase("{hours:g} h stands there twice", hours=hours))
        read[f"{hours:g}"] = value
    return read


def _refused(why: str) -> PydanticCustomError:
    allowed = phrase(
        "capacities by the hours of discharge, more than 0 and at most {most:g}, as {example}",
        most=_LONGEST_H,
        example='{"10" = "90 Ah"}',
    )
    return PydanticCustomError("quantity", "{allowed}: {why}", {"allowed": allowed, "why": why})
