"""Climates: the table between its cells, beyond its reach, and the user's own figures."""

from __future__ import annotations

import itertools

import numpy as np
import pytest

from sunpantry.errors import InputError
from sunpantry.sky.clearness import (
    LEVELS,
    clear_day_kt,
    extraterrestrial_kwh_m2_day,
    mean_kt,
    reshape_to_mean,
)
from sunpantry.sky.climate import (
    climate_from_daily,
    climate_of,
    monthly_extraterrestrial,
)
from sunpantry.sky.place import place_at
from sunpantry.sky.table import climate_table, distance_km


@pytest.mark.conservation
def test_the_table_holds_nothing_impossible() -> None:
    table = climate_table()
    assert np.all(np.diff(table.kt_quantiles, axis=-1) >= 0)
    assert table.kt_quantiles.min() > 0.0
    assert table.kt_quantiles.max() <= 0.95
    means = mean_kt(table.kt_quantiles)
    # Duffie & Beckman: monthly mean clearness lies between about 0.25 and 0.75 at stations;
    # the dullest cells (Sichuan, polar dusk) go lower.
    assert means.min() > 0.12
    assert means.max() < 0.802  # the Atacama and Tibet
    assert table.temperature_c.min() > -70
    assert table.temperature_c.max() < 42


@pytest.mark.analytic
def test_distances_on_the_globe() -> None:
    quarter, across, none = distance_km(
        0.0, 179.0, np.array([90.0, 0.0, 0.0]), np.array([0.0, -179.0, 179.0])
    )
    assert quarter == pytest.approx(np.pi / 2 * 6371.0)
    assert across == pytest.approx(np.radians(2.0) * 6371.0)
    assert none == 0.0


@pytest.mark.conservation
@pytest.mark.parametrize("latitude", [-41.0, 17.7, 52.0, 66.0])
def test_no_steps_between_cells_nor_at_the_date_line(latitude: float) -> None:
    """Half a degree never changes a month by as much as a cell does (a coast excepted)."""
    longitudes = np.arange(20.0, 32.0, 0.25) if latitude > 0 else np.arange(171.0, 176.0, 0.25)
    rows = np.array(
        [
            climate_of(place_at(latitude, float(east), altitude_m=0)).monthly_ghi_kwh_m2_day
            for east in longitudes
        ]
    )
    steps = np.abs(np.diff(rows, axis=0)) / np.maximum(rows[1:], 0.1)
    assert steps.max() < 0.06


@pytest.mark.conservation
@pytest.mark.parametrize(
    ("latitude", "longitude", "north_deg", "east_deg"),
    [
        (-17.0, 170.0, 0.0, 0.25),  # Vanuatu to Fiji
        (14.6, -61.5, 0.0, 0.25),  # past Martinique
        (18.2, -67.0, 0.0, 0.25),  # past Puerto Rico
        (29.0, -16.5, 0.25, 0.0),  # the Canaries to Madeira
        (52.0, -168.5, 0.25, 0.0),  # the Aleutians, where the reach grows
    ],
)
def test_no_steps_where_the_table_ends(
    latitude: float, longitude: float, north_deg: float, east_deg: float
) -> None:
    """Table and fallback give way to each other over 100 km: no month jumps by a tenth."""
    climates = [
        climate_of(
            place_at(
                latitude + n * north_deg, longitude + n * east_deg, altitude_m=0, timezone="UTC"
            )
        )
        for n in range(20)
    ]
    kt = np.array([mean_kt(climate.kt_quantiles) for climate in climates])
    assert (np.abs(np.diff(kt, axis=0)) / kt[1:]).max() < 0.10
    assert {climate.basis for climate in climates} == {"table", "guess"}
    assert any("between the nearest data and" in climate.source for climate in climates)


@pytest.mark.analytic
def test_either_side_of_the_date_line_is_the_same_place() -> None:
    west, east = (
        climate_of(place_at(-17.0, longitude, altitude_m=0)) for longitude in (179.999, -179.999)
    )
    np.testing.assert_allclose(west.monthly_ghi_kwh_m2_day, east.monthly_ghi_kwh_m2_day, rtol=1e-3)
    np.testing.assert_allclose(west.monthly_temperature_c, east.monthly_temperature_c, atol=0.02)
    assert place_at(-17.0, 181.0).longitude == -179.0


@pytest.mark.published
@pytest.mark.parametrize(
    ("name", "latitude", "longitude", "altitude_m", "coldest_c"),
    [
        # Coldest month's mean of the typical years and stations named in data/sites.csv;
        # for Madison (1961-1990) and Greensboro (one cold January) 1991-2020, from memory.
        ("Amsterdam", 52.3, 4.77, 0, 3.7),
        ("De Bilt", 52.1, 5.2, 2, 2.1),
        ("Carrington", 47.51, -99.13, 475, -13.0),
        ("Madison", 43.0, -89.4, 270, -6.9),
        ("Kellogg", 42.4, -85.4, 288, -4.0),
        ("Chicago", 41.98, -87.92, 201, -4.6),
        ("San Francisco", 37.62, -122.38, 5, 8.7),
        ("Greensboro", 36.1, -79.95, 273, 4.2),
        ("Gainesville", 29.63, -82.37, 10, 12.9),
        ("Miami", 25.8, -80.27, 2, 20.0),
        ("Chiang Mai", 18.8, 99.01, 313, 20.6),
        ("Hyderabad", 17.53, 78.27, 545, 20.5),
        ("Wa", 10.02, -2.38, 184, 26.0),
        ("Singapore", 1.37, 103.98, 16, 26.3),
        ("Piracicaba", -22.71, -47.63, 546, 18.4),
        ("Pergamino", -33.93, -60.55, 70, 10.0),
    ],
)
def test_coldest_month(
    name: str, latitude: float, longitude: float, altitude_m: float, coldest_c: float
) -> None:
    """Earlier decades (the table is 2000-2025) and single typical years: 3 K."""
    climate = climate_of(place_at(latitude, longitude, altitude_m=altitude_m))
    assert climate.monthly_temperature_c.min() == pytest.approx(coldest_c, abs=3.0), name


@pytest.mark.published
@pytest.mark.parametrize(
    ("latitude", "longitude", "altitude_m", "record_c"),
    [
        # Lowest temperatures on record, from memory.
        (51.5, -0.1, 20, -16), (53.4, -6.2, 70, -15), (52.1, 5.2, 2, -25), (41.9, -87.9, 200, -33),
        (39.75, -104.9, 1610, -34), (40.4, -3.7, 650, -15), (30.05, 31.25, 30, 1),
        (-33.9, 151.2, 20, 2), (1.37, 103.98, 16, 19), (59.3, 18.1, 20, -32),
        (46.9, 7.46, 553, -23),
    ],
)  # fmt: skip
def test_never_colder_is_below_the_record_and_not_absurdly(
    latitude: float, longitude: float, altitude_m: float, record_c: float
) -> None:
    climate = climate_of(place_at(latitude, longitude, altitude_m=altitude_m))
    assert record_c - 18 < climate.never_colder_c <= record_c
    assert climate.never_colder_c < climate.mean_annual_minimum_c
    assert climate.mean_annual_minimum_c > record_c - 2


@pytest.mark.analytic
def test_air_gets_colder_with_height() -> None:
    low, high = (climate_of(place_at(46.99, 7.46, altitude_m=z)) for z in (500, 900))
    np.testing.assert_allclose(
        low.monthly_temperature_c - high.monthly_temperature_c, 400 * 0.0065, atol=0.6
    )


@pytest.mark.regression
def test_far_islands_say_so_and_stay_plausible() -> None:
    for latitude, longitude in ((21.3, -157.9), (-17.5, -149.5), (-15.9, -5.7), (37.7, -25.7)):
        climate = climate_of(place_at(latitude, longitude))
        assert climate.data_distance_km > 300
        assert any("±20%). Type in the monthly sun" in note for note in climate.notes)
        assert "MERRA-2" not in climate.source
        assert (climate.basis, climate.uncertainty_dark_fraction) == ("guess", 0.20)
        kt = climate.monthly_ghi_kwh_m2_day / monthly_extraterrestrial(latitude)
        assert np.all((kt > 0.45) & (kt < 0.6))
    own = climate_of(place_at(21.3, -157.9), monthly_ghi_kwh_m2_day=[4.5] * 12)
    assert own.notes == ()
    assert (own.basis, own.uncertainty_dark_fraction) == ("figures", 0.10)
    near = climate_of(place_at(54.1, -9.2))
    assert "MERRA-2" in near.source
    assert (near.basis, near.uncertainty_dark_fraction) == ("table", 0.10)
    # Svalbard: cells 690 km away are still better than the fallback, but no ±10 %.
    far = climate_of(place_at(78.2, 15.6))
    assert (far.basis, far.uncertainty_dark_fraction) == ("table", 0.20)
    assert any("uncertain (±20%)" in note for note in far.notes)


@pytest.mark.published
@pytest.mark.parametrize(
    ("latitude", "longitude", "yearly_kwh_m2_day"),
    [
        # Lima, Chimbote, Ilo, Antofagasta, La Serena, Swakopmund: yearly means from memory (8 %).
        (-12.05, -77.05, 4.6), (-9.08, -78.6, 5.0), (-17.6, -71.3, 5.3), (-23.65, -70.4, 5.4),
        (-29.9, -71.25, 4.7), (-22.7, 14.5, 5.3),
    ],
)  # fmt: skip
def test_coasts_under_low_cloud_say_so(
    latitude: float, longitude: float, yearly_kwh_m2_day: float
) -> None:
    """The table is bright there by no more than what is said of it."""
    climate = climate_of(place_at(latitude, longitude))
    assert (climate.basis, climate.uncertainty_dark_fraction) == ("table", 0.20)
    assert any("low cloud" in note for note in climate.notes)
    darker = climate.darker(0.20).monthly_ghi_kwh_m2_day.mean()
    assert 0.92 * darker <= yearly_kwh_m2_day <= 1.08 * climate.monthly_ghi_kwh_m2_day.mean()


@pytest.mark.published
def test_land_behind_such_a_coast_is_clear() -> None:
    """Arequipa, Calama, Ica, Windhoek; and Lisbon, on another coast."""
    for latitude, longitude in (
        (-16.4, -71.5), (-22.45, -68.9), (-14.05, -75.7), (-22.55, 17.1), (38.7, -9.15),
    ):  # fmt: skip
        climate = climate_of(place_at(latitude, longitude))
        assert climate.uncertainty_dark_fraction == 0.10
        assert not any("low cloud" in note for note in climate.notes)


@pytest.mark.published
def test_honolulu_from_the_island_fallback() -> None:
    """NREL, *Solar radiation data manual* (1961-1990), Honolulu, from memory: 5.4 kWh/m² a day."""
    climate = climate_of(place_at(21.3, -157.9))
    assert climate.monthly_ghi_kwh_m2_day.mean() == pytest.approx(5.4, rel=0.08)


@pytest.mark.analytic
def test_polar_places_have_a_night_a_note_and_no_nonsense() -> None:
    for latitude, longitude in ((78.2, 15.6), (69.65, 18.95), (90.0, 0.0), (-90.0, 0.0)):
        climate = climate_of(place_at(latitude, longitude))
        ghi = climate.monthly_ghi_kwh_m2_day
        assert np.isfinite(ghi).all()
        assert ghi.min() < 0.02
        assert 3.0 < ghi.max() < 12.0
        assert any("stays down" in note for note in climate.notes)
        assert np.isfinite(climate.monthly_temperature_c).all()


@pytest.mark.analytic
def test_southern_seasons_are_the_other_way_round() -> None:
    climate = climate_of(place_at(-36.8, 174.8))
    assert climate.monthly_ghi_kwh_m2_day.argmin() in (5, 6)
    assert climate.monthly_temperature_c.argmin() in (5, 6, 7)


@pytest.mark.analytic
def test_typed_figures_replace_the_means_and_keep_the_spread() -> None:
    place = place_at(52.1, 5.18, altitude_m=2)
    table = climate_of(place)
    own_ghi = [0.6, 1.2, 2.2, 3.6, 4.6, 4.8, 4.7, 4.0, 2.8, 1.6, 0.7, 0.4]
    own = climate_of(place, monthly_ghi_kwh_m2_day=own_ghi, monthly_temperature_c=[10.0] * 12)
    np.testing.assert_allclose(own.monthly_ghi_kwh_m2_day, own_ghi, rtol=1e-9)
    np.testing.assert_array_equal(own.monthly_temperature_c, 10.0)
    assert own.data_distance_km == 0.0

    def spread(quantiles: np.ndarray) -> np.ndarray:
        return np.asarray((quantiles[:, 12] - quantiles[:, 3]) / mean_kt(quantiles))

    np.testing.assert_allclose(spread(own.kt_quantiles), spread(table.kt_quantiles), rtol=0.15)


@pytest.mark.regression
@pytest.mark.parametrize(
    ("figures", "message"),
    [
        ([1.0] * 11, "there are 11"),
        ([-0.1] + [1.0] * 11, "January"),
        ([20.0] + [1.0] * 11, r"monthly_sun_kwh_m2_day\[1\]"),
    ],
)
def test_impossible_figures_are_refused_one_by_one(figures: list[float], message: str) -> None:
    with pytest.raises(InputError, match=message):
        climate_of(place_at(54.1, -9.2), monthly_ghi_kwh_m2_day=figures)
    with pytest.raises(InputError, match="monthly_temperature_c"):
        climate_of(place_at(54.1, -9.2), monthly_temperature_c=[300.0] * 12)


@pytest.mark.regression
def test_impossible_places_are_refused_all_at_once() -> None:
    with pytest.raises(InputError) as caught:
        place_at(95.0, 400.0, altitude_m=9000, timezone="Mars/Olympus")
    assert [problem.where for problem in caught.value.problems] == [
        "latitude", "longitude", "altitude", "timezone",
    ]  # fmt: skip


@pytest.mark.published
def test_time_zones_of_known_places() -> None:
    """IANA time zone database."""
    assert place_at(54.1, -9.2).timezone == "Europe/Dublin"
    assert place_at(-36.8, 174.8).timezone == "Pacific/Auckland"
    assert place_at(27.7, 85.3).timezone == "Asia/Kathmandu"


@pytest.mark.published
def test_altitude_where_none_is_given() -> None:
    """Heights from memory; a grid of nine kilometres is some way off in mountains."""
    assert place_at(52.1, 5.18).altitude_m == pytest.approx(2, abs=40)
    assert place_at(-16.5, -68.15).altitude_m == pytest.approx(3650, abs=400)


@pytest.mark.published
def test_no_coast_lies_below_the_sea_but_the_land_that_does() -> None:
    """Shores and depressions of an atlas, from memory: Dead Sea -430 m, Caspian -28 m, others."""
    for latitude, longitude in (
        (52.0, 4.6), (21.3, -157.8), (53.35, -6.2), (60.4, 5.3), (-33.0, -71.6), (31.6, 130.6),
        (51.1, 2.7), (58.3, -134.4), (14.6, 121.0), (38.2, 15.6),
    ):  # fmt: skip
        assert place_at(latitude, longitude).altitude_m >= 0.0
    assert place_at(31.5, 35.45).altitude_m == pytest.approx(-430, abs=40)
    assert place_at(36.45, -116.87).altitude_m == pytest.approx(-60, abs=60)
    assert place_at(42.66, 89.27).altitude_m == pytest.approx(-154, abs=60)
    assert place_at(46.35, 48.05).altitude_m == pytest.approx(-20, abs=30)
    assert place_at(52.0, 4.6, altitude_m=-6.0).altitude_m == -6.0


@pytest.mark.analytic
def test_a_darker_climate_is_darker_by_the_share() -> None:
    climate = climate_of(place_at(53.43, -6.24))
    darker = climate.darker(0.10)
    np.testing.assert_allclose(
        darker.monthly_ghi_kwh_m2_day, 0.9 * climate.monthly_ghi_kwh_m2_day, rtol=1e-9
    )
    np.testing.assert_allclose(
        mean_kt(darker.kt_quantiles), 0.9 * mean_kt(climate.kt_quantiles), rtol=1e-6
    )
    assert "10%" in darker.notes[-1]
    # Half of the change bends: dull days lose more than a tenth, clear days less.
    assert np.all(darker.kt_quantiles[:, 2] < 0.9 * climate.kt_quantiles[:, 2] + 1e-9)
    with pytest.raises(InputError, match="fraction"):
        climate.darker(1.0)


@pytest.mark.analytic
def test_reshaping_meets_its_mean_and_keeps_its_order() -> None:
    rng = np.random.default_rng(5)
    quantiles = np.sort(rng.uniform(0.02, 0.78, (50, len(LEVELS))), axis=1)
    target = rng.uniform(0.15, 0.7, 50)
    clear = np.full(50, float(clear_day_kt(0.0)))
    bent = reshape_to_mean(quantiles, target, clear_kt=clear)
    np.testing.assert_allclose(mean_kt(bent), target, rtol=1e-9)
    assert np.all(np.diff(bent, axis=1) >= 0)
    assert bent.min() > 0
    same = reshape_to_mean(quantiles, mean_kt(quantiles), clear_kt=clear)
    np.testing.assert_allclose(same, quantiles, rtol=1e-6)


@pytest.mark.published
def test_angstrom_and_clear_sky_lines_of_fao_56() -> None:
    """Example 18: Uccle, Rso = (0.75 + 2e-5 z) Ra; our clear day is 0.03 above that."""
    assert float(clear_day_kt(100.0)) - 0.03 == pytest.approx(30.90 / 41.09, abs=5e-4)


@pytest.mark.analytic
def test_a_climate_from_days_has_the_days_means_and_quantiles() -> None:
    place = place_at(48.0, 10.0, altitude_m=500)
    rng = np.random.default_rng(2)
    days = np.tile(np.arange(1, 366), 10)
    above = extraterrestrial_kwh_m2_day(48.0, days + 1.0)
    kt = rng.uniform(0.1, 0.7, len(days))
    climate = climate_from_daily(place, day_of_year=days, ghi_kwh_m2=kt * above, source="ten years")
    month = np.repeat(
        np.arange(12), np.diff([0, 31, 59, 90, 120, 151, 181, 212, 243, 273, 304, 334, 365])
    )
    want = [float(np.mean((kt * above)[month[days - 1] == number])) for number in range(12)]
    np.testing.assert_allclose(climate.monthly_ghi_kwh_m2_day, want, rtol=1e-3)
    middle = climate.kt_quantiles[:, 7] * 0.5 + climate.kt_quantiles[:, 8] * 0.5
    np.testing.assert_allclose(middle, 0.4 - 0.6 * 0.005, atol=0.05)
    assert climate.source == "ten years"
    for early, late in itertools.pairwise(climate.kt_quantiles[0]):
        assert late >= early
