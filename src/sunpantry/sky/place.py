"""Where a system stands."""

from __future__ import annotations

import math
from dataclasses import dataclass

from sunpantry.errors import InputError, Problem
from sunpantry.phrases import phrase

LOWEST_M, HIGHEST_M = -450.0, 6500.0
# Land that lies below the sea, by south, north, west, east [°] (an atlas, from memory). Anywhere
# else a negative height of the grid is sea bed beside a coast, or rounding (steps of 28 m).
BELOW_THE_SEA = (
    (29.5, 33.0, 35.0, 36.0),  # Jordan valley and Dead Sea
    (36.0, 50.0, 46.0, 55.5),  # round the Caspian Sea
    (42.0, 43.5, 88.0, 91.0),  # Turpan
    (28.5, 30.8, 25.5, 29.5),  # Qattara and Siwa
    (29.0, 29.7, 30.2, 31.0),  # Faiyum
    (11.0, 15.0, 39.8, 43.0),  # Danakil and Lake Assal
    (33.0, 35.0, 5.5, 9.0),  # salt lakes of Algeria and Tunisia
    (32.3, 34.0, -116.5, -115.0),  # Salton Sea
    (35.5, 37.0, -117.3, -116.2),  # Death Valley
    (-50.0, -49.0, -69.0, -67.8),  # San Julián
    (-43.0, -42.0, -64.5, -63.5),  # Valdés
)


@dataclass(frozen=True)
class Place:
    """A point on the ground.

    Parameters
    ----------
    latitude : float
        Latitude, north positive [°].
    longitude : float
        Longitude, east positive, -180 ≤ longitude < 180 [°].
    altitude_m : float
        Height above the sea [m].
    timezone : str
        IANA name of the civil time kept there.
    name : str
        What people call it; may be empty.
    """

    latitude: float
    longitude: float
    altitude_m: float
    timezone: str
    name: str = ""

    @property
    def solar_offset_h(self) -> float:
        """Local mean solar time less UTC [h]."""
        return self.longitude / 15.0


def place_at(
    latitude: float,
    longitude: float,
    *,
    altitude_m: float | None = None,
    timezone: str | None = None,
    name: str | None = None,
) -> Place:
    """Describe the place at a pair of coordinates.

    Parameters
    ----------
    latitude : float
        Latitude, north positive, -90…90 [°].
    longitude : float
        Longitude, east positive, -180…360 [°].
    altitude_m : float, optional
        Height above the sea [m]; by default that of a world grid of 5 arc minutes, which
        can be some hundred metres off in mountains, and no lower than the sea but where
        the land is (:data:`BELOW_THE_SEA`).
    timezone : str, optional
        IANA name; by default that of the coordinates.
    name : str, optional
        What people call it.

    Returns
    -------
    Place

    Raises
    ------
    InputError
        If a coordinate or the altitude is outside its range, or the time zone is unknown.
    """
    problems = []
    if not -90.0 <= latitude <= 90.0:
        problems.append(
            Problem(
                "latitude",
                str(latitude),
                phrase("from -90 to 90 degrees, north positive"),
                phrase("check the sign, and that latitude and longitude are not swapped"),
            )
        )
    if not -180.0 <= longitude <= 360.0:
        problems.append(
            Problem(
                "longitude",
                str(longitude),
                phrase("from -180 to 180 degrees, east positive"),
                phrase("check the sign, and that latitude and longitude are not swapped"),
            )
        )
    if altitude_m is not None and not LOWEST_M <= altitude_m <= HIGHEST_M:
        problems.append(
            Problem(
                "altitude",
                str(altitude_m),
                phrase(
                    "from {lowest_m:g} to {highest_m:g} m", lowest_m=LOWEST_M, highest_m=HIGHEST_M
                ),
                phrase("give metres above the sea, or leave it out"),
            )
        )
    if timezone is not None and not _is_timezone(timezone):
        problems.append(
            Problem(
                "timezone",
                timezone,
                phrase("an IANA name such as Europe/Dublin"),
                phrase("leave it out to take that of the coordinates"),
            )
        )
    if problems:
        raise InputError(problems)
    east = longitude if longitude < 180.0 else longitude - 360.0
    return Place(
        latitude=float(latitude),
        longitude=float(east),
        altitude_m=_grid_altitude_m(latitude, east) if altitude_m is None else float(altitude_m),
        timezone=_timezone_at(latitude, east) if timezone is None else timezone,
        name=name or "",
    )


def _is_timezone(name: str) -> bool:
    from zoneinfo import ZoneInfo, ZoneInfoNotFoundError

    try:
        ZoneInfo(name)
    except (ZoneInfoNotFoundError, ValueError, OSError):
        return False
    return True


def _timezone_at(latitude: float, longitude: float) -> str:
    from tzfpy import get_tz

    return get_tz(longitude, latitude) or "UTC"


def _grid_altitude_m(latitude: float, longitude: float) -> float:
    from pvlib.location import lookup_altitude

    altitude = float(lookup_altitude(latitude, longitude))
    if not math.isfinite(altitude):
        return 0.0
    below = any(
        south <= latitude <= north and west <= longitude <= east
        for south, north, west, east in BELOW_THE_SEA
    )
    return altitude if below else max(altitude, 0.0)
