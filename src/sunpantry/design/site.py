"""Where: the place, what is known of its sun, and what stands in the way of it."""

from __future__ import annotations

from typing import Annotated

from pydantic import Field

from sunpantry.design.keys import (
    EachMonth,
    Monthly,
    MonthlyFraction,
    Name,
    Reader,
    Section,
    written,
)
from sunpantry.design.moments import Months
from sunpantry.units import Percent, PositiveMetres, Quantity

Latitude = Annotated[float, Quantity("°", at_least=-90, at_most=90), written("")]
Longitude = Annotated[float, Quantity("°", at_least=-180, at_most=180), written("")]
Altitude = Annotated[float, Quantity("m", at_least=-430, at_most=6000), written("m")]
Bearing = Annotated[float, Quantity("°", at_least=0, at_most=360), written("°")]
MonthlyPercent = Annotated[
    float | tuple[float, ...], Monthly("%", at_least=0, at_most=100), written("%")
]
_ELEVATION = Quantity("°", at_least=0, at_most=90)
_AZIMUTH = Quantity("°", at_least=0, at_most=360)


def _read_horizon(raw: object) -> tuple[tuple[float, float], ...]:
    if not isinstance(raw, list | tuple):
        raise ValueError("not a list")  # noqa: TRY004
    pairs = []
    for pair in raw:
        if not isinstance(pair, list | tuple) or len(pair) != 2:
            raise ValueError("not a pair")
        pairs.append((_AZIMUTH.read(pair[0]), _ELEVATION.read(pair[1])))
    return tuple(sorted(pairs))


Horizon = Annotated[
    tuple[tuple[float, float], ...],
    Reader(
        _read_horizon,
        "a list of pairs [compass bearing 0 to 360°, height of the skyline 0 to 90°]",
        {"type": "array", "items": {"type": "array", "minItems": 2, "maxItems": 2}},
    ),
]


class Obstacle(Section):
    """Something that stands in the sun: a house, a hedge, trees that are bare in winter.

    The bearings run clockwise (``from`` 120° ``until`` 160°). A bare crown lets through 40 to
    52 % of the beam in Gothenburg (Konarska et al., Theor. Appl. Climatol. 117, 2014, 363) and
    some 60 % in Pennsylvania (Heisler, Urban Ecology 9, 1986, 337), both from memory: half is
    taken where nothing is said. In leaf it is 1 to 5 %.
    """

    name: Name = "obstacle"
    height_m: PositiveMetres = Field(description="above the panels")
    distance_m: PositiveMetres
    from_deg: Bearing = Field(validation_alias="from", serialization_alias="from")
    until_deg: Bearing = Field(validation_alias="until", serialization_alias="until")
    lets_through_pct: Percent = Field(default=0.0, description="share of the beam it lets through")
    bare_months: Months | None = Field(default=None, description="months without leaves")
    bare_lets_through_pct: Percent = Field(default=50.0, description="share let through when bare")


class Site(Section):
    """The place. Coordinates, or a name to look them up by."""

    place: Name | None = Field(default=None, description="looked up when there are no coordinates")
    latitude: Latitude | None = None
    longitude: Longitude | None = None
    altitude_m: Altitude | None = None
    timezone: Name | None = Field(default=None, description="from the coordinates when left out")
    albedo: MonthlyFraction = Field(
        default=0.2, description="share of light the ground throws back"
    )
    monthly_sun_kwh_m2_day: (
        Annotated[
            tuple[float, ...],
            EachMonth("kWh/m²/day", above=0, at_most=12),
            written("kWh/m²/day"),
        ]
        | None
    ) = Field(default=None, description="sun on the flat, or peak sun hours; replaces the table")
    monthly_temperature_c: (
        Annotated[tuple[float, ...], EachMonth("°C", at_least=-70, at_most=50), written("°C")]
        | None
    ) = None
    weather_file: Name | None = None
    horizon: Horizon = Field(default=(), description="skyline, from bearing to height")
    obstacles: tuple[Obstacle, ...] = Field(
        default=(), validation_alias="obstacle", serialization_alias="obstacle"
    )
    soiling_pct: MonthlyPercent | None = Field(default=None, description="light lost to dirt")
    snow_pct: MonthlyPercent | None = Field(default=None, description="light lost to snow")
    mains_v: Annotated[float, Quantity("V", at_least=100, at_most=250), written("V")] = 230.0
