"""What 'best' means for an array: of the year, of the darkest month, past what stands round."""

from __future__ import annotations

import numpy as np
import pytest

from sunpantry.design import parse_design
from sunpantry.plan import make_plan
from sunpantry.plan.facing import best_azimuth, kit_of, open_azimuth_deg
from sunpantry.plan.questions import Question, question_of
from sunpantry.report.plan_text import plan_text
from sunpantry.timegrid import MONTH_LENGTHS, FloatArray

SITE = """\
schema = 1
name = "Hut"
winters = 4

[site]
latitude = {latitude}
longitude = -9.2
altitude = "30 m"
"""
WALL = """
[[site.obstacle]]
name = "wall"
height = "9 m"
distance = "9 m"
from = {start}
until = {end}
"""
LOAD = """
[[load]]
name = "Lamp"
power = "2 W"
supply = "12 V"
hours_per_day = 2
"""


def _question(*, latitude: float = 54.1, wall: tuple[int, int] | None = None,
              arrays: str = "") -> Question:  # fmt: skip
    walls = WALL.format(start=wall[0], end=wall[1]) if wall else ""
    return question_of(parse_design(SITE.format(latitude=latitude) + walls + LOAD + arrays))


def _light(question: Question, tilt_deg: float, azimuth_deg: float) -> FloatArray:
    """Light by month on a plane, straight from the plane of the setting [kWh/m²/day]."""
    plane = question.setting.plane((tilt_deg,) * 12, azimuth_deg)
    month = question.setting.weather.grid.month
    months: FloatArray = np.bincount(month, plane.poa_w_m2.mean(axis=0)) / np.array(MONTH_LENGTHS)
    return months / 1000.0


@pytest.mark.analytic
def test_best_for_the_year_and_for_the_darkest_month_gather_most_then() -> None:
    """No other tilt in steps of five degrees gathers more over that stretch."""
    question = _question(
        arrays='[[array]]\ntilt = "best for the year"\n'
        '[[array]]\ntilt = "best for the darkest month"\n'
    )
    (year, _), (dark, _) = ((one.tilt_deg or (), one.azimuth_deg) for one in question.kit.arrays)
    assert len(set(year)) == len(set(dark)) == 1
    assert year[0] + 20 <= dark[0] <= 80
    light = {tilt: _light(question, tilt, 180.0) for tilt in np.arange(0.0, 91.0, 5.0).tolist()}
    most = max(float(months.sum()) for months in light.values())
    assert float(light[year[0]].sum()) > 0.995 * most
    assert float(light[dark[0]][11]) > 0.995 * max(float(months[11]) for months in light.values())


@pytest.mark.analytic
def test_open_arrays_face_the_equator_or_past_a_wall() -> None:
    """A wall in the south-east turns the panels to the west, its mirror image to the east."""
    assert best_azimuth(_question().setting) == 180.0
    assert best_azimuth(_question(latitude=-38.0).setting) == 0.0
    evening = _question(wall=(90, 180))
    turned = best_azimuth(evening.setting)
    assert 190 <= turned <= 250
    assert best_azimuth(_question(wall=(180, 270)).setting) == pytest.approx(360 - turned, abs=10)
    # In the open nothing is settled; behind the wall the search begins from where the light is.
    assert _question().kit.arrays == ()
    assert open_azimuth_deg(evening.kit, evening.setting) == turned
    assert [one.azimuth_deg for one in kit_of(evening.design, evening.setting).arrays] == [turned]
    # What the document fixes stays: only the open one of two is turned.
    two = _question(wall=(90, 180), arrays='[[array]]\nazimuth = "east"\n[[array]]\ntilt = 30\n')
    east, free = two.kit.arrays
    assert (east.azimuth_deg, east.tilt_deg) == (90.0, None)
    assert free.tilt_deg == (30.0,) * 12
    assert free.azimuth_deg is not None
    assert free.azimuth_deg > 180


@pytest.mark.regression
def test_plan_and_wiring_show_the_number() -> None:
    """A word of the document is a number of degrees in all that is built from."""
    text = SITE.format(latitude=54.1) + WALL.format(start=90, end=180) + LOAD
    fixed = """
[[array]]
part = "50 W panel, 36 cells"
count = 1
tilt = "best for the year"
[[array]]
part = "50 W panel, 36 cells"
count = 1
tilt_winter = "70°"
tilt_summer = "30°"
azimuth = "south-west"
[battery]
part = "12 V 60 Ah AGM"
count = 1
[controller]
part = "PWM 10 A, 12/24 V"
count = 1
"""
    plan = make_plan(parse_design(text + fixed))
    first, second = plan.system.arrays
    assert len(set(first.tilt_deg)) == 1
    assert 190 <= first.azimuth_deg <= 250
    assert second.tilt_deg == (70.0,) * 3 + (30.0,) * 6 + (70.0,) * 3
    told = plan_text(plan)
    assert f"tilted {first.tilt_deg[0]:.0f}°, facing {first.azimuth_deg:.0f}° on the" in told
    assert "tilted 70° in winter and 30° in summer, facing 225° on the compass" in told
    assert any(finding.rule == "mixed-directions" for finding in plan.findings)
