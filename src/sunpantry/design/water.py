"""Water: tanks, what is drawn from them, and the pumps that fill them."""

from __future__ import annotations

from typing import Annotated, Literal

from pydantic import Field

from sunpantry.design.keys import Fraction, Monthly, Name, Number, Reader, Section, written
from sunpantry.design.loads import Importance, Rule, Supply
from sunpantry.design.moments import Months
from sunpantry.units import Litres, Metres, PositiveMetres, PositiveWatts, Quantity, Watts

LitresPerMinute = Annotated[float, Quantity("L/min", above=0, at_most=5000), written("L/min")]
PositiveLitres = Annotated[float, Quantity("L", above=0), written("L")]
Bore = Annotated[float, Quantity("mm", above=2, at_most=500), written("mm")]
MonthlyLitres = Annotated[float | tuple[float, ...], Monthly("L", at_least=0), written("L")]
_FLOW = Quantity("L/min", at_least=0)
_HEAD = Quantity("m", at_least=0)
_POWER = Quantity("W", at_least=0)


def _read_curve(raw: object) -> tuple[tuple[float, ...], ...]:
    if not isinstance(raw, list | tuple) or len(raw) < 2:
        raise ValueError("too short")
    points = []
    for point in raw:
        if not isinstance(point, list | tuple) or len(point) not in (2, 3):
            raise ValueError("not a point")
        readers = (_FLOW, _HEAD, _POWER)
        points.append(tuple(read.read(one) for read, one in zip(readers, point, strict=False)))
    if len({len(point) for point in points}) > 1:
        raise ValueError("some points have a power and some not")
    return tuple(sorted(points))


Curve = Annotated[
    tuple[tuple[float, ...], ...],
    Reader(
        _read_curve,
        "at least two points [flow in L/min, head in m] or [flow, head, power in W]",
        {"type": "array", "items": {"type": "array"}, "minItems": 2},
    ),
]


class Drinkers(Section):
    """So many animals, beds or people that take water from a tank."""

    name: Name
    number: Number = 1.0
    litres_each: MonthlyLitres = Field(description="a day, for each")
    months: Months | None = None


class Tank(Section):
    """A tank: a battery that stores water."""

    name: Name = "tank"
    volume_l: PositiveLitres
    full_at_start: Fraction = 1.0
    litres_per_day: MonthlyLitres = Field(default=0.0, description="drawn besides the drinkers")
    drinkers: tuple[Drinkers, ...] = Field(
        default=(), validation_alias="drinker", serialization_alias="drinker"
    )
    importance: Importance = "should"


class Pump(Section):
    """A pump with its pipe. Given by its curve, or by one rated point."""

    name: Name = "pump"
    into: Name | None = Field(default=None, description="name of the tank; the only one by default")
    supply: Supply | Literal["panel"] = Field(
        default="12 V", description='"panel": straight from the panel, no battery'
    )
    static_head_m: Metres = Field(description="from the water's surface to the outlet")
    suction_m: Metres = 0.0
    pipe_length_m: PositiveMetres
    pipe_bore_mm: Bore | None = Field(default=None, description="inside; chosen when left out")
    pipe: Literal["plastic", "copper", "steel", "galvanised"] = "plastic"
    elbows: Annotated[int, Field(strict=True, ge=0, le=200)] = 0
    valves: Annotated[int, Field(strict=True, ge=0, le=200)] = 0
    check_valves: Annotated[int, Field(strict=True, ge=0, le=200)] = 1
    rated_flow_l_min: LitresPerMinute | None = None
    rated_head_m: PositiveMetres | None = None
    rated_power_w: PositiveWatts | None = None
    curve: Curve | None = None
    start_power_w: Watts | None = Field(default=None, description="below this it does not turn")
    surge_w: Watts | None = None
    rule: Rule | None = Field(default=None, description="when it may run; whenever the tank wants")
    well_yield_l_per_day: Litres | None = Field(
        default=None,
        validation_alias="well_yield_per_day",
        serialization_alias="well_yield_per_day",
    )
    importance: Importance = "should"
