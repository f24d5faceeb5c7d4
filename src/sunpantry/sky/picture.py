"""Pictures of a place: the ways of the sun with the skyline, and a year of daily sun.

The result is a Vega-Lite specification, a plain dictionary that a page can draw and
:func:`write_picture` can turn into a file. Lines are told apart by dash and by words that
stand beside them, so that a copy in black and white says the same.
"""

from __future__ import annotations

from pathlib import Path
from typing import Any

import numpy as np

from sunpantry.design.moments import MONTHS
from sunpantry.errors import InputError
from sunpantry.sky.best_tilts import compass_word
from sunpantry.sky.horizon import Horizon
from sunpantry.sky.paths import sun_path
from sunpantry.sky.picture_sky import FAINT, INK, QUIET, SUN, WIDTH, sky_chart
from sunpantry.sky.view import PlaceView
from sunpantry.timegrid import DAYS_PER_YEAR, FIRST_OF_JULY, MONTH_LENGTHS

SCHEMA = "https://vega.github.io/schema/vega-lite/v6.json"
_BAND = "#ecd9b4"


def picture_spec(view: PlaceView) -> dict[str, Any]:
    """Draw a place.

    Parameters
    ----------
    view : PlaceView
        Its figures, and what stands round it.

    Returns
    -------
    dict
        A Vega-Lite 6 specification with all data inline; ``description`` is a text
        for those who cannot see it.
    """
    return {
        "$schema": SCHEMA,
        "description": alt_text(view),
        "background": "white",
        "padding": 12,
        "spacing": 34,
        "vconcat": [
            sky_chart(view.place.latitude, _name(view), view.horizon or Horizon()),
            _year(view),
        ],
        "config": _config(),
    }


def alt_text(view: PlaceView) -> str:
    """Say in words what the picture shows.

    Parameters
    ----------
    view : PlaceView
        The figures of the place, and what stands round it.

    Returns
    -------
    str
        Four sentences or so.
    """
    june, december = (_noon_deg(view.place.latitude, month) for month in (5, 11))
    dull, bright = view.darkest_month, int(np.argmax(view.monthly_ghi_kwh_m2_day))
    ghi = view.monthly_ghi_kwh_m2_day
    words = [
        f"Two pictures of {_name(view)}.",
        f"Above: the way of the sun on seven days of the year, from {december:.0f}° above level "
        f"at noon on 21 December to {june:.0f}° on 21 June.",
    ]
    if view.horizon is not None and not view.horizon.level:
        top = view.horizon.skyline_deg(np.arange(360.0))
        words.append(
            f"The skyline is drawn in; it stands highest, {top.max():.0f}°, in the "
            f"{compass_word(float(np.argmax(top)))}."
        )
    words.append(
        f"Below: sun on the flat through the year, on average {ghi[bright]:.1f} kWh/m² a day in "
        f"{MONTHS[bright]} and {ghi[dull]:.1f} in {MONTHS[dull]}, with the band that eight days "
        "of ten fall in."
    )
    return " ".join(words)


def check_ending(path: Path) -> str:
    """Tell which kind of picture a file name asks for, before anything is worked out.

    Parameters
    ----------
    path : Path
        The file to be written.

    Returns
    -------
    str
        ``".svg"`` or ``".png"``.

    Raises
    ------
    InputError
        When it ends in anything else.
    """
    ending = path.suffix.lower()
    if ending not in (".svg", ".png"):
        raise InputError.one(
            "picture", path.name, "a name that ends in .svg or .png", "write another name"
        )
    return ending


def write_picture(spec: dict[str, Any], path: Path) -> None:
    """Write a picture as a file.

    Parameters
    ----------
    spec : dict
        From :func:`picture_spec`.
    path : Path
        Ends in ``.svg`` or ``.png``.

    Raises
    ------
    InputError
        When the ending is another, or the file cannot be written.
    """
    import vl_convert

    ending = check_ending(path)
    if ending == ".svg":
        drawn = vl_convert.vegalite_to_svg(spec, allowed_base_urls=[])
        content = _with_words(drawn, str(spec["description"])).encode()
    else:
        content = vl_convert.vegalite_to_png(spec, scale=2.0, allowed_base_urls=[])
    try:
        path.write_bytes(content)
    except OSError as error:
        raise InputError.one(
            "picture", str(path), "a file that can be written", error.strerror or str(error)
        ) from error


def _with_words(svg: str, words: str) -> str:
    """Give the drawing a role and a description that reading programs find."""
    from xml.sax.saxutils import escape

    head, rest = svg.split(">", 1)
    return f'{head} role="img"><desc>{escape(words)}</desc>{rest}'


def _config() -> dict[str, Any]:
    return {
        "font": "Helvetica, Arial, sans-serif",
        "view": {"stroke": FAINT},
        "axis": {
            "labelColor": QUIET, "titleColor": QUIET, "labelFontSize": 11, "titleFontSize": 11,
            "titleFontWeight": "normal", "gridColor": "#eceff1", "domainColor": FAINT,
            "tickColor": FAINT,
        },
        "title": {
            "anchor": "start", "frame": "group",
            "fontSize": 14, "fontWeight": "bold", "color": INK,
            "subtitleFontSize": 11, "subtitleColor": QUIET, "offset": 10, "subtitlePadding": 4,
        },
        "text": {"color": INK, "fontSize": 11},
    }  # fmt: skip


def _name(view: PlaceView) -> str:
    place = view.place
    return place.name or f"{place.latitude:.2f}, {place.longitude:.2f}"


def _noon_deg(latitude: float, month: int) -> float:
    return float(sun_path(latitude, month).elevation_deg.max())


def _year(view: PlaceView) -> dict[str, Any]:
    """The band of daily sun, with winter in the middle."""
    first = FIRST_OF_JULY if view.place.latitude >= 0 else 1
    order = (first - 1 + np.arange(DAYS_PER_YEAR)) % DAYS_PER_YEAR
    rows = [
        {
            "day": at + 0.5,
            "low": round(float(view.daily_p10[day]), 3),
            "middle": round(float(view.daily_p50[day]), 3),
            "high": round(float(view.daily_p90[day]), 3),
        }
        for at, day in enumerate(order)
    ]
    months = [(first - 1) // 30 % 12 + step for step in range(12)]
    lengths = [MONTH_LENGTHS[month % 12] for month in months]
    starts = np.concatenate([[0], np.cumsum(lengths)[:-1]])
    middles = [
        {"at": float(start + length / 2.0), "word": MONTHS[month % 12][:3],
         "tilted": round(float(view.monthly_best_kwh_m2_day[month % 12]), 3),
         "from": float(start) + 1.5, "to": float(start + length) - 1.5}
        for start, length, month in zip(starts, lengths, months, strict=True)
    ]  # fmt: skip
    x = {
        "field": "day", "type": "quantitative",
        "scale": {"domain": [0, DAYS_PER_YEAR], "nice": False},
        "axis": {"title": None, "values": [middle["at"] for middle in middles], "grid": False,
                 "ticks": False, "labelExpr": _month_expression(middles)},
    }  # fmt: skip
    y = {"field": "middle", "type": "quantitative", "axis": {"title": "kWh/m² a day"}}
    best = view.best_tilts[0]
    days, p10, p50, _ = view.spells()[2]
    return {
        "title": {
            "text": "A year of daily sun on the flat",
            "subtitle": [
                "Shaded: eight days of ten fall in it. Line: the middle day. Bars: monthly mean on "
                f"the best tilt of the year, {best.words}.",
                f"The darkest {days} days of the year bring {p10:.2f} kWh/m² a day in one year of "
                f"ten, {p50:.2f} in a middling one.",
            ],
        },
        "width": WIDTH,
        "height": 240,
        "layer": [
            _band_layer(rows, x, y),
            {
                "data": {"values": rows},
                "mark": {"type": "line", "color": SUN, "strokeWidth": 2.2},
                "encoding": {"x": x, "y": y},
            },
            {
                "data": {"values": middles},
                "mark": {"type": "rule", "color": INK, "strokeWidth": 2},
                "encoding": {
                    "x": x | {"field": "from"}, "x2": {"field": "to"},
                    "y": y | {"field": "tilted"},
                },
            },
        ],
    }  # fmt: skip


def _band_layer(rows: list[dict[str, Any]], x: dict[str, Any], y: dict[str, Any]) -> dict[str, Any]:
    return {
        "data": {"values": rows},
        "mark": {"type": "area", "color": _BAND},
        "encoding": {"x": x, "y": y | {"field": "low"}, "y2": {"field": "high"}},
    }


def _month_expression(middles: list[dict[str, Any]]) -> str:
    pairs = " : ".join(f"datum.value == {item['at']} ? '{item['word']}'" for item in middles)
    return f"{pairs} : ''"
