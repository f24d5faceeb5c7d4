"""What the sun gives at a place, in words for a terminal."""

from __future__ import annotations

import textwrap

import numpy as np

from sunpantry.design.moments import SHORT_MONTHS
from sunpantry.report.columns import columns_of
from sunpantry.sky.best_tilts import compass_word
from sunpantry.sky.horizon import Horizon
from sunpantry.sky.view import PlaceView

WIDTH = 90


def place_text(view: PlaceView) -> str:
    """Tell a person about a place.

    Parameters
    ----------
    view : PlaceView
        The figures.

    Returns
    -------
    str
        Lines of at most 90 columns, with a final line end.
    """
    climate = view.climate
    lines = [
        _where(view),
        "",
        "Sun and air by month (kWh/m² a day; on the tilted panel also called peak sun hours)",
        "",
        _months(view),
        "",
        f"Tilted: {view.best_tilts[0].words}, the best fixed tilt for the year.",
    ]
    if view.horizon is not None:
        lines.append("Shade: the share of its light that what stands round the panels takes.")
        lines += ["", "What stands round the panels", "", *_skyline(view.horizon)]
    lines += ["", "Best tilts", ""]
    lines += [
        f"  {one.over}: {one.words}, {one.light_kwh_m2_day:.2f} kWh/m² a day"
        for one in view.best_tilts
    ]
    if view.horizon is not None:
        lines += ["", *_wrapped("These face the equator; a plan also turns open panels past what "
                                "stands in the way.")]  # fmt: skip
    lines += [
        "",
        f"The dullest days in a row of the dark season, over {view.winters} winters",
        "(mean of the days, kWh/m² a day on the flat)",
        "",
        columns_of(
            [
                (f"{days}", f"{low:.2f}", f"{middle:.2f}", f"{high:.2f}")
                for days, low, middle, high in view.spells()
            ],
            ("days", "one winter in ten", "typical winter", "kind winter"),
        ),
        "",
        *_wrapped(
            f"Coldest hour of an ordinary year: {climate.mean_annual_minimum_c:.0f} °C "
            f"(±{climate.mean_annual_minimum_sigma_k:.0f}); never colder than "
            f"{climate.never_colder_c:.0f} °C (±{climate.never_colder_sigma_k:.0f})."
        ),
        *_wrapped(_source(view)),
    ]
    for note in view.notes:
        lines += _wrapped(f"Note: {note}")
    return "\n".join(lines) + "\n"


def _where(view: PlaceView) -> str:
    place = view.place
    name = f"{place.name}, " if place.name else ""
    side = "below" if place.altitude_m < -0.5 else "above"
    return (
        f"{name}{place.latitude:.2f}, {place.longitude:.2f}, {abs(place.altitude_m):.0f} m "
        f"{side} the sea, {place.timezone}"
    )


def _months(view: PlaceView) -> str:
    heads = ["", "on the flat", "tilted", "day, h", "air, °C"]
    rows = [
        [
            SHORT_MONTHS[month],
            f"{view.monthly_ghi_kwh_m2_day[month]:.2f}",
            f"{view.monthly_best_kwh_m2_day[month]:.2f}",
            f"{view.day_length_h[month]:.1f}",
            f"{view.monthly_temperature_c[month]:.1f}",
        ]
        for month in range(12)
    ]
    if view.horizon is not None:
        heads.insert(3, "shade")
        for row, share in zip(rows, view.monthly_shade_fraction.tolist(), strict=True):
            row.insert(3, f"{max(share, 0.0):.0%}")
    return columns_of([tuple(row) for row in rows], tuple(heads))


def _skyline(horizon: Horizon) -> list[str]:
    """The land and each obstacle, a line for each."""
    lines = []
    if horizon.azimuths_deg:
        round_us = np.arange(360.0)
        land = horizon.outline_deg(round_us)
        at = float(round_us[int(np.argmax(land))])
        lines += _item(
            f"skyline: highest {land.max():.0f}° above level, in the {compass_word(at)} ({at:.0f}°)"
        )
    for one in horizon.obstacles:
        least, most = min(one.transmission), max(one.transmission)
        through = f"{least:.0%}" if most - least < 0.005 else f"{least:.0%} to {most:.0%}"
        lets = f"; lets {through} of the light through" if most > 0.0 else ""
        lines += _item(
            f"{one.name}: {one.elevation_deg:.0f}° above level, from {one.from_deg:.0f}° to "
            f"{one.to_deg:.0f}°{lets}"
        )
    return lines


def _source(view: PlaceView) -> str:
    basis = view.climate.basis
    if basis in ("table", "guess"):
        away = f"Nearest data: {view.climate.data_distance_km:.0f} km away. "
    else:
        away = ""
    return f"{away}Source: {view.source}."


def _item(text: str) -> list[str]:
    return textwrap.wrap(text, WIDTH, initial_indent="  ", subsequent_indent="    ")


def _wrapped(text: str) -> list[str]:
    return textwrap.wrap(text, WIDTH, subsequent_indent="  ", break_on_hyphens=False)
