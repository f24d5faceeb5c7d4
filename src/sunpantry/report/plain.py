"""Turn frozen objects into what JSON can hold, the same bytes every time."""

from __future__ import annotations

import dataclasses
import json
import math
from collections.abc import Mapping
from enum import Enum
from typing import Any

import numpy as np
from pydantic import BaseModel

# Enough to recover every figure shown anywhere, few enough that rounding in the last
# place of a different processor's arithmetic does not show.
SIGNIFICANT_DIGITS = 9


def plain(value: Any) -> Any:
    """Make a value of plain lists, dictionaries, numbers and text.

    Parameters
    ----------
    value : object
        Dataclass, pydantic model, array, enum, or a container of such.

    Returns
    -------
    object
        Floats rounded to nine significant digits; what is not finite becomes ``None``.
    """
    if isinstance(value, Enum):
        return plain(value.value)
    if isinstance(value, np.ndarray | np.generic):
        return plain(value.tolist())
    if value is None or isinstance(value, str | bool | int):
        return value
    if isinstance(value, float):
        return round_significant(value)
    if isinstance(value, BaseModel):
        return {name: plain(getattr(value, name)) for name in type(value).model_fields}
    if dataclasses.is_dataclass(value) and not isinstance(value, type):
        return {
            one.name: plain(getattr(value, one.name))
            for one in dataclasses.fields(value)
            if not callable(getattr(value, one.name))
        }
    if isinstance(value, Mapping):
        return {str(key): plain(one) for key, one in value.items()}
    if isinstance(value, list | tuple | set | frozenset):
        return [plain(one) for one in value]
    raise TypeError(f"{type(value).__name__} has no plain form")


def round_significant(value: float) -> float | None:
    """Round to nine significant digits; ``None`` where it is not a finite number."""
    if not math.isfinite(value):
        return None
    if value == 0.0:
        return 0.0
    places = SIGNIFICANT_DIGITS - 1 - math.floor(math.log10(abs(value)))
    return round(value, places) if places > 0 else float(round(value, places))


def as_json(value: Any) -> str:
    """Write a value as JSON text with a final line end."""
    return json.dumps(plain(value), indent=2, ensure_ascii=False, allow_nan=False) + "\n"
