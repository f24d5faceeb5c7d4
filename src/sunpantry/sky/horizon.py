"""What stands round the panels: hills, houses and trees.

A :class:`Horizon` says how much of the sun's beam gets past the ground in each
direction and how much of the plain (isotropic) sky a panel still sees.

Azimuths are degrees clockwise from true north, elevations degrees above level.
Months run from 0 (January) to 11.
"""

from __future__ import annotations

import itertools
import math
from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from typing import TYPE_CHECKING, Any

import numpy as np
from numpy.typing import ArrayLike

from sunpantry.errors import InputError, Problem
from sunpantry.phrases import phrase
from sunpantry.timegrid import FloatArray

if TYPE_CHECKING:
    from sunpantry.design.site import Obstacle as Described
    from sunpantry.design.site import Site

OPAQUE = (0.0,) * 12
_STEPS_ROUND = 720


@dataclass(frozen=True, slots=True)
class Obstacle:
    """One thing that stands in the way, as wide as the span of compass it fills.

    Parameters
    ----------
    height_m : float
        Height above the lower edge of the panels [m].
    distance_m : float
        Distance from the panels [m]; the same over the whole span, so the top stands
        at one elevation, atan(height / distance).
    from_deg, to_deg : float
        Azimuths of its two sides [°], clockwise from the first to the second; a span
        over north such as 350 to 10 is meant that way round.
    transmission : tuple of 12 floats
        Share of the light that gets through in each month, 0 (a wall) to 1.
    name : str
        What it is, in the owner's words.
    """

    height_m: float
    distance_m: float
    from_deg: float
    to_deg: float
    transmission: tuple[float, ...] = OPAQUE
    name: str = "obstacle"

    @property
    def elevation_deg(self) -> float:
        """Elevation of the top as the panels see it [°]."""
        return math.degrees(math.atan2(self.height_m, self.distance_m))

    @property
    def span_deg(self) -> float:
        """Width on the compass [°], more than 0 and at most 360."""
        return (self.to_deg - self.from_deg) % 360.0 or 360.0

    def covers(self, azimuth_deg: ArrayLike) -> np.ndarray[Any, np.dtype[np.bool_]]:
        """Tell which of the azimuths [°] lie within the span."""
        return (np.asarray(azimuth_deg, dtype=float) - self.from_deg) % 360.0 <= self.span_deg


@dataclass(frozen=True, slots=True)
class Horizon:
    """The outline of the ground and the things that stand on it.

    Parameters
    ----------
    azimuths_deg, elevations_deg : tuple of float
        Outline of the land [°]: any number of directions in any order, joined by
        straight lines all round the compass. Empty means level ground. Elevations
        below zero count as level.
    obstacles : tuple of Obstacle
        Houses, hedges, trees.

    Raises
    ------
    InputError
        With every value that cannot be used.
    """

    azimuths_deg: tuple[float, ...] = ()
    elevations_deg: tuple[float, ...] = ()
    obstacles: tuple[Obstacle, ...] = ()

    def __post_init__(self) -> None:
        problems = [*_outline_problems(self.azimuths_deg, self.elevations_deg)]
        for position, obstacle in enumerate(self.obstacles):
            problems += _obstacle_problems(f"site.obstacle[{position + 1}]", obstacle)
        if problems:
            raise InputError(problems)

    @classmethod
    def of(
        cls, pairs: Iterable[Sequence[float]] = (), obstacles: Iterable[Obstacle] = ()
    ) -> Horizon:
        """Build from (azimuth, elevation) pairs [°] and obstacles."""
        listed = [tuple(map(float, pair)) for pair in pairs]
        for position, pair in enumerate(listed):
            if len(pair) != 2:
                raise InputError.one(
                    f"site.horizon[{position + 1}]",
                    list(pair),
                    phrase("two numbers, azimuth and elevation in degrees"),
                    phrase("write it as [azimuth, elevation], for example [135, 12]"),
                )
        return cls(
            tuple(pair[0] for pair in listed),
            tuple(pair[1] for pair in listed),
            tuple(obstacles),
        )

    @property
    def level(self) -> bool:
        """True when nothing at all stands above level ground."""
        return not self.obstacles and all(angle <= 0 for angle in self.elevations_deg)

    def outline_deg(self, azimuth_deg: ArrayLike) -> FloatArray:
        """Elevation of the land [°] at each azimuth [°], obstacles left out."""
        azimuth = np.asarray(azimuth_deg, dtype=np.float64) % 360.0
        if not self.azimuths_deg:
            return np.zeros_like(azimuth)
        at, angle = self._sorted_outline()
        return np.maximum(np.interp(azimuth, at, angle, period=360.0), 0.0)

    def skyline_deg(self, azimuth_deg: ArrayLike) -> FloatArray:
        """Elevation [°] of whatever stands highest at each azimuth [°]."""
        azimuth = np.asarray(azimuth_deg, dtype=np.float64)
        top = self.outline_deg(azimuth)
        for obstacle in self.obstacles:
            top = np.where(obstacle.covers(azimuth), np.maximum(top, obstacle.elevation_deg), top)
        return top

    def beam_factor(
        self, sun_azimuth_deg: ArrayLike, sun_elevation_deg: ArrayLike, month: ArrayLike
    ) -> FloatArray:
        """Share of the sun's beam that reaches the panels.

        Parameters
        ----------
        sun_azimuth_deg, sun_elevation_deg : array_like
            Where the sun stands [°]; shapes that broadcast.
        month : array_like of int
            Month of each position, 0 to 11.

        Returns
        -------
        ndarray
            0 behind the land, the transmission behind a tree (the product behind
            several), 1 elsewhere. Level ground never blocks, whatever the elevation.
        """
        azimuth = np.asarray(sun_azimuth_deg, dtype=np.float64)
        elevation = np.asarray(sun_elevation_deg, dtype=np.float64)
        month_number = np.asarray(month, dtype=np.int64)
        land = self.outline_deg(azimuth)
        factor = np.where((land > 0) & (elevation < land), 0.0, 1.0)
        for obstacle in self.obstacles:
            behind = obstacle.covers(azimuth) & (elevation < obstacle.elevation_deg)
            through = np.asarray(obstacle.transmission)[month_number]
            factor = factor * np.where(behind, through, 1.0)
        return np.asarray(factor, dtype=np.float64)

    def sky_view(self, tilt_deg: float, azimuth_deg: float, month: int) -> float:
        """Share of the isotropic sky light on a plane that the surroundings leave.

        Parameters
        ----------
        tilt_deg : float
            Tilt of the plane from level [°], 0 to 90.
        azimuth_deg : float
            Direction it faces [°].
        month : int
            0 to 11.

        Returns
        -------
        float
            Relative to the same plane on level open ground, 0 to 1.

        Notes
        -----
        The integral of cos θ over the visible sky, over the same for open ground, which
        is π (1 + cos β) / 2. It is taken exactly in elevation between the edges that
        stand in each direction, and by the midpoint rule in 720 steps round the compass.
        The light that the obstacles themselves throw back is left out.
        """
        step = 360.0 / _STEPS_ROUND
        azimuth = np.linspace(step / 2, 360.0 - step / 2, _STEPS_ROUND)
        away = azimuth - azimuth_deg
        land = np.radians(self.outline_deg(azimuth))
        tops = [
            obstacle.covers(azimuth) * math.radians(obstacle.elevation_deg)
            for obstacle in self.obstacles
        ]
        zenith = np.full_like(land, np.pi / 2)
        edges = np.sort(np.vstack([land * 0.0, land, *tops, zenith]), axis=0)
        kept = np.zeros_like(land)
        for low, high in itertools.pairwise(edges):
            through: FloatArray = np.where(low >= land, 1.0, 0.0)
            for obstacle, top in zip(self.obstacles, tops, strict=True):
                through = through * np.where(low < top, obstacle.transmission[month], 1.0)
            kept += through * _slice_of_sky(tilt_deg, away, low, high)
        open_ground = _slice_of_sky(tilt_deg, away, np.zeros_like(land), zenith)
        return float(kept.sum() / open_ground.sum())

    def _sorted_outline(self) -> tuple[FloatArray, FloatArray]:
        at = np.asarray(self.azimuths_deg, dtype=np.float64) % 360.0
        order = np.argsort(at, kind="stable")
        return at[order], np.asarray(self.elevations_deg, dtype=np.float64)[order]


def horizon_of(site: Site) -> Horizon | None:
    """Take the skyline of a site from its document.

    Parameters
    ----------
    site : Site
        The site's section.

    Returns
    -------
    Horizon or None
        None on open, level ground.

    Raises
    ------
    InputError
        With every value that cannot be used.
    """
    horizon = Horizon.of(site.horizon, [_obstacle(item) for item in site.obstacles])
    return None if horizon.level else horizon


def _obstacle(section: Described) -> Obstacle:
    bare = section.bare_months or ()
    leafy, through = section.lets_through_pct / 100.0, section.bare_lets_through_pct / 100.0
    return Obstacle(
        height_m=section.height_m,
        distance_m=section.distance_m,
        from_deg=section.from_deg,
        to_deg=section.until_deg,
        transmission=tuple(through if month in bare else leafy for month in range(1, 13)),
        name=section.name,
    )


def _slice_of_sky(
    tilt_deg: float, away_deg: FloatArray, low: FloatArray, high: FloatArray
) -> FloatArray:
    """Integrate cos θ cos e over elevation from ``low`` to ``high`` [rad], front side only.

    ``away_deg`` is the azimuth counted from the one the plane faces.
    """
    tilt = math.radians(tilt_deg)
    ahead = math.sin(tilt) * np.cos(np.radians(away_deg))
    level = math.cos(tilt)
    # The plane's own edge hides the sky below tan e = -tan β cos Δ.
    own_edge = np.maximum(np.arctan2(-ahead, level), 0.0)
    low, high = np.maximum(low, own_edge), np.maximum(high, own_edge)

    def primitive(angle: FloatArray) -> FloatArray:
        turning: FloatArray = ahead * (angle / 2.0 + np.sin(2.0 * angle) / 4.0)
        return level * np.sin(angle) ** 2 / 2.0 + turning

    return primitive(high) - primitive(low)


def _outline_problems(azimuths: tuple[float, ...], elevations: tuple[float, ...]) -> list[Problem]:
    if len(azimuths) != len(elevations):
        return [
            Problem(
                "site.horizon",
                f"{len(azimuths)} azimuths, {len(elevations)} elevations",
                phrase("one elevation for each azimuth"),
                phrase("write pairs of [azimuth, elevation]"),
            )
        ]
    problems = []
    seen: set[float] = set()
    for position, (azimuth, elevation) in enumerate(zip(azimuths, elevations, strict=True)):
        where = f"site.horizon[{position + 1}]"
        if not (math.isfinite(azimuth) and -180 <= azimuth <= 360):
            problems.append(
                Problem(
                    where,
                    f"azimuth {azimuth:g}°",
                    phrase("degrees clockwise from true north, -180 to 360"),
                    phrase("90 is east, 180 south, 270 west"),
                )
            )
            continue
        if not (math.isfinite(elevation) and -30 <= elevation < 90):
            problems.append(
                Problem(
                    where,
                    f"elevation {elevation:g}°",
                    phrase("degrees above level, less than 90"),
                    phrase("measure the angle from level up to the top of what stands there"),
                )
            )
        if azimuth % 360.0 in seen:
            problems.append(
                Problem(
                    where,
                    f"azimuth {azimuth:g}°",
                    phrase("each direction once (0 and 360 are the same)"),
                    phrase("keep one of the two; for a sharp edge give azimuths 0.1° apart"),
                )
            )
        seen.add(azimuth % 360.0)
    return problems


def _obstacle_problems(where: str, obstacle: Obstacle) -> list[Problem]:
    problems = []
    for field, value in (
        ("height", obstacle.height_m),
        ("distance", obstacle.distance_m),
    ):
        if not (math.isfinite(value) and value > 0):
            problems.append(
                Problem(
                    f"{where}.{field}",
                    f"{value:g} m",
                    phrase("more than 0 m"),
                    phrase(
                        "height is counted from the lower edge of the panels; leave out what "
                        "stands lower"
                    ),
                )
            )
    for field, value in (("from", obstacle.from_deg), ("to", obstacle.to_deg)):
        if not (math.isfinite(value) and -180 <= value <= 360):
            problems.append(
                Problem(
                    f"{where}.{field}",
                    f"{value:g}°",
                    phrase("degrees clockwise from true north, -180 to 360"),
                    phrase("90 is east, 180 south, 270 west"),
                )
            )
    through = obstacle.transmission
    if len(through) != 12 or not all(0 <= share <= 1 for share in through):
        problems.append(
            Problem(
                f"{where}.transmission",
                f"{list(through)}",
                phrase("12 shares between 0 and 1, January to December"),
                phrase("0 is a wall; trees in leaf let through about 0.05, bare ones about 0.5"),
            )
        )
    return problems
