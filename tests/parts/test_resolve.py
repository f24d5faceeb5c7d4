"""What a document fixes, what it leaves open, and what is wrong with it."""

from __future__ import annotations

import pytest

from sunpantry.design import parse_design
from sunpantry.errors import InputError, PartError
from sunpantry.parts.catalogue import shipped_catalogue
from sunpantry.parts.resolve import Kit, resolve_kit

SHORTEST = """
schema = 1
name = "Lamp in the hut"
[site]
latitude = 54.1
longitude = -9.2
[[load]]
name = "Lamp"
power = "8 W"
supply = "12 V"
hours_per_day = 4
"""


def kit(more: str = "", *, south: bool = False) -> Kit:
    return resolve_kit(parse_design(SHORTEST + more), shipped_catalogue(), south=south)


@pytest.mark.regression
def test_shortest_document_leaves_everything_open() -> None:
    found = kit()
    assert found.bank_v is None
    assert found.arrays == ()
    assert found.bank.battery is None
    assert not found.bank.absent
    assert found.controller.controller is None
    assert found.inverter.inverter is None
    assert found.converters == ()


@pytest.mark.regression
def test_names_labels_counts_and_absences() -> None:
    found = kit(
        """
[[array]]
part = "100 W panel, 36 cells"
count = 4
series = 2
tilt = "60°"
azimuth = "south"
owned = true
[[array]]
power = "50 W"
voc = "22 V"
isc = "3.0 A"
vmp = "18 V"
imp = "2.78 A"
cells = 36
tilt_winter = "70°"
tilt_summer = "20°"
[battery]
part = "6 V 225 Ah flooded deep-cycle"
series = 2
parallel = 1
owned = 1
housing = "house"
[controller]
part = "MPPT 20 A, 12/24 V, 100 V"
owned = true
[inverter]
part = "none"
[[converter]]
part = "12/24 V to 5 V USB, 15 W"
count = 2
"""
    )
    first, second = found.arrays
    assert first.panel is not None
    assert (first.panel.power_w, first.count, first.series, first.parallel) == (100, 4, 2, 2)
    assert (first.owned, first.azimuth_deg, first.tilt_deg) == (None, 180.0, (60.0,) * 12)
    assert second.panel is not None
    assert second.panel.power_w == 50
    assert second.azimuth_deg is None
    assert second.tilt_deg == (70.0,) * 3 + (20.0,) * 6 + (70.0,) * 3
    assert found.bank.battery is not None
    assert (found.bank.battery.nominal_v, found.bank.count) == (6, 2)
    assert (found.bank.owned, found.bank.housing) == (1, "house")
    assert found.controller.controller is not None
    assert found.controller.owned
    assert found.inverter.absent
    assert [(each.count, each.owned) for each in found.converters] == [(2, False)]


@pytest.mark.regression
def test_winter_tilt_follows_the_hemisphere() -> None:
    tilted = '[[array]]\ntilt_winter = "70°"\ntilt_summer = "20°"\n'
    assert kit(tilted, south=True).arrays[0].tilt_deg == (20.0,) * 3 + (70.0,) * 6 + (20.0,) * 3


@pytest.mark.regression
def test_best_is_for_the_promise_unless_it_says_for_what() -> None:
    aimed = kit(
        """
[[array]]
tilt = "best for the year"
azimuth = "best for the darkest month"
[[array]]
tilt = "best for the promise"
[[array]]
"""
    ).arrays
    assert [(one.tilt_deg, one.azimuth_deg) for one in aimed] == [(None, None)] * 3
    assert [(one.tilt_aim, one.azimuth_aim) for one in aimed] == [
        ("year", "darkest month"),
        ("promise", "promise"),
        ("promise", "promise"),
    ]


@pytest.mark.regression
def test_all_problems_come_at_once() -> None:
    with pytest.raises(PartError) as raised:
        kit(
            """
[[array]]
power = "50 W"
voc = "18 V"
isc = "3.0 A"
vmp = "18 V"
imp = "2.78 A"
cells = 36
[battery]
part = "12 V 100 Ah AGN"
[controller]
part = "MPPT"
"""
        )
    wheres = [problem.where for problem in raised.value.problems]
    assert wheres == ["array[1].vmp", "battery.part", "controller.part"]
    assert "12 V 100 Ah AGM" in raised.value.problems[1].remedy


@pytest.mark.regression
def test_groups_of_cells_in_shade() -> None:
    """Some may stand in shade, not all of them: 60 cells have three groups, 36 have two."""
    shade = '[[array]]\npart = "{panel}"\nshaded_groups = {groups}\n'
    found = kit(shade.format(panel="250 W panel, 60 cells", groups=2))
    assert found.arrays[0].shaded_groups == 2
    with pytest.raises(PartError, match=r"array\[1\]\.shaded_groups.*fewer than the 2 groups"):
        kit(shade.format(panel="100 W panel, 36 cells", groups=2))
    with pytest.raises(InputError, match="shaded_groups"):
        kit(shade.format(panel="100 W panel, 36 cells", groups=-1))
