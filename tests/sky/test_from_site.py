"""From the site of a design to its sky: what a faulty weather file is told, and where."""

from __future__ import annotations

from pathlib import Path

import pytest

from sunpantry.design.site import Site
from sunpantry.errors import InputError
from sunpantry.sky.from_site import sky_of

pytestmark = pytest.mark.regression

HEAD = "# timezone: UTC\n"
OWN_SUN = (0.6, 1.2, 2.3, 3.7, 4.6, 4.8, 4.5, 3.8, 2.8, 1.6, 0.8, 0.45)


@pytest.mark.parametrize(
    ("name", "text", "told"),
    [
        ("none.csv", None, "No such file or directory; check the name"),
        ("none.epw", None, "No such file or directory; check the name"),
        ("none.tm2", None, "No such file or directory; check the name"),
        ("own.csv", "time,ghi\n2019-01-01T00:00,5\n", "the time zone is not stated; give"),
        ("own.csv", HEAD + "time,sun\n2019-01-01T00:00,5\n", "needs a column named ghi; name"),
        ("own.csv", HEAD + "time,ghi\n2019-01-01T00:00,-50\n2019-01-01T01:00,5\n",
         "line 3, column ghi = -50: irradiance is not negative; leave"),
        ("own.csv", "# timezone: Mars\ntime,ghi\n2019-01-01T00:00,5\n", "timezone = Mars: an off"),
        ("own.csv", HEAD + "time,ghi\n2019-01-01T00:00,0\n2019-01-01T01:00,0\n", "needs a whole"),
        ("own.epw", "hello\n", "not readable as EPW"),
    ],
)  # fmt: skip
def test_a_faulty_file_is_told_of_its_field(
    tmp_path: Path, name: str, text: str | None, told: str
) -> None:
    """The field and the file's name, what is wrong, what to do; no path of this machine."""
    if text is not None:
        (tmp_path / name).write_text(text, "utf-8")
    site = Site(latitude=53.9, longitude=-9.3, weather_file=name)
    with pytest.raises(InputError) as caught:
        sky_of(site, years=2, seed=1, folder=tmp_path)
    (problem,) = caught.value.problems
    assert (problem.where, problem.value) == ("site.weather_file", f'"{name}"')
    assert told in str(problem)
    assert problem.allowed
    assert problem.remedy
    assert str(tmp_path) not in str(problem)


def test_a_file_goes_before_typed_figures_and_says_so(tmp_path: Path) -> None:
    """Both are given: the file is used, and the reader told."""
    rows = [f"2021-{month:02d}-{day:02d},{1.0 + month % 7}"
            for month, days in enumerate((31, 28, 31, 30, 31, 30, 31, 31, 30, 31, 30, 31), start=1)
            for day in range(1, days + 1)]  # fmt: skip
    (tmp_path / "own.csv").write_text(HEAD + "date,ghi_kwh_m2\n" + "\n".join(rows) + "\n", "utf-8")
    site = Site(latitude=10.0, longitude=-2.0, weather_file="own.csv",
                monthly_sun_kwh_m2_day=OWN_SUN)  # fmt: skip
    sky = sky_of(site, years=2, seed=1, folder=tmp_path)
    assert sky.climate.monthly_ghi_kwh_m2_day[2] == pytest.approx(4.0, rel=1e-6)
    assert "own.csv is used; the monthly sun typed in is left aside." in sky.notes
    assert sky.climate.basis == "file"
