"""The figures of a place: spells, tilts, bands and the JSON that carries them."""

from __future__ import annotations

import json

import numpy as np
import pandas as pd
import pytest

from sunpantry.sky.climate import climate_of
from sunpantry.sky.generator import weather_years
from sunpantry.sky.horizon import Horizon, Obstacle
from sunpantry.sky.place import place_at
from sunpantry.sky.plane import light_on_plane
from sunpantry.sky.view import PlaceView, place_view
from sunpantry.sky.weather import Weather
from sunpantry.timegrid import MONTH_LENGTHS, NOMINAL_YEAR, TimeGrid


def _view(latitude: float, longitude: float, *, years: int = 10) -> PlaceView:
    place = place_at(latitude, longitude)
    climate = climate_of(place)
    return place_view(place, climate=climate, weather=weather_years(climate, years=years))


@pytest.fixture(scope="module")
def irish() -> PlaceView:
    return _view(53.9, -9.3, years=30)


@pytest.mark.conservation
def test_spells_brighten_with_their_length_and_from_winter_to_winter(irish: PlaceView) -> None:
    middle = [p50 for _, _, p50, _ in irish.spells()]
    assert middle == sorted(middle)
    assert all(p10 <= p50 <= p90 for _, p10, p50, p90 in irish.spells())
    # The mean of a longest spell stays under that of its season, and of the darkest month.
    assert middle[-1] < irish.dark_spells.season_mean_kwh_m2_day
    assert (irish.daily_p10 <= irish.daily_p50).all()
    assert (irish.daily_p50 <= irish.daily_p90).all()


@pytest.mark.independent
def test_best_tilt_agrees_with_a_search_in_pvlib() -> None:
    """One year, one degree apart, with pvlib's own sun, Perez sky and ground."""
    from pvlib import irradiance, solarposition

    place = place_at(43.0, -89.4)
    climate = climate_of(place)
    weather = weather_years(climate, years=1)
    view = place_view(place, climate=climate, weather=weather)
    starts = pd.date_range(f"{NOMINAL_YEAR}-07-01", periods=8760, freq="h", tz="UTC")
    sun = solarposition.get_solarposition(starts + pd.Timedelta("30min"), 43.0, -89.4)
    # The series goes on into the next calendar year, the grid's day numbers do not.
    extra = irradiance.get_extra_radiation(weather.grid.day_of_year)
    frame = {
        "dni": weather.dni_w_m2[0],
        "ghi": weather.ghi_w_m2[0],
        "dhi": weather.dhi_w_m2[0],
    }
    tilts = np.arange(20, 81)
    totals = [
        np.nansum(
            irradiance.get_total_irradiance(
                tilt,
                180,
                sun["zenith"].to_numpy(),
                sun["azimuth"].to_numpy(),
                dni_extra=extra,
                albedo=0.2,
                model="perez",
                **frame,
            )["poa_global"]
        )
        for tilt in tilts
    ]
    best = view.best_tilts[0]
    # The top is flat: 2° off costs less than one part in a thousand.
    assert best.tilt_deg == pytest.approx(tilts[int(np.argmax(totals))], abs=3)
    assert best.light_kwh_m2_day == pytest.approx(max(totals) / 365e3, rel=0.01)


@pytest.mark.independent
def test_no_other_tilt_gathers_more(irish: PlaceView) -> None:
    weather = weather_years(irish.climate, years=30)
    lengths = np.array(MONTH_LENGTHS)
    for best, months in zip(irish.best_tilts, (range(12), [11], [9, 10, 11, 0, 1, 2]), strict=True):
        chosen = np.isin(weather.grid.month, list(months))

        def light(tilt_deg: float, chosen: np.ndarray = chosen) -> float:
            plane = light_on_plane(
                weather, irish.place, tilt_deg=tilt_deg, azimuth_deg=180, glass=False
            )
            # Two parts in a hundred of dirt are on by default.
            return float(plane.poa_w_m2[:, chosen].sum()) / 0.98 / weather.years / 1000

        days = lengths[list(months)].sum()
        at_best = light(best.tilt_deg) / days
        assert at_best == pytest.approx(best.light_kwh_m2_day, rel=2e-3)
        for tilt_deg in range(0, 91, 5):
            assert light(tilt_deg) / days <= at_best * 1.001
    whole = float((irish.monthly_best_kwh_m2_day * lengths).sum() / 365)
    assert whole == pytest.approx(irish.best_tilts[0].light_kwh_m2_day, rel=2e-3)


@pytest.mark.regression
def test_steeper_for_winter_and_a_house_in_the_way_costs_light(irish: PlaceView) -> None:
    year, december, winter = irish.best_tilts
    assert year.tilt_deg < winter.tilt_deg < december.tilt_deg
    assert [best.over for best in irish.best_tilts] == [
        "the year",
        "December",
        "October to March",
    ]
    weather = weather_years(irish.climate, years=5)
    house = Horizon.of(obstacles=[Obstacle(8, 12, 120, 240)])
    shaded = place_view(irish.place, climate=irish.climate, weather=weather, horizon=house)
    assert shaded.monthly_ghi_kwh_m2_day == pytest.approx(irish.monthly_ghi_kwh_m2_day)
    assert (
        shaded.monthly_best_kwh_m2_day[[11, 0]] < 0.6 * irish.monthly_best_kwh_m2_day[[11, 0]]
    ).all()


@pytest.mark.regression
def test_south_tropics_and_polar_night() -> None:
    south = _view(-38.0, 145.0)
    assert south.best_tilts[0].azimuth_deg == 0
    assert south.best_tilts[2].over == "April to September"
    assert south.darkest_month == 5
    assert south.daily_p50[:31].mean() > south.daily_p50[151:181].mean()
    # On the equator June is best met facing north, away from 'toward'.
    june = _view(0.5, 30.0)
    facing = {best.over: best.azimuth_deg for best in june.best_tilts}
    assert june.best_tilts[0].tilt_deg <= 5
    assert 0 in facing.values()
    polar = _view(69.6, 18.9)
    assert polar.day_length_h[11] < 1
    assert polar.best_tilts[1].light_kwh_m2_day > 0
    assert polar.dark_spells.p90.max() == 0
    assert any("sun stays down" in note for note in polar.notes)
    assert np.isfinite(polar.monthly_best_kwh_m2_day).all()


@pytest.mark.regression
def test_few_winters_are_told(irish: PlaceView) -> None:
    weather = weather_years(irish.climate, years=3)
    few = place_view(irish.place, climate=irish.climate, weather=weather)
    assert any("come from 3 winters only" in note for note in few.notes)


@pytest.mark.regression
def test_json_carries_what_was_promised(irish: PlaceView) -> None:
    told = json.loads(json.dumps(irish.to_json(), allow_nan=False))
    for key in ("monthly_ghi_kwh_m2_day", "monthly_temperature_c", "day_length_h"):
        assert len(told[key]) == 12
    assert set(told["dark_spells"]) == {"1", "3", "5", "7", "10", "14", "21", "30"}
    for spell in told["dark_spells"].values():
        assert set(spell) == {"p10", "p50", "p90"}
    assert isinstance(told["mean_annual_minimum_c"], float)
    assert told["never_colder_c"] < told["mean_annual_minimum_c"]
    assert told["data_distance_km"] >= 0
    assert told["timezone"] == "Europe/Dublin"
    assert isinstance(told["notes"], list)
    names = [figure.name for figure in irish.workings()]
    assert len(names) == len(set(names)) == 5


@pytest.mark.analytic
def test_the_band_of_a_year_that_never_changes() -> None:
    """Days that depend on the date alone have no band, and 1 January comes first."""
    place = place_at(50.0, 0.0)
    grid = TimeGrid()
    day = np.repeat(grid.day_of_year[::24].astype(float), 24)[None, :].repeat(3, axis=0)
    flat = Weather(place, grid, day, day * 0, day, day * 0, "made for the test")
    view = place_view(place, climate=climate_of(place), weather=flat)
    # Day d has 24 h of d W/m²; the middle of days d-10 … d+10 is d.
    expected = np.arange(11, 356) * 0.024
    assert view.daily_p50[10:355] == pytest.approx(expected)
