"""The upper picture of a place: the ways of the sun, with the skyline drawn in."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any

import numpy as np

from sunpantry.sky.best_tilts import compass_word
from sunpantry.sky.horizon import Horizon, Obstacle
from sunpantry.sky.paths import SunPath, sun_path
from sunpantry.timegrid import FloatArray

WIDTH, HEIGHT = 640, 300
INK, QUIET, FAINT = "#22303c", "#5f6c76", "#aab3ba"
SUN = "#b4690e"
_LAND, _WALL = "#56646e", "#8a969f"
_SOLID, _DASHED, _DOTTED = [1, 0], [7, 4], [2, 3]
# Turning days and the equinox are named; the days between are drawn thin.
_NAMED_DASHES = {5: _SOLID, 2: _DASHED, 11: _DOTTED}
_BETWEEN = (0, 1, 3, 4)
# Half the width of the longest label, in degrees of the widest window.
_LABEL_REACH_DEG = 40.0
_PAIRS = {5: "21 June", 2: "21 March and September", 11: "21 December"}


@dataclass(frozen=True, slots=True)
class _Frame:
    """The window on the sky: directions from ``-reach`` to ``reach`` round ``middle`` [°]."""

    middle: float
    reach: float
    top: float

    @classmethod
    def holding(cls, paths: dict[int, SunPath], latitude: float) -> _Frame:
        middle = 180.0 if latitude >= 0 else 0.0
        highest = max(float(path.elevation_deg.max()) for path in paths.values())
        widest = max(
            float(
                np.abs(_relative(path.azimuth_deg[path.elevation_deg > 0], middle)).max(initial=90)
            )
            for path in paths.values()
        )
        reach = float(min(180.0, 15.0 * np.ceil((widest + 3.0) / 15.0)))
        return cls(middle, reach, float(min(90.0, 10.0 * np.ceil((highest + 6.0) / 10.0))))

    def across(self, azimuth_deg: FloatArray) -> FloatArray:
        """Azimuths as the distance from the middle."""
        return _relative(azimuth_deg, self.middle)

    def encoding(self) -> dict[str, Any]:
        """The two axes."""
        angles = [angle for angle in range(-180, 181, 45) if abs(angle) <= self.reach]
        words = ", ".join(
            f"'{compass_word((angle + self.middle) % 360.0)}'" for angle in range(-180, 181, 45)
        )
        heights = list(range(0, round(self.top) + 1, 15 if self.top > 60 else 10))
        return {
            "x": {
                "field": "x",
                "type": "quantitative",
                "scale": {"domain": [-self.reach, self.reach], "nice": False},
                "axis": {
                    "title": None,
                    "values": angles,
                    "labelExpr": f"[{words}][(datum.value + 180) / 45]",
                    "labelFlush": False,
                },
            },
            "y": {
                "field": "y",
                "type": "quantitative",
                "scale": {"domain": [0, self.top], "nice": False},
                "axis": {
                    "title": "height above level",
                    "values": heights,
                    "labelExpr": "datum.label + '°'",
                },
            },
        }


def sky_chart(latitude: float, name: str, horizon: Horizon) -> dict[str, Any]:
    """Elevation over azimuth, the direction of the noon sun in the middle."""
    paths = {month: sun_path(latitude, month) for month in (*_NAMED_DASHES, *_BETWEEN)}
    frame = _Frame.holding(paths, latitude)
    lines = [row for path in paths.values() for row in _path_rows(path, frame)]
    hours = "Dots mark the hours of sun time; thin lines are the 21st of the months between."
    layers = [
        _line_layer([row for row in lines if not row["named"]], frame, thin=True),
        _line_layer([row for row in lines if row["named"]], frame, thin=False),
        _hour_layer(paths, frame),
        *_skyline_layers(horizon, frame),
        *_words([_path_label(paths[month], frame) for month in _NAMED_DASHES], frame, dy=-9),
    ]
    return {
        "title": {
            "text": f"Where the sun stands through the year at {name}",
            "subtitle": hours if horizon.level else f"{hours} Grey is what stands in the way.",
        },
        "width": WIDTH,
        "height": HEIGHT,
        "layer": layers,
    }


def _relative(azimuth_deg: FloatArray, middle: float) -> FloatArray:
    return (azimuth_deg - middle + 180.0) % 360.0 - 180.0


def _path_rows(path: SunPath, frame: _Frame) -> list[dict[str, Any]]:
    """Points of one path above level, a new piece after it sets or goes round the back."""
    x, y = frame.across(path.azimuth_deg), path.elevation_deg
    rows: list[dict[str, Any]] = []
    piece = 0

    def add(across: float, height: float) -> None:
        rows.append(
            {
                "x": round(float(across), 2),
                "y": round(float(height), 2),
                "line": f"{path.month}-{piece}",
                "order": len(rows),
                "named": path.month in _NAMED_DASHES,
                "month": path.month,
            }
        )

    for at in range(x.size - 1):
        low, high = y[at], y[at + 1]
        step = float(_relative(x[at + 1 : at + 2] - x[at], 0.0)[0])
        if low < 0.0 and high < 0.0:
            piece += 1
            continue
        # From where it stands, or from where it crosses the level.
        share = -low / (high - low) if low < 0.0 else 0.0
        add(x[at] + share * step, low + share * (high - low))
        if abs(x[at] + step) > 180.0:
            edge = 180.0 if step > 0 else -180.0
            height = low + (edge - x[at]) / step * (high - low)
            add(edge, height)
            piece += 1
            add(-edge, height)
        if high < 0.0:
            share = -low / (high - low)
            add(x[at] + share * step, 0.0)
    return rows


def _line_layer(rows: list[dict[str, Any]], frame: _Frame, *, thin: bool) -> dict[str, Any]:
    encoding: dict[str, Any] = frame.encoding() | {
        "detail": {"field": "line", "type": "nominal"},
        "order": {"field": "order", "type": "quantitative"},
    }
    if not thin:
        encoding["strokeDash"] = {
            "field": "month",
            "type": "nominal",
            "scale": {"domain": list(_NAMED_DASHES), "range": list(_NAMED_DASHES.values())},
            "legend": None,
        }
    style = {"color": FAINT, "strokeWidth": 0.9} if thin else {"color": SUN, "strokeWidth": 2.2}
    return {
        "data": {"values": rows},
        "mark": {"type": "line", "clip": True} | style,
        "encoding": encoding,
    }


def _hour_layer(paths: dict[int, SunPath], frame: _Frame) -> dict[str, Any]:
    rows = []
    for month in _NAMED_DASHES:
        path = paths[month]
        across = frame.across(path.azimuth_deg)
        on_hour = np.isclose(path.solar_h % 1.0, 0.0) & (path.solar_h < 24.0)
        rows += [
            {"x": round(float(across[at]), 2), "y": round(float(path.elevation_deg[at]), 2)}
            for at in np.nonzero(on_hour & (path.elevation_deg > 0.5))[0]
        ]
    return {
        "data": {"values": rows},
        "mark": {"type": "point", "filled": True, "size": 16, "color": INK, "opacity": 1},
        "encoding": frame.encoding(),
    }


def _path_label(path: SunPath, frame: _Frame) -> dict[str, Any]:
    noon = int(np.argmax(path.elevation_deg))
    across = float(frame.across(path.azimuth_deg[noon : noon + 1])[0])
    inside = max(frame.reach - _LABEL_REACH_DEG, 0.0)
    height = float(path.elevation_deg[noon])
    return {
        "x": float(np.clip(across, -inside, inside)),
        "y": height,
        "words": f"{_PAIRS[path.month]} · {height:.0f}° at noon" if height > 0.0 else "",
    }


def _words(labels: list[dict[str, Any]], frame: _Frame, *, dy: float, **style: Any) -> list[Any]:
    """Words with a white edge, so that lines behind them do not strike them out."""
    encoding = frame.encoding() | {"text": {"field": "words", "type": "nominal"}}
    text = {"type": "text", "dy": dy, "fontSize": 11} | style
    edge = {"color": "white", "stroke": "white", "strokeWidth": 4, "strokeJoin": "round"}
    return [
        {"data": {"values": labels}, "mark": text | look, "encoding": encoding}
        for look in (edge, {"color": INK})
    ]


def _skyline_layers(horizon: Horizon, frame: _Frame) -> list[dict[str, Any]]:
    """The land as a solid shape, obstacles before it, those that let light through paler."""
    layers: list[dict[str, Any]] = []
    encoding = frame.encoding()
    across = np.arange(-frame.reach, frame.reach + 0.25, 0.5)
    land = horizon.outline_deg(across + frame.middle)
    if land.max() > 0:
        rows = [
            {"x": float(a), "y": round(min(float(h), frame.top), 2)}
            for a, h in zip(across, land, strict=True)
        ]
        mark = {"type": "area", "color": _LAND, "opacity": 0.85, "clip": True}
        layers.append({"data": {"values": rows}, "mark": mark, "encoding": encoding})
    boxes = [box for obstacle in horizon.obstacles for box in _boxes(obstacle, frame)]
    if not boxes:
        return layers
    edges = {
        "x2": {"field": "x2"},
        "y2": {"field": "y2"},
        "fillOpacity": {"field": "solid", "type": "quantitative", "scale": None},
        "strokeDash": {
            "field": "wall",
            "type": "nominal",
            "scale": {"domain": [True, False], "range": [_SOLID, [3, 2]]},
            "legend": None,
        },
    }
    mark = {"type": "rect", "clip": True, "color": _WALL, "stroke": INK, "strokeWidth": 1}
    layers.append({"data": {"values": boxes}, "mark": mark, "encoding": encoding | edges})
    names = [{"x": box["xm"], "y": box["y"], "words": box["name"]} for box in boxes]
    return [*layers, *_words(names, frame, dy=-8, fontStyle="italic")]


def _boxes(obstacle: Obstacle, frame: _Frame) -> list[dict[str, Any]]:
    """An obstacle as one rectangle, or as two where it runs over the edge of the picture."""
    start = float(frame.across(np.array([obstacle.from_deg]))[0])
    through = sum(obstacle.transmission) / 12.0
    boxes = []
    for low in (start, start - 360.0):
        left = max(low, -frame.reach)
        right = min(low + obstacle.span_deg, frame.reach)
        if right > left:
            boxes.append(
                {
                    "x": left,
                    "x2": right,
                    "xm": (left + right) / 2.0,
                    "y": round(min(obstacle.elevation_deg, frame.top), 2),
                    "y2": 0.0,
                    "name": obstacle.name,
                    "solid": round(0.7 - 0.4 * through, 3) if through else 1.0,
                    "wall": through == 0.0,
                }
            )
    return boxes
