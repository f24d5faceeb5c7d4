"""The horizon: blocked beam and hidden sky, against geometry done by hand."""

from __future__ import annotations

import math

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from sunpantry.design.site import Site
from sunpantry.errors import InputError
from sunpantry.sky.horizon import Horizon, Obstacle, horizon_of

HOUSE = Obstacle(height_m=8, distance_m=12, from_deg=120, to_deg=160, name="house")


def _basin(elevation_deg: float) -> Horizon:
    return Horizon.of([(0, elevation_deg), (180, elevation_deg)])


def _long_wall(elevation_deg: float, facing_deg: float) -> Horizon:
    """Straight wall without end: elevation falls off as atan(tan H cos Δ)."""
    azimuths = np.arange(0.0, 360.0, 0.5)
    ahead = np.cos(np.radians(azimuths - facing_deg))
    angle = np.degrees(np.arctan(np.tan(np.radians(elevation_deg)) * np.maximum(ahead, 0)))
    return Horizon(tuple(azimuths), tuple(angle))


@pytest.mark.analytic
def test_house_blocks_the_beam_below_its_roof_and_between_its_sides() -> None:
    # tan⁻¹(8 / 12) = 33.690°
    assert HOUSE.elevation_deg == pytest.approx(33.690, abs=5e-4)
    factor = Horizon.of(obstacles=[HOUSE]).beam_factor(
        [140, 140, 119.9, 120.1, 160.1, 140], [33.6, 33.8, 20, 20, 20, 5], 0
    )
    assert factor.tolist() == [0, 1, 1, 0, 1, 0]


@pytest.mark.analytic
def test_span_over_north_is_the_short_way_round() -> None:
    hedge = Obstacle(height_m=2, distance_m=2, from_deg=350, to_deg=10)
    factor = Horizon.of(obstacles=[hedge]).beam_factor([355, 5, 20, 180], [10, 10, 10, 10], 6)
    assert factor.tolist() == [0, 0, 1, 1]


@pytest.mark.analytic
def test_outline_is_interpolated_round_the_compass() -> None:
    horizon = Horizon.of([(270, 20), (90, 10)])
    # From 270° to 90° by way of north: half-way (0°) it stands at 15°.
    assert horizon.outline_deg([0, 45, 180, 315]).tolist() == pytest.approx([15, 12.5, 15, 17.5])
    assert horizon.beam_factor([0, 0], [14.9, 15.1], 3).tolist() == [0, 1]


@pytest.mark.analytic
@pytest.mark.parametrize("elevation_deg", [0.0, 5.0, 20.0, 45.0])
def test_sky_of_a_level_plane_in_a_round_basin(elevation_deg: float) -> None:
    # ∫ sin e cos e de from h to 90° over the same from 0: cos² h.
    expected = math.cos(math.radians(elevation_deg)) ** 2
    assert _basin(elevation_deg).sky_view(0, 0, 0) == pytest.approx(expected, rel=1e-9)


@pytest.mark.analytic
@pytest.mark.parametrize("elevation_deg", [5.0, 20.0, 45.0])
def test_sky_of_a_vertical_plane_in_a_round_basin(elevation_deg: float) -> None:
    h = math.radians(elevation_deg)
    expected = 1 - (h / 2 + math.sin(2 * h) / 4) / (math.pi / 4)
    assert _basin(elevation_deg).sky_view(90, 200, 0) == pytest.approx(expected, rel=1e-6)


@pytest.mark.analytic
@pytest.mark.parametrize("tilt_deg", [0.0, 30.0, 60.0, 90.0])
@pytest.mark.parametrize("elevation_deg", [10.0, 30.0, 60.0])
def test_sky_above_an_endless_wall(tilt_deg: float, elevation_deg: float) -> None:
    # Crossed strings in two dimensions: (1 + cos(β + H)) / 2 against (1 + cos β) / 2.
    tilt, height = math.radians(tilt_deg), math.radians(elevation_deg)
    expected = (1 + math.cos(tilt + height)) / (1 + math.cos(tilt))
    view = _long_wall(elevation_deg, 170).sky_view(tilt_deg, 170, 0)
    assert view == pytest.approx(expected, abs=2e-4)  # outline given every 0.5°


@pytest.mark.published
def test_sky_above_an_endless_wall_is_that_of_passias_and_kallback() -> None:
    """Passias & Källbäck (1984), Solar Cells 11, 281–291, as coded in pvlib."""
    from pvlib.shading import sky_diffuse_passias

    for elevation_deg in (10.0, 25.0, 50.0):
        lost = float(sky_diffuse_passias(elevation_deg))
        view = _long_wall(elevation_deg, 90).sky_view(0, 90, 0)
        assert 1 - view == pytest.approx(lost, abs=2e-4)


@pytest.mark.analytic
def test_house_hides_a_ninth_of_the_ring_below_its_roof() -> None:
    # 40° of 360°, up to 33.69°: (40/360) sin² h, and sin² h = 8² / (8² + 12²) = 4/13.
    view = Horizon.of(obstacles=[HOUSE]).sky_view(0, 180, 0)
    assert 1 - view == pytest.approx(40 / 360 * 4 / 13, rel=1e-6)


@pytest.mark.independent
def test_sky_view_agrees_with_random_rays() -> None:
    """Land, a wall and a tree together, against 400 000 cosine-weighted rays."""
    tree = Obstacle(9, 10, 150, 230, transmission=(0.4,) * 12)
    horizon = Horizon.of([(0, 5), (90, 25), (180, 3), (270, 12)], [HOUSE, tree])
    tilt, facing = math.radians(50), math.radians(200)
    random = np.random.default_rng(7)
    r, turn = np.sqrt(random.random(400_000)), 2 * np.pi * random.random(400_000)
    x, y, z = r * np.cos(turn), r * np.sin(turn), np.sqrt(1 - r**2)
    ahead, up = x * math.cos(tilt) + z * math.sin(tilt), z * math.cos(tilt) - x * math.sin(tilt)
    azimuth = np.degrees(facing + np.arctan2(y, ahead))
    elevation = np.degrees(np.arcsin(np.clip(up, -1, 1)))
    sky = elevation > 0
    kept = horizon.beam_factor(azimuth[sky], elevation[sky], 4)
    spread = kept.std() / math.sqrt(kept.size)
    assert horizon.sky_view(50, 200, 4) == pytest.approx(kept.mean(), abs=4 * spread)


@pytest.mark.convergence
def test_sky_view_has_settled() -> None:
    """Moving the sides of an obstacle by less than a step moves the answer by as little."""
    edges = [
        Horizon.of(obstacles=[Obstacle(8, 12, 120 + shift, 160 + shift)]).sky_view(40, 180, 0)
        for shift in np.linspace(0, 0.5, 6)
    ]
    assert max(edges) - min(edges) < 5e-4


@pytest.mark.analytic
def test_trees_let_more_through_when_bare() -> None:
    bare = (0.45,) * 4 + (0.05,) * 6 + (0.45,) * 2
    trees = Obstacle(10, 10, 90, 270, transmission=bare)
    horizon = Horizon.of(obstacles=[trees])
    assert horizon.beam_factor([180, 180], [20, 20], [0, 6]).tolist() == pytest.approx([0.45, 0.05])
    # Two rows one behind the other let the product through.
    twice = Horizon.of(obstacles=[trees, trees])
    assert twice.beam_factor(180, 20, 0) == pytest.approx(0.45**2)
    # Half the ring up to 45°: a quarter of a level plane's sky, of which 0.45 is left.
    assert horizon.sky_view(0, 180, 0) == pytest.approx(1 - 0.25 * 0.55, rel=1e-6)
    assert horizon.sky_view(0, 180, 6) == pytest.approx(1 - 0.25 * 0.95, rel=1e-6)


@pytest.mark.regression
def test_skyline_of_a_described_site() -> None:
    site = Site.model_validate(
        {
            "latitude": 53.9,
            "longitude": -9.3,
            "horizon": [[90, 4], [180, 8]],
            "obstacle": [
                {"name": "house", "height_m": 8, "distance_m": 12, "from": 120, "until": 160},
                {
                    "name": "ash trees",
                    "height_m": 9,
                    "distance_m": 15,
                    "from": 200,
                    "until": 230,
                    "lets_through_pct": 10,
                    "bare_months": "Nov-Mar",
                    "bare_lets_through_pct": 50,
                },
            ],
        }
    )
    horizon = horizon_of(site)
    assert horizon is not None
    house, trees = horizon.obstacles
    assert (house.name, house.transmission) == ("house", (0.0,) * 12)
    assert trees.transmission == (0.5,) * 3 + (0.1,) * 7 + (0.5,) * 2
    assert horizon.skyline_deg([140, 180, 215]).tolist() == pytest.approx(
        [math.degrees(math.atan(8 / 12)), 8, math.degrees(math.atan(9 / 15))]
    )
    assert horizon_of(Site.model_validate({"latitude": 1, "longitude": 1})) is None


@pytest.mark.published
def test_bare_trees_let_half_through_where_nothing_is_said() -> None:
    """40 to 52 % of the beam (Konarska et al. 2014) to some 60 % (Heisler 1986), from memory."""
    site = Site.model_validate(
        {"obstacle": [{"height_m": 9, "distance_m": 15, "from": 200, "until": 230,
                       "bare_months": "Nov-Mar"}]}
    )  # fmt: skip
    horizon = horizon_of(site)
    assert horizon is not None
    (trees,) = horizon.obstacles
    assert 0.40 <= trees.transmission[0] <= 0.60
    assert trees.transmission[6] == 0.0


@pytest.mark.analytic
def test_level_ground_changes_nothing() -> None:
    level = Horizon.of([(0, 0), (180, -2)])
    assert level.level
    assert level.beam_factor([10, 200], [-0.4, 0.1], 0).tolist() == [1, 1]
    assert level.sky_view(65, 180, 0) == pytest.approx(1, abs=1e-12)


@pytest.mark.conservation
@settings(max_examples=40, deadline=None)
@given(
    tops=st.lists(st.floats(0, 80), min_size=1, max_size=8),
    tilt_deg=st.floats(0, 90),
    azimuth_deg=st.floats(0, 360),
)
def test_higher_ground_never_shows_more_sky(
    tops: list[float], tilt_deg: float, azimuth_deg: float
) -> None:
    at = np.linspace(0, 360, len(tops), endpoint=False)
    low = Horizon(tuple(at), tuple(top / 2 for top in tops)).sky_view(tilt_deg, azimuth_deg, 0)
    high = Horizon(tuple(at), tuple(tops)).sky_view(tilt_deg, azimuth_deg, 0)
    assert -1e-12 <= high <= low + 1e-12 <= 1 + 2e-12


@pytest.mark.regression
def test_every_fault_is_told_at_once() -> None:
    with pytest.raises(InputError, match="elevation 95°") as caught:
        Horizon.of(
            [(400, 3), (10, 95), (0, 5), (360, 6)],
            [Obstacle(-1, 12, 10, 20), Obstacle(3, 4, 10, 20, transmission=(2.0,) * 12)],
        )
    told = str(caught.value)
    assert len(caught.value.problems) == 5
    assert "site.horizon[1] = azimuth 400°" in told
    assert "0 and 360 are the same" in told
    assert "site.obstacle[1].height = -1 m" in told
    assert "site.obstacle[2].transmission" in told


@pytest.mark.regression
def test_a_pair_of_three_is_refused() -> None:
    with pytest.raises(InputError, match=r"site\.horizon\[1\] = .*two numbers"):
        Horizon.of([(1, 2, 3)])
