"""What the sun gives at a place, in words for a terminal."""

from __future__ import annotations

import textwrap
from collections.abc import Sequence

import numpy as np

from sunpantry.design.moments import SHORT_MONTHS
from sunpantry.phrases import joined, phrase
from sunpantry.report.columns import columns_of
from sunpantry.report.spoken import figure, spoken
from sunpantry.sky.best_tilts import BestTilt, compass_word
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
        spoken(
            phrase(
                "Sun and air by month (kWh/m² a day; on the tilted panel also called peak sun "
                "hours)"
            )
        ),
        "",
        _months(view),
        "",
        spoken(
            phrase(
                "Tilted: {tilt}, the best fixed tilt for the year.", tilt=view.best_tilts[0].words
            )
        ),
    ]
    if view.horizon is not None:
        lines.append(
            spoken(phrase("Shade: the share of its light that what stands round the panels takes."))
        )
        round_us = spoken(phrase("What stands round the panels"))
        lines += ["", round_us, "", *_skyline(view.horizon)]
    lines += ["", spoken(phrase("Best tilts")), ""]
    lines += [f"  {spoken(_tilt(one))}" for one in view.best_tilts]
    if view.horizon is not None:
        open_panels = phrase(
            "These face the equator; a plan also turns open panels past what stands in the way."
        )
        lines += ["", *_wrapped(open_panels)]
    lines += ["", *_spells(view), ""]
    coldest = phrase(
        "Coldest hour of an ordinary year: {usual_c:.0f} °C (±{usual_k:.0f}); never colder than "
        "{never_c:.0f} °C (±{never_k:.0f}).",
        usual_c=climate.mean_annual_minimum_c,
        usual_k=climate.mean_annual_minimum_sigma_k,
        never_c=climate.never_colder_c,
        never_k=climate.never_colder_sigma_k,
    )
    lines += [*_wrapped(coldest), *_wrapped(_source(view))]
    for note in view.notes:
        lines += _wrapped(phrase("Note: {note}", note=spoken(note)))
    return "\n".join(lines) + "\n"


def _tilt(best: BestTilt) -> str:
    return phrase(
        "{over}: {tilt}, {light:.2f} kWh/m² a day",
        over=best.over,
        tilt=best.words,
        light=best.light_kwh_m2_day,
    )


def _spells(view: PlaceView) -> list[str]:
    """The dark spells under their title."""
    title = phrase(
        "The dullest days in a row of the dark season, over {winters} winters",
        winters=view.winters,
    )
    heads = (
        *(phrase("days"), phrase("one winter in ten"), phrase("typical winter")),
        phrase("kind winter"),
    )
    rows = [
        (f"{days}", *(figure(one, ".2f") for one in (low, middle, high)))
        for days, low, middle, high in view.spells()
    ]
    return [
        spoken(title),
        spoken(phrase("(mean of the days, kWh/m² a day on the flat)")),
        "",
        columns_of(rows, tuple(map(spoken, heads))),
    ]


def _where(view: PlaceView) -> str:
    place = view.place
    height = phrase("{height_m:.0f} m above the sea", height_m=abs(place.altitude_m))
    if place.altitude_m < -0.5:
        height = phrase("{height_m:.0f} m below the sea", height_m=abs(place.altitude_m))
    # Degrees with a point in every language, as they are typed in again.
    at = (f"{place.latitude:.2f}", f"{place.longitude:.2f}")
    named = (place.name,) if place.name else ()
    return spoken(joined((*named, *at, height, place.timezone)))


def _months(view: PlaceView) -> str:
    heads = [
        *("", phrase("on the flat"), phrase("tilted"), phrase("day, h"), phrase("air, °C")),
    ]
    rows = [
        [
            spoken(SHORT_MONTHS[month]),
            figure(view.monthly_ghi_kwh_m2_day[month], ".2f"),
            figure(view.monthly_best_kwh_m2_day[month], ".2f"),
            figure(view.day_length_h[month], ".1f"),
            figure(view.monthly_temperature_c[month], ".1f"),
        ]
        for month in range(12)
    ]
    if view.horizon is not None:
        heads.insert(3, phrase("shade"))
        for row, share in zip(rows, view.monthly_shade_fraction.tolist(), strict=True):
            row.insert(3, figure(max(share, 0.0), ".0%"))
    return columns_of([tuple(row) for row in rows], tuple(map(spoken, heads)))


def _skyline(horizon: Horizon) -> list[str]:
    """The land and each obstacle, a line for each."""
    lines = []
    if horizon.azimuths_deg:
        round_us = np.arange(360.0)
        land = horizon.outline_deg(round_us)
        at = float(round_us[int(np.argmax(land))])
        lines += _item(
            phrase(
                "skyline: highest {top_deg:.0f}° above level, in the {side} ({at_deg:.0f}°)",
                top_deg=float(land.max()),
                side=compass_word(at),
                at_deg=at,
            )
        )
    for one in horizon.obstacles:
        stands = phrase(
            "{name}: {elevation_deg:.0f}° above level, from {from_deg:.0f}° to {to_deg:.0f}°",
            name=one.name,
            elevation_deg=one.elevation_deg,
            from_deg=one.from_deg,
            to_deg=one.to_deg,
        )
        lines += _item(joined((stands, _lets_through(one.transmission)), ""))
    return lines


def _lets_through(transmission: Sequence[float]) -> str:
    least, most = min(transmission), max(transmission)
    if most <= 0.0:
        return ""
    if most - least < 0.005:
        return phrase("; lets {share:.0%} of the light through", share=least)
    return phrase("; lets {least:.0%} to {most:.0%} of the light through", least=least, most=most)


def _source(view: PlaceView) -> str:
    basis = view.climate.basis
    source = phrase("Source: {source}.", source=view.source)
    if basis not in ("table", "guess"):
        return source
    distance_km = view.climate.data_distance_km
    return phrase("Nearest data: {distance_km:.0f} km away. ", distance_km=distance_km) + source


def _item(text: str) -> list[str]:
    return textwrap.wrap(spoken(text), WIDTH, initial_indent="  ", subsequent_indent="    ")


def _wrapped(text: str) -> list[str]:
    told = spoken(text)
    return textwrap.wrap(told, WIDTH, subsequent_indent="  ", break_on_hyphens=False)
