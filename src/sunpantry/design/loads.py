"""What must run: the loads and their habits."""

from __future__ import annotations

import re
from typing import Annotated, Literal

from pydantic import Field

from sunpantry.design.keys import (
    Count,
    Flag,
    MonthlyFraction,
    Name,
    Number,
    Reader,
    Section,
    written,
)
from sunpantry.design.moments import MomentText, Months, Weekdays
from sunpantry.units import Quantity, WattHours, Watts

Supply = Literal["5 V", "12 V", "24 V", "48 V", "mains"]
LoadKind = Literal["light", "motor", "electronics", "heater", "other"]
Plug = Literal["wired", "vehicle socket"]
Importance = Literal["must", "should", "may"]
IMPORTANCES: tuple[Importance, ...] = ("must", "should", "may")
SUPPLY_V: dict[Supply, float] = {"5 V": 5.0, "12 V": 12.0, "24 V": 24.0, "48 V": 48.0}
SUN_TO_SPARE = "sun to spare"
_BATTERY_ABOVE = re.compile(r"^battery above (\d{1,3}(?:\.\d+)?) ?%$")


def _read_rule(raw: object) -> str:
    plain = re.sub(r"\s+", " ", str(raw)).strip().lower()
    level = _BATTERY_ABOVE.match(plain)
    if plain != SUN_TO_SPARE and (level is None or float(level[1]) > 100):
        raise ValueError("no such rule")
    return plain


Rule = Annotated[
    str,
    Reader(_read_rule, '"sun to spare" or "battery above 80 %"', {"type": "string"}),
]
DayHours = Annotated[float, Quantity("h", at_least=0, at_most=24), written("h")]
Minutes = Annotated[float, Quantity("min", above=0, at_most=24 * 60), written("min")]


class CanWait(Section):
    """Patience: the job may be put off until there is sun, but not for ever."""

    days: Annotated[float, Quantity("days", above=0, at_most=60), written("days")] = 3.0
    rule: Rule = SUN_TO_SPARE

    @property
    def battery_above(self) -> float | None:
        """State of charge the battery must have [fraction]; None: sun to spare."""
        level = _BATTERY_ABOVE.match(self.rule)
        return float(level[1]) / 100.0 if level else None


class Bursts(Section):
    """Short runs at random moments, as many each day or each night."""

    per_day: Number | None = Field(default=None, description="at any hour")
    per_night: Number | None = Field(default=None, description="between dusk and dawn")
    minutes: Minutes = 1.0


class Load(Section):
    """One thing, or ``quantity`` equal things, that must run.

    ``power`` is what one draws while it works. How much it works is said in one of
    three ways: by hours (``hours_per_day``, or a window ``from``…``until``, each with
    ``duty``), by uses (``energy_per_use``, ``uses_per_week``) or by ``bursts``.
    """

    name: Name
    like: Name | None = Field(default=None, description="an entry of the library to start from")
    quantity: Count = 1
    power_w: Watts | None = Field(default=None, description="drawn by one while it works")
    supply: Supply | None = None
    hours_per_day: DayHours | None = Field(default=None, description="in the evening, from dusk")
    from_: MomentText | None = None
    until: MomentText | None = None
    months: Months | None = None
    weekdays: Weekdays | None = None
    duty: MonthlyFraction | None = Field(
        default=None, description="share of the time it really draws its power"
    )
    surge_w: Watts | None = Field(default=None, description="highest draw of one as it starts")
    standby_w: Watts | None = Field(default=None, description="drawn by one while it does nothing")
    energy_per_use_wh: WattHours | None = None
    minutes_per_use: Minutes | None = None
    uses_per_week: Number | None = None
    importance: Importance | None = Field(default=None, description='"should" when left out')
    can_wait: CanWait | None = None
    bursts: Bursts | None = None
    own_battery_wh: WattHours | None = Field(default=None, description="store inside one device")
    kind: LoadKind | None = None
    plug: Plug = "wired"
    typical: Flag = Field(default=False, description="the figures are guesses, not measured")
    note: str = ""
