"""Weather files: the ones that ship with pvlib, rewritten in every format, and broken."""

from __future__ import annotations

import re
from collections.abc import Callable
from pathlib import Path

import numpy as np
import pandas as pd
import pvlib
import pytest
from pvlib.iotools import read_tmy3

from sunpantry.errors import InputError, WeatherError
from sunpantry.sky.files import read_weather_file
from sunpantry.sky.files.times import zone_of
from sunpantry.sky.place import Place, place_at
from sunpantry.sky.sun import sun_year
from sunpantry.timegrid import TimeGrid

DATA = Path(pvlib.__file__).parent / "data"
GREENSBORO = DATA / "723170TYA.CSV"
GRID = TimeGrid()


@pytest.fixture(scope="module")
def greensboro() -> Place:
    return place_at(36.1, -79.95, altitude_m=273)


@pytest.fixture(scope="module")
def typical() -> pd.DataFrame:
    """One year of hours of Greensboro, stamped at their start in standard time."""
    data, _ = read_tmy3(GREENSBORO)
    hours = pd.date_range("2021-01-01", periods=8760, freq="h", tz="Etc/GMT+5")
    columns = ["ghi", "dni", "dhi", "temp_air"]
    return pd.DataFrame({name: data[name].to_numpy() for name in columns}, index=hours)


@pytest.fixture(scope="module")
def four_years(typical: pd.DataFrame) -> pd.DataFrame:
    """2019 to 2022 (2020 has a leap day), each year with the sun dimmed a little more."""
    hours = pd.date_range("2019-01-01", "2022-12-31 23:00", freq="h", tz="Etc/GMT+5")
    day = hours.day_of_year - (hours.is_leap_year & (hours.day_of_year > 60)) - 1
    data = typical.iloc[(day * 24 + hours.hour) % 8760].set_axis(hours)
    dimmed = 1.0 - 0.05 * (hours.year - 2019)
    for column in ("ghi", "dni", "dhi"):
        data[column] = data[column].to_numpy() * dimmed
    return data


def _write(
    path: Path,
    data: pd.DataFrame,
    *,
    names: dict[str, str],
    times: Callable[[pd.DatetimeIndex], pd.Index] | None = None,
    head: str = "",
    sep: str = ",",
    decimal: str = ".",
) -> Path:
    index = pd.DatetimeIndex(data.index)
    table = data[list(names)].rename(columns=names)
    stamps = times(index) if times else index.strftime("%Y-%m-%dT%H:%M:%S%z")
    table.insert(0, "time", np.asarray(stamps))
    path.write_text(head + table.to_csv(index=False, sep=sep, decimal=decimal, lineterminator="\n"))
    return path


ALL = {"ghi": "ghi_w_m2", "dni": "dni_w_m2", "dhi": "dhi_w_m2", "temp_air": "temperature_c"}


# --- typical years ---------------------------------------------------------------------


@pytest.mark.published
@pytest.mark.parametrize(
    ("name", "latitude", "longitude", "ghi", "coldest_month_c"),
    [
        # Monthly means of the open NREL files TMY3 723170 and TMY2 12839, aggregated apart.
        (
            "723170TYA.CSV",
            36.1,
            -79.95,
            [2.41, 3.06, 4.25, 5.41, 5.64, 6.25, 6.08, 5.61, 4.43, 3.59, 2.43, 2.24],
            0.3,
        ),
        (
            "12839.tm2",
            25.8,
            -80.27,
            [3.49, 4.43, 5.16, 6.16, 6.03, 5.76, 5.99, 5.67, 4.91, 4.37, 3.57, 3.36],
            20.0,
        ),
    ],
)
def test_typical_years_of_open_data(
    name: str, latitude: float, longitude: float, ghi: list[float], coldest_month_c: float
) -> None:
    got = read_weather_file(DATA / name, place_at(latitude, longitude), GRID)
    assert got.kind == "typical"
    assert got.weather is None
    assert got.climate.monthly_ghi_kwh_m2_day == pytest.approx(ghi, abs=0.0051)  # 2 decimals
    assert got.climate.monthly_temperature_c.min() == pytest.approx(coldest_month_c, abs=0.051)
    assert any("one typical year" in note for note in got.notes)


def _as_epw(data: pd.DataFrame, path: Path, *, zone: float = -5.0) -> Path:
    """Write hours in the layout of the EnergyPlus data dictionary (35 columns)."""
    lines = [
        f"LOCATION,GREENSBORO,NC,USA,TMY3,723170,36.10,-79.95,{zone:.1f},273.0",
        *(f"HEADER {number},0" for number in range(2, 9)),
    ]
    for start, row in zip(pd.DatetimeIndex(data.index), data.itertuples(), strict=True):
        cells = ["9999"] * 35
        cells[:5] = ["1995", str(start.month), str(start.day), str(start.hour + 1), "0"]
        cells[5] = "A7A7"
        cells[6] = f"{row.temp_air:.1f}"
        cells[13:16] = [f"{row.ghi:.0f}", f"{row.dni:.0f}", f"{row.dhi:.0f}"]
        lines.append(",".join(cells))
    path.write_text("\n".join(lines) + "\n")
    return path


@pytest.mark.independent
def test_epw_says_the_same_as_the_tmy3_it_was_made_from(
    tmp_path: Path, typical: pd.DataFrame, greensboro: Place
) -> None:
    epw = read_weather_file(_as_epw(typical, tmp_path / "g.epw"), greensboro, GRID)
    tmy3 = read_weather_file(GREENSBORO, greensboro, GRID)
    assert epw.climate.kt_quantiles == pytest.approx(tmy3.climate.kt_quantiles, abs=1e-12)
    assert epw.climate.monthly_temperature_c == pytest.approx(tmy3.climate.monthly_temperature_c)


@pytest.mark.regression
def test_epw_with_an_old_encoding_and_a_name_like_an_address(
    tmp_path: Path, typical: pd.DataFrame, greensboro: Place, monkeypatch: pytest.MonkeyPatch
) -> None:
    path = _as_epw(typical, tmp_path / "http-old.epw")
    path.write_bytes(path.read_text().replace("GREENSBORO", "São Pedro").encode("latin-1"))
    monkeypatch.chdir(tmp_path)
    assert read_weather_file(Path("http-old.epw"), greensboro, GRID).kind == "typical"


@pytest.mark.regression
def test_typical_files_with_a_wrong_number_of_hours(
    tmp_path: Path, typical: pd.DataFrame, greensboro: Place
) -> None:
    short = _as_epw(typical.drop(typical.index[1000]), tmp_path / "short.epw")
    with pytest.raises(WeatherError, match=r"short\.epw: line 1009 = 2/11 hour 18.*8759 rows"):
        read_weather_file(short, greensboro, GRID)
    cut = _as_epw(typical.iloc[:-1], tmp_path / "cut.epw")
    with pytest.raises(WeatherError, match=r"line 8767 = 12/31 hour 23 in a file of 8759 rows"):
        read_weather_file(cut, greensboro, GRID)


@pytest.mark.regression
def test_epw_missing_values_and_faults(
    tmp_path: Path, typical: pd.DataFrame, greensboro: Place
) -> None:
    gaps = typical.copy()
    gaps.iloc[4000:4002, 0] = 9999  # the code for missing
    gaps.iloc[12, 3] = 99.9
    got = read_weather_file(_as_epw(gaps, tmp_path / "gaps.epw"), greensboro, GRID)
    assert any("2 readings of ghi are missing: 2 were filled" in note for note in got.notes)
    assert any("1 reading of temperature is missing: 1 was" in note for note in got.notes)
    wrong = typical.copy()
    wrong.iloc[4000, 0] = -250
    with pytest.raises(WeatherError, match=r"line 4009, column ghi = -250: irradiance is not neg"):
        read_weather_file(_as_epw(wrong, tmp_path / "wrong.epw"), greensboro, GRID)
    kilo = typical.copy()
    kilo[["ghi", "dni", "dhi"]] /= 1000
    with pytest.raises(WeatherError, match="kW/m² taken for W/m²"):
        read_weather_file(_as_epw(kilo, tmp_path / "kilo.epw"), greensboro, GRID)


@pytest.mark.regression
@pytest.mark.parametrize("name", ["x.epw", "x.tm2", "x.csv"])
def test_rubbish_is_told_in_one_sentence(tmp_path: Path, name: str, greensboro: Place) -> None:
    path = tmp_path / name
    path.write_text("hello\nworld\n")
    with pytest.raises(WeatherError, match=name.replace(".", r"\.")) as caught:
        read_weather_file(path, greensboro, GRID)
    assert "\n" not in str(caught.value)
    with pytest.raises(WeatherError, match="No such file"):
        read_weather_file(tmp_path / ("no" + name), greensboro, GRID)


@pytest.mark.regression
def test_tmy3_with_a_lost_column(tmp_path: Path, greensboro: Place) -> None:
    text = GREENSBORO.read_text().replace("GHI (W/m^2)", "Global", 1)
    path = tmp_path / "lost.csv"
    path.write_text(text)
    with pytest.raises(WeatherError, match=r"lost\.csv: columns = .*needs ghi"):
        read_weather_file(path, greensboro, GRID)


@pytest.mark.regression
def test_a_file_from_elsewhere_is_told(greensboro: Place) -> None:
    near = read_weather_file(GREENSBORO, place_at(36.5, -79.5), GRID)
    assert near.distance_km == pytest.approx(60, abs=2)
    assert near.climate.data_distance_km == near.distance_km
    assert any("is from 60 km away" in note for note in near.notes)
    at_home = read_weather_file(GREENSBORO, greensboro, GRID).notes
    assert at_home[0] == "The coldest reading in 723170TYA.CSV is -16.7 °C."
    assert at_home[1].startswith("723170TYA.CSV is taken as one typical year")
    with pytest.raises(WeatherError, match="check the time zone, the sign of the longitude"):
        read_weather_file(GREENSBORO, place_at(36.1, 79.95), GRID)


# --- several years ---------------------------------------------------------------------


@pytest.mark.conservation
def test_four_years_become_three_winters_hour_for_hour(
    tmp_path: Path, four_years: pd.DataFrame, greensboro: Place
) -> None:
    path = _write(tmp_path / "four.csv", four_years, names=ALL)
    got = read_weather_file(path, greensboro, GRID)
    assert got.kind == "years"
    assert got.weather is not None
    assert got.weather.years == 3
    assert got.weather.source == "four.csv: 3 years, 2019/20 to 2021/22"
    assert any("Not whole, and not used: 2018/19, 2022/23" in note for note in got.notes)
    utc = four_years.tz_convert("UTC")
    first = utc.loc["2019-07-01":"2020-06-30"]
    # 29 February in Greensboro is 05:00 of that day to 05:00 of the next in UTC.
    first = first.drop(first.loc["2020-02-29 05:00":"2020-03-01 04:00"].index)
    sun = sun_year(greensboro, GRID)
    lit = sun.cos_zenith > 0
    assert got.weather.ghi_w_m2[0][lit] == pytest.approx(first["ghi"].to_numpy()[lit], abs=1e-9)
    assert got.weather.air_temperature_c[0] == pytest.approx(first["temp_air"].to_numpy())
    closed = got.weather.dni_w_m2 * sun.cos_zenith + got.weather.dhi_w_m2
    assert closed == pytest.approx(got.weather.ghi_w_m2, abs=1e-9)
    # The file's own split is kept where the sun stands well up.
    high = sun.cos_zenith > 0.3
    given = np.minimum(first["dhi"].to_numpy(), first["ghi"].to_numpy())
    apart = got.weather.dhi_w_m2[0][high] - given[high]
    assert np.abs(apart).mean() < 1.0
    # Dimmed by 5 % a year.
    yearly = got.weather.ghi_w_m2.sum(1)
    assert yearly[2] < yearly[1] < yearly[0]


@pytest.mark.conservation
@pytest.mark.parametrize(("minutes", "step_h"), [(5, 1.0), (10, 0.5), (30, 0.5), (15, 0.25)])
def test_finer_files_keep_their_energy_on_any_grid(
    tmp_path: Path, four_years: pd.DataFrame, greensboro: Place, step_h: float, minutes: int
) -> None:
    """Two years at the file's step; UTC-5 steps fall on the grid's edges."""
    hours = four_years.loc["2019-06-01":"2021-07-02", ["ghi"]]
    fine = hours.resample(f"{minutes}min").ffill()
    path = _write(tmp_path / "fine.csv", fine, names={"ghi": "ghi"})
    got = read_weather_file(path, greensboro, TimeGrid(step_h=step_h))
    assert got.weather is not None
    assert got.weather.ghi_w_m2.shape == (2, round(8760 / step_h))
    utc = hours.tz_convert("UTC").loc["2020-07-01":"2021-06-30", "ghi"].to_numpy()
    by_hour = got.weather.ghi_w_m2[1].reshape(8760, -1).mean(1)
    up = sun_year(greensboro, GRID).up_fraction == 1.0
    assert by_hour[up] == pytest.approx(utc[up], abs=1e-6)  # of sums of 1e9


@pytest.mark.conservation
def test_a_year_of_minutes(tmp_path: Path, typical: pd.DataFrame, greensboro: Place) -> None:
    minutes = typical[["ghi"]].reindex(
        pd.date_range("2021-01-01", periods=525600, freq="min", tz="Etc/GMT+5"), method="ffill"
    )
    path = _write(
        tmp_path / "m.csv",
        minutes,
        names={"ghi": "ghi"},
        times=lambda at: at.tz_localize(None).astype(str),
        head="# timezone: -05:00\n",
    )
    got = read_weather_file(path, greensboro, GRID)
    whole = read_weather_file(GREENSBORO, greensboro, GRID)
    assert got.climate.kt_quantiles == pytest.approx(whole.climate.kt_quantiles, abs=1e-9)


@pytest.mark.conservation
def test_hours_on_a_finer_grid_keep_each_hour_and_follow_the_sun(
    tmp_path: Path, four_years: pd.DataFrame, greensboro: Place
) -> None:
    path = _write(tmp_path / "four.csv", four_years, names=ALL)
    got = read_weather_file(path, greensboro, TimeGrid(step_h=0.25)).weather
    coarse = read_weather_file(path, greensboro, GRID).weather
    assert got is not None
    assert coarse is not None
    sun = sun_year(greensboro, GRID)
    by_hour = got.ghi_w_m2.reshape(3, 8760, 4).mean(2)
    high = sun.cos_zenith > 0.05
    assert by_hour[:, high] == pytest.approx(coarse.ghi_w_m2[:, high], rel=1e-6)
    quarters = got.ghi_w_m2[0].reshape(8760, 4)
    rising = (np.diff(np.append(sun.cos_zenith, 0)) > 0.1) & (quarters.min(1) > 20)
    assert (np.diff(quarters[rising], axis=1) > 0).all()


@pytest.mark.independent
def test_every_way_of_writing_the_times_gives_the_same_years(
    tmp_path: Path, four_years: pd.DataFrame, greensboro: Place
) -> None:
    short = four_years.loc["2019-06-30":"2021-07-01"]

    def read(name: str, head: str = "", zone: str | None = None, **how: object) -> np.ndarray:
        path = _write(tmp_path / f"{name}.csv", short, names=ALL, head=head, **how)  # type: ignore[arg-type]
        weather = read_weather_file(path, greensboro, GRID, timezone=zone).weather
        assert weather is not None
        return weather.ghi_w_m2

    plain = read("offset")
    naive = "%Y-%m-%d %H:%M"
    assert np.array_equal(
        plain, read("utc", times=lambda at: at.tz_convert("UTC").strftime(naive + "Z"))
    )
    assert np.array_equal(plain, read("naive", times=lambda at: at.strftime(naive), zone="-05:00"))
    assert np.array_equal(
        plain, read("head", "# timezone: -05:00\n", times=lambda at: at.strftime(naive))
    )
    assert np.array_equal(
        plain,
        read(
            "end",
            "# stamp: end\n",
            times=lambda at: (at + pd.Timedelta("1h")).strftime(naive + "%z"),
        ),
    )
    assert np.array_equal(
        plain, read("mixed_offsets", times=lambda at: at.tz_convert("America/New_York").map(str))
    )
    assert np.array_equal(
        plain,
        read(
            "india",
            times=lambda at: at.tz_convert("Asia/Kolkata").strftime(naive),
            zone="Asia/Kolkata",
        ),
    )
    assert np.allclose(plain, read("semicolon", sep=";", decimal=","))


@pytest.mark.analytic
def test_units_in_the_names_of_columns(
    tmp_path: Path, typical: pd.DataFrame, greensboro: Place
) -> None:
    plain = read_weather_file(GREENSBORO, greensboro, GRID).climate
    for name, factor in (
        ("ghi [kW/m²]", 1e-3),
        ("GHI (Wh/m2)", 1.0),
        ("ghi_kwh_m2", 1e-3),
        ("global radiation [J/cm2]", 0.36),
        ("ghi_mj_m2", 3.6e-3),
    ):
        data = typical.assign(ghi=typical["ghi"] * factor, temp_air=typical["temp_air"] + 273.15)
        path = _write(tmp_path / "u.csv", data, names={"ghi": name, "temp_air": "temperature [K]"})
        got = read_weather_file(path, greensboro, GRID)
        assert got.kind == "typical"
        assert got.climate.monthly_ghi_kwh_m2_day == pytest.approx(plain.monthly_ghi_kwh_m2_day)
        assert got.climate.monthly_temperature_c == pytest.approx(plain.monthly_temperature_c)
    path = _write(tmp_path / "u.csv", typical, names={"ghi": "ghi [lux]"})
    with pytest.raises(WeatherError, match=r"line 1, column ghi \[lux\] = unit 'lux'"):
        read_weather_file(path, greensboro, GRID)


@pytest.mark.conservation
def test_daily_files(tmp_path: Path, four_years: pd.DataFrame, greensboro: Place) -> None:
    daily = four_years.resample("D").mean()
    daily["ghi"] *= 0.024
    names = {"ghi": "ghi_kwh_m2", "temp_air": "temperature_c"}
    path = _write(tmp_path / "d.csv", daily, names=names, times=lambda at: at.strftime("%Y-%m-%d"),
                  head="# timezone: -05:00\n")  # fmt: skip
    got = read_weather_file(path, greensboro, GRID).weather
    assert got is not None
    assert got.years == 3
    # Local days keep their sum: UTC-5 days start with the sixth step.
    days = got.ghi_w_m2[1][5 : 5 + 364 * 24].reshape(364, 24).sum(1) / 1000
    expected = daily.loc["2020-07-01":"2021-06-29", "ghi"].to_numpy()
    assert days == pytest.approx(expected, rel=1e-9)
    # Straight lines from noon to noon have a day's mean of (before + 6 · day + after) / 8.
    air = got.air_temperature_c[1][5 : 5 + 364 * 24].reshape(364, 24).mean(1)
    mean = daily.loc["2020-06-30":"2021-06-30", "temp_air"].to_numpy()
    assert air == pytest.approx((mean[:-2] + 6 * mean[1:-1] + mean[2:]) / 8, abs=0.3)
    bare = _write(tmp_path / "b.csv", daily, names={"ghi": "ghi"}, head="# timezone: UTC\n",
                  times=lambda at: at.strftime("%Y-%m-%d"))  # fmt: skip
    with pytest.raises(WeatherError, match="column ghi = no unit"):
        read_weather_file(bare, greensboro, GRID)


# --- gaps and faults in CSV ------------------------------------------------------------


@pytest.mark.analytic
def test_short_gaps_are_filled_along_a_clear_day_and_told(
    tmp_path: Path, four_years: pd.DataFrame, greensboro: Place
) -> None:
    data = four_years[["ghi"]].copy()
    sun = sun_year(greensboro, TimeGrid(start_day=1))
    clear = pd.Series(
        sun.clear_ghi_w_m2, pd.date_range("2021-01-01", periods=8760, freq="h", tz="UTC")
    )
    # A cloudless June day with three hours knocked out, a missing line, and a dark hour.
    day = clear.loc["2021-06-10 10:00":"2021-06-11 01:00"]
    data.loc[day.index, "ghi"] = 0.8 * day.to_numpy()
    gone = day.index[5:8]
    data.loc[gone, "ghi"] = np.nan
    dark = pd.Timestamp("2021-01-10 01:00", tz="Etc/GMT+5")
    data.loc[dark, "ghi"] = np.nan
    lost = pd.Timestamp("2021-02-03 12:00", tz="Etc/GMT+5")
    path = _write(tmp_path / "gap.csv", data.drop(lost), names={"ghi": "ghi"})
    got = read_weather_file(path, greensboro, GRID)
    assert got.weather is not None
    assert got.weather.years == 3
    assert any(
        "5 readings of ghi are missing: 5 were filled by interpolation over at most 3 hours" in note
        and "1 of them in the dark" in note
        for note in got.notes
    )
    at = [int((hour - pd.Timestamp("2020-07-01", tz="UTC")) / pd.Timedelta("1h")) for hour in gone]
    filled = got.weather.ghi_w_m2[1][at]
    assert filled == pytest.approx(0.8 * clear.loc[gone].to_numpy(), rel=0.01)


@pytest.mark.regression
def test_a_long_gap_costs_its_year(
    tmp_path: Path, four_years: pd.DataFrame, greensboro: Place
) -> None:
    data = four_years[["ghi", "temp_air"]].copy()
    data.loc["2021-02-03 10:00-05:00":"2021-02-03 14:00-05:00", "ghi"] = np.nan
    got = read_weather_file(
        _write(tmp_path / "g.csv", data, names={"ghi": "ghi", "temp_air": "temp"}), greensboro, GRID
    )
    assert got.weather is not None
    assert got.weather.source.endswith("2 years, 2019/20 to 2021/22")
    assert any("2020/21" in note and "not used" in note for note in got.notes)
    assert any("5 in longer gaps were left empty" in note for note in got.notes)


@pytest.mark.regression
def test_no_leap_day_is_no_fault(
    tmp_path: Path, four_years: pd.DataFrame, greensboro: Place
) -> None:
    index = pd.DatetimeIndex(four_years.index)
    data = four_years[~((index.month == 2) & (index.day == 29))]
    with_day = read_weather_file(
        _write(tmp_path / "a.csv", four_years, names=ALL), greensboro, GRID
    )
    without = read_weather_file(_write(tmp_path / "b.csv", data, names=ALL), greensboro, GRID)
    assert without.weather is not None
    assert with_day.weather is not None
    assert without.weather.years == 3
    assert without.weather.ghi_w_m2 == pytest.approx(with_day.weather.ghi_w_m2, abs=1e-6)
    assert not any("missing" in note for note in without.notes)


def _line_60(cells: str) -> Callable[[str], str]:
    """Put other cells on line 60, which is 10 o'clock on 3 January."""

    def change(text: str) -> str:
        lines = text.splitlines()
        lines[59] = cells
        return "\n".join(lines) + "\n"

    return change


@pytest.mark.regression
@pytest.mark.parametrize(
    ("change", "told"),
    [
        (lambda t: t.replace("ghi_w_m2", "sonne"), r"line 1, columns = time, sonne.*named ghi"),
        (_line_60("2021-01-03T10:00:00-0500,abc,5"), r"line 60, column ghi_w_m2 = abc"),
        (_line_60("2021-01-03T10:00:00-0500,-90,5"), r"line 60, column ghi = -90"),
        (_line_60("2021-01-03T10:00:00-0500,2100,5"), r"line 60, column ghi = 2100"),
        (_line_60("2021-01-03T10:00:00-0500,90,75"), r"column temperature = 75"),
        (_line_60("3 Jan 21 10h,90,5"), r"line 60, column time = 3 Jan 21 10h"),
        (_line_60("2021-01-03T09:00:00-0500,90,5"), r"line 60, .*already on line 59"),
        (_line_60("2021-01-03T10:07:00-0500,90,5"), r"line 60, .*whole number of steps"),
        (_line_60("2021-01-03T10:00:00-0500,90,5,1,1"), r"line 60 = 5 values"),
        (lambda t: t.replace("-0500", ""), r"column time = .*the time zone is not stated"),
        (lambda t: t.replace("-0500", "+0800"), r"too late for this place"),
        (lambda t: "\n".join(t.splitlines()[:4000]), r"too few in Jun, Jul.*needs a whole year"),
        (lambda t: t.replace("time,ghi_w_m2", "time,ghi_kw_m2"), r"column ghi = .*at most 1800 W"),
        (lambda t: t.splitlines()[0] + "\n", r"1 lines"),
        (lambda t: "# latitude: 99\n" + t, r"# latitude = 99"),
        (lambda t: "# stamp: middle\n" + t, r"# stamp = middle"),
    ],
)  # fmt: skip
def test_broken_csv_files(
    tmp_path: Path,
    typical: pd.DataFrame,
    greensboro: Place,
    change: Callable[[str], str],
    told: str,
) -> None:
    path = _write(
        tmp_path / "b.csv", typical, names={"ghi": "ghi_w_m2", "temp_air": "temperature_c"}
    )
    path.write_text(change(path.read_text()))
    with pytest.raises(WeatherError, match=told) as caught:
        read_weather_file(path, greensboro, GRID)
    assert str(caught.value).startswith("b.csv")
    assert "\n" not in str(caught.value)


@pytest.mark.regression
def test_small_things_are_told_and_mended(
    tmp_path: Path, typical: pd.DataFrame, greensboro: Place
) -> None:
    data = typical[["ghi"]].copy()
    data.iloc[[1, 2], 0] = -3.0
    path = _write(tmp_path / "s.csv", data.iloc[::-1], names={"ghi": "ghi"})
    got = read_weather_file(path, greensboro, GRID)
    assert any("2 slightly negative readings of ghi were set to 0" in note for note in got.notes)
    assert any("put in order of time" in note for note in got.notes)
    # An hour's shift of the clock is told.
    late = _write(
        tmp_path / "late.csv",
        typical,
        names={"ghi": "ghi"},
        times=lambda at: (at + pd.Timedelta("1h")).strftime("%Y-%m-%dT%H:%M%z"),
    )
    notes = read_weather_file(late, greensboro, GRID).notes
    assert any(re.search(r"stands highest (0\.9|1\.0|1\.1) h too late", note) for note in notes)


@pytest.mark.regression
def test_clock_changes_that_cannot_be_told_apart(
    tmp_path: Path, typical: pd.DataFrame, greensboro: Place
) -> None:
    noted = _write(tmp_path / "dst.csv", typical, names={"ghi": "ghi"},
                   times=lambda at: at.strftime("%Y-%m-%d %H:%M"))  # fmt: skip
    with pytest.raises(WeatherError, match="clocks change in America/New_York"):
        read_weather_file(noted, greensboro, GRID, timezone="America/New_York")
    with pytest.raises(InputError, match=r"timezone = Nowhere/Land.*offset such as \+01:00"):
        read_weather_file(noted, greensboro, GRID, timezone="Nowhere/Land")
    assert zone_of("UTC+5:30") == zone_of("+0530")


@pytest.mark.analytic
def test_the_south_starts_its_years_in_january(tmp_path: Path, four_years: pd.DataFrame) -> None:
    """The same sun half a year on: a place as far south, at the same longitude."""
    place = place_at(-36.1, -79.95, altitude_m=0)
    index = pd.DatetimeIndex(four_years.index) + pd.Timedelta("182D")
    data = four_years.set_axis(index)
    grid = TimeGrid.for_latitude(-36.1)
    got = read_weather_file(_write(tmp_path / "s.csv", data, names=ALL), place, grid)
    assert got.weather is not None
    assert got.weather.source.endswith("3 years, 2020 to 2022")
    assert got.climate.monthly_ghi_kwh_m2_day.argmin() in (5, 6)
