"""What the sun gives at a place, in words for a terminal."""

from __future__ import annotations

from sunpantry.design.moments import SHORT_MONTHS
from sunpantry.report.columns import columns_of
from sunpantry.sky.view import PlaceView


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
    place = view.place
    name = f"{place.name}, " if place.name else ""
    lines = [
        f"{name}{place.latitude:.2f}, {place.longitude:.2f}, {place.altitude_m:.0f} m above the "
        f"sea, {place.timezone}",
        "",
        "Sun and air by month (kWh/m² a day; on a tilted panel also called peak sun hours)",
        "",
        columns_of(
            [
                (
                    SHORT_MONTHS[month],
                    f"{view.monthly_ghi_kwh_m2_day[month]:.2f}",
                    f"{view.monthly_best_kwh_m2_day[month]:.2f}",
                    f"{view.day_length_h[month]:.1f}",
                    f"{view.monthly_temperature_c[month]:.1f}",
                )
                for month in range(12)
            ],
            ("", "on the flat", "on the best tilt", "day, h", "air, °C"),
        ),
        "",
        "Best tilts",
        "",
    ]
    lines += [
        f"  {one.over}: {one.tilt_deg:.0f}° facing {_direction(one.azimuth_deg)}, "
        f"{one.light_kwh_m2_day:.2f} kWh/m² a day"
        for one in view.best_tilts
    ]
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
        f"Coldest hour of an ordinary year: {view.climate.mean_annual_minimum_c:.0f} °C "
        f"(±{view.climate.mean_annual_minimum_sigma_k:.0f}); never colder than "
        f"{view.climate.never_colder_c:.0f} °C (±{view.climate.never_colder_sigma_k:.0f}).",
        f"Nearest data: {view.climate.data_distance_km:.0f} km away. Source: {view.source}.",
    ]
    lines += [f"Note: {note}" for note in view.notes]
    return "\n".join(lines) + "\n"


def _direction(azimuth_deg: float) -> str:
    names = (
        "north",
        "north-east",
        "east",
        "south-east",
        "south",
        "south-west",
        "west",
        "north-west",
    )
    return names[round(azimuth_deg / 45.0) % 8]
