"""``--fetch``: measured years from an open data service, only when asked."""

from __future__ import annotations

from sunpantry.cli.output import progress_bar
from sunpantry.design.site import Site


def with_fetched_weather(site: Site, years: int | None) -> Site:
    """Fetch years for a site and point it at them; without ``years`` nothing goes out.

    Parameters
    ----------
    site : Site
        The site.
    years : int or None
        How many calendar years to fetch.

    Raises
    ------
    InputError, WeatherError
        When the place is unknown, or the service gives nothing; what came through is kept.
    """
    if years is None:
        return site
    from sunpantry.sky.fetch import fetch_weather
    from sunpantry.sky.from_site import place_of

    with progress_bar() as progress:
        path = fetch_weather(
            place_of(site),
            years=years,
            progress=lambda done, wanted, words: progress(done / max(wanted, 1), words),
        )
    return site.model_copy(update={"weather_file": str(path)})
