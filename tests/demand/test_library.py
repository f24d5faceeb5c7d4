"""The library of ordinary loads, and loads that start from it."""

from __future__ import annotations

import pytest

from sunpantry.demand.demand import demand_of
from sunpantry.demand.library import (
    GROUPS,
    complete,
    complete_design,
    complete_loads,
    find_load,
    for_latitude,
    library_names,
    load_library,
)
from sunpantry.design import Load, parse_design, write_design
from sunpantry.design.load_checks import load_problems
from sunpantry.design.loads import Bursts
from sunpantry.errors import InputError
from sunpantry.sky.place import Place
from sunpantry.timegrid import TimeGrid

HUT = Place(54.1, -9.2, 26.0, "Europe/Dublin")


def like(name: str, **given: object) -> tuple[Load, tuple[str, ...]]:
    load = Load.model_validate({"name": "Mine", "like": name, **given})
    return complete(load, find_load(name, load_library()))


@pytest.mark.regression
def test_the_library_is_large_whole_and_sourced() -> None:
    library = load_library()
    assert len(library) >= 60
    assert {entry.group for entry in library} == set(GROUPS)
    for entry in library:
        assert load_problems(entry, entry.name) == []
        assert entry.supply is not None
        assert entry.importance is not None
        assert entry.source.startswith(("common practice, no source", "analytic"))
    names = [name.casefold() for name in library_names(library)]
    assert len(set(names)) == len(names)


# Energy of a day [Wh] at 54° N, where the device is in use: the ranges of common practice,
# no source (from memory of trade sheets, fair to 30 %).
DAYS_WH = {
    "electric fence, small": (25, 48),
    "electric fence, large": (110, 216),
    "LED lamp": (15, 50),
    "phone": (10, 20),
    "laptop": (150, 250),
    "router": (150, 290),
    "radio": (20, 40),
    "small television": (80, 200),
    "12 V fridge": (300, 600),
    "fridge": (400, 800),
    "chest freezer": (500, 900),
    "12 V pressure pump": (50, 100),
    "tool-battery charger": (115 * 3 / 7, 115),
}


@pytest.mark.regression
@pytest.mark.parametrize("name", DAYS_WH)
def test_typical_energy_of_a_day(name: str) -> None:
    text = f'[site]\nlatitude = 54.1\nlongitude = -9.2\n[[load]]\nname = "x"\nlike = "{name}"\n'
    demand = demand_of(parse_design(text), HUT, TimeGrid())
    low, high = DAYS_WH[name]
    assert low <= demand.yearly_wh(demand.loads[0]) / 365 <= high


@pytest.mark.analytic
def test_a_kettle_heats_its_water() -> None:
    """1 kg × 4.186 kJ/(kg K) × 90 K = 104.7 Wh, and not a fifth more."""
    kettle = find_load("kettle", load_library())
    assert kettle is not None
    assert kettle.energy_per_use_wh is not None
    assert 4.186 * 90 / 3.6 <= kettle.energy_per_use_wh <= 1.2 * 4.186 * 90 / 3.6


@pytest.mark.regression
def test_a_load_starts_from_an_entry() -> None:
    load, typical = like("Chest Freezer", power="80 W", importance="must")
    entry = find_load("chest freezer", load_library())
    assert entry is not None
    assert (load.name, load.like, load.supply) == ("Mine", None, "mains")
    assert (load.power_w, load.importance, load.duty) == (80.0, "must", entry.duty)
    assert load.surge_w == pytest.approx(900 * 80 / 100)
    assert typical == ("hours_per_day", "duty", "surge")


@pytest.mark.regression
def test_other_names_find_the_same_entry() -> None:
    assert find_load("freezer", load_library()) == find_load("chest freezer", load_library())
    assert find_load("nothing of the kind", load_library()) is None


@pytest.mark.regression
@pytest.mark.parametrize(
    ("entry", "given", "kept"),
    [
        # Hours in place of a window: the window's start stays, its end goes.
        ("night light", {"hours_per_day": 3}, {"from_": "dusk", "until": None}),
        # A window in place of hours.
        (
            "LED lamp",
            {"from": "18:00", "until": "23:00"},
            {"hours_per_day": None, "from_": "18:00"},
        ),
        # An end in place of a start.
        ("radio", {"until": "12:00"}, {"from_": None, "hours_per_day": 4.0}),
        ("radio", {"from": "10:00"}, {"from_": "10:00", "until": None}),
        ("grow light", {"until": "22:00"}, {"from_": "06:00", "until": "22:00"}),
        # Another kind of habit: nothing of the entry's is kept.
        (
            "small television",
            {"minutes_per_use": 30, "uses_per_week": 2},
            {"hours_per_day": None, "from_": None, "standby_w": 0.5},
        ),
        (
            "washing machine",
            {"hours_per_day": 1},
            {"energy_per_use_wh": None, "uses_per_week": None, "from_": None},
        ),
        (
            "motion light",
            {"hours_per_day": 1},
            {"bursts": None, "standby_w": 0.5},
        ),
        (
            "night light",
            {"bursts": {"per_night": 2}},
            {"from_": None, "until": None, "bursts": Bursts(per_night=2.0)},
        ),
        # The same kind: key by key.
        ("washing machine", {"uses_per_week": 5}, {"energy_per_use_wh": 650.0, "from_": "11:00"}),
    ],
)
def test_what_a_load_says_wins(
    entry: str, given: dict[str, object], kept: dict[str, object]
) -> None:
    load, _ = like(entry, **given)
    assert {name: getattr(load, name) for name in kept} == kept
    assert load_problems(load, "load[1]") == []


@pytest.mark.regression
def test_every_entry_works_as_it_stands() -> None:
    text = "[site]\nlatitude = 54.1\nlongitude = -9.2\n" + "".join(
        f'[[load]]\nname = "{entry.name}"\nlike = "{entry.name}"\n' for entry in load_library()
    )
    design = parse_design(text, load_names=library_names(load_library()))
    demand = demand_of(design, HUT, TimeGrid())
    for load in demand.loads:
        assert demand.yearly_wh(load) > 0.0
        assert load.typical
        assert load.surge_w >= load.peak_w > 0.0


@pytest.mark.regression
def test_measured_figures_are_not_typical() -> None:
    measured = Load(name="x", power_w=8.0, supply="12 V", hours_per_day=4.0)
    assert complete(measured, None)[1] == ()
    guessed = measured.model_copy(update={"typical": True})
    assert complete(guessed, None)[1] == ("power", "hours_per_day")


@pytest.mark.analytic
def test_seasons_are_half_a_year_later_in_the_south() -> None:
    library = load_library()
    assert for_latitude(library, 10.0) == library
    south = for_latitude(library, -40.0)
    north_cabinet, south_cabinet = (
        find_load("honey-warming cabinet", one) for one in (library, south)
    )
    assert north_cabinet is not None
    assert south_cabinet is not None
    assert (north_cabinet.months, south_cabinet.months) == ((8,), (2,))
    place = Place(-40.0, 175.5, 50.0, "Pacific/Auckland")
    text = '[site]\nlatitude = -40\nlongitude = 175.5\n[[load]]\nname = "x"\nlike = "fridge"\n'
    demand = demand_of(parse_design(text), place, TimeGrid.for_latitude(-40.0))
    monthly = demand.monthly_wh(demand.loads[0])
    assert monthly[0] > 1.3 * monthly[6]


@pytest.mark.regression
def test_problems_with_the_library_are_told_at_once() -> None:
    loads = [
        Load(name="a", like="chest frezer"),
        Load(name="b", like="fridge", surge_w=10.0),
        Load(name="c", like="zzzz"),
    ]
    with pytest.raises(InputError) as caught:
        complete_loads(loads, load_library())
    assert [str(problem) for problem in caught.value.problems] == [
        'load[1].like = "chest frezer": a name from the library of loads; '
        'did you mean "chest freezer"?',
        "load[2].surge = 10: the highest draw as it starts: at least its power, 100 W; "
        "raise it, or leave it out where there is no surge",
        'load[3].like = "zzzz": a name from the library of loads; `sunpantry loads` lists them',
    ]


GATE = """
{bank}
[site]
latitude = -40
longitude = 175.5
[[load]]
name = "Gate"
like = "gate opener"
[[load]]
name = "Honey"
like = "honey-warming cabinet"
"""


@pytest.mark.regression
def test_a_design_can_be_completed_and_is_checked_again() -> None:
    whole = complete_design(parse_design(GATE.format(bank="")), latitude_deg=-40.0)
    gate, honey = whole.loads
    assert (gate.supply, gate.surge_w, gate.like) == ("24 V", 300.0, None)
    assert honey.months == (2,)
    assert parse_design(write_design(whole)) == whole
    with pytest.raises(InputError, match=r"load\[1\]\.supply = \"24 V\": at most the 12 V of the"):
        complete_design(parse_design(GATE.format(bank='bank_voltage = "12 V"')), latitude_deg=-40.0)
