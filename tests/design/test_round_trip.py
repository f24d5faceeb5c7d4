"""Any design that is written reads back equal."""

from __future__ import annotations

import json
from typing import Any

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from sunpantry.design import Design, design_document, design_from, parse_design, write_design
from sunpantry.design.kit import BEST
from sunpantry.errors import InputError, Problem

_KEYS = (
    *("site", "load", "battery", "backup", "tank", "pump", "inverter", "search", "bank_voltage"),
    *("name", "power", "supply", "hours_per_day", "from", "until", "months", "weekdays", "duty"),
    *("can_wait", "bursts", "uses_per_week", "energy_per_use", "minutes_per_use", "surge", "like"),
    *("part", "label", "count", "series", "parallel", "owned", "tilt", "nominal", "runs", "prices"),
    *("curve", "horizon", "obstacle", "into", "drinker", "kind", "converter", "schema", "step"),
)


def _finite(low: float, high: float) -> st.SearchStrategy[float]:
    return st.floats(low, high, allow_nan=False, allow_infinity=False)


_NAMES = st.text(min_size=1, max_size=30).filter(lambda text: bool(text.strip()))
_TWELVE = st.lists(_finite(0.01, 1), min_size=12, max_size=12)
_CLOCKS = st.builds("{:02d}:{:02d}".format, st.integers(0, 23), st.integers(0, 59))
_SUNS = st.builds(
    "{}{}{}:{:02d}".format,
    st.sampled_from(["dusk", "dawn"]),
    st.sampled_from("+-"),
    st.integers(0, 12),
    st.integers(0, 59),
)
_MAYBE: dict[str, st.SearchStrategy[Any]] = {
    "quantity": st.integers(1, 50),
    "months": st.lists(st.integers(1, 12), min_size=1),
    "weekdays": st.lists(st.sampled_from(["mon", "wed", "sun"]), min_size=1),
    "importance": st.sampled_from(["must", "should", "may"]),
    "standby": _finite(0, 0.1),
    "note": st.text(max_size=40),
    "own_battery": _finite(0, 100),
    "kind": st.sampled_from(["motor", "heater", "light"]),
}


@st.composite
def _loads(draw: st.DrawFn, name: str) -> dict[str, Any]:
    load: dict[str, Any] = {
        "name": name,
        "supply": draw(st.sampled_from(["5 V", "12 V", "mains"])),
        "power": draw(_finite(0.1, 3000)),
        **draw(st.fixed_dictionaries({}, optional=_MAYBE)),
    }
    habit = draw(st.integers(0, 4))
    if habit == 0:
        load["hours_per_day"] = draw(_finite(0.1, 24))
    elif habit == 1:
        load["from"], load["until"] = draw(_CLOCKS), draw(_SUNS)
        load["duty"] = draw(st.one_of(_finite(0.01, 1), _TWELVE))
    elif habit == 2:
        load["minutes_per_use"] = draw(_finite(1, 200))
        load["uses_per_week"] = draw(_finite(0.1, 7))
    elif habit == 3:
        load["bursts"] = {"per_night": draw(_finite(0.1, 20)), "minutes": draw(_finite(0.1, 60))}
    else:
        load["hours_per_day"] = draw(_finite(0.1, 24))
        rule = draw(st.sampled_from(["sun to spare", "battery above 72.5 %"]))
        load["can_wait"] = {"days": draw(_finite(0.1, 60)), "rule": rule}
    return load


_ARRAYS = st.fixed_dictionaries(
    {},
    optional={
        "count": st.integers(1, 20),
        "tilt": st.one_of(st.sampled_from(BEST), _finite(0, 90)),
        "azimuth": st.one_of(st.sampled_from(BEST), _finite(0, 360)),
        "part": _NAMES,
        "mounting": st.sampled_from(["roof", "wall"]),
    },
)
_BATTERIES = st.fixed_dictionaries(
    {
        "chemistry": st.sampled_from(["agm", "lifepo4"]),
        "nominal": st.just(12.0),
        "capacity": _finite(1, 1000),
    },
    optional={
        "name": _NAMES,
        "other_capacities": st.dictionaries(st.sampled_from(["5", "10"]), _finite(1, 500)),
        "owned": st.one_of(st.booleans(), st.integers(0, 3)),
        "price": _finite(0, 1e4),
    },
)


@st.composite
def _designs(draw: st.DrawFn) -> dict[str, Any]:
    names = draw(st.lists(_NAMES, min_size=1, max_size=4, unique_by=lambda n: n.strip().casefold()))
    tables: dict[str, st.SearchStrategy[Any]] = {
        "array": st.lists(_ARRAYS, max_size=3),
        "battery": _BATTERIES,
        "promise": st.fixed_dictionaries({}, optional={"may": _finite(0, 8760)}),
        "money": st.fixed_dictionaries(
            {"years": _finite(1, 40)}, optional={"prices": st.dictionaries(_NAMES, _finite(0, 1e4))}
        ),
        "wiring": st.fixed_dictionaries(
            {"runs": st.dictionaries(st.sampled_from(["array", *names]), _finite(0.1, 500))}
        ),
        "notes": st.text(max_size=60),
        "seed": st.integers(0, 2**31 - 1),
    }
    site: dict[str, Any] = {
        "latitude": draw(_finite(-90, 90)),
        "longitude": draw(_finite(-180, 180)),
    }
    if draw(st.booleans()):
        site["albedo"] = draw(_TWELVE)
        site["horizon"] = draw(st.lists(st.tuples(_finite(0, 360), _finite(0, 90)), max_size=4))
    return {
        "name": draw(_NAMES),
        "site": site,
        "load": [draw(_loads(name)) for name in names],
        **draw(st.fixed_dictionaries({}, optional=tables)),
    }


@pytest.mark.conservation
@settings(max_examples=150, deadline=None)
@given(_designs())
def test_any_design_reads_back_equal(raw: dict[str, Any]) -> None:
    design = design_from(raw)
    assert parse_design(write_design(design)) == design
    assert design_from(json.loads(json.dumps(design_document(design)))) == design


_JUNK = st.recursive(
    st.one_of(
        st.none(),
        st.booleans(),
        st.integers(-(10**20), 10**20),
        st.floats(),
        st.text(max_size=12),
        st.sampled_from(["8 W", "12 V", "dusk", "none", "-1 m", "1e400 W", "mains", "1 s"]),
    ),
    lambda inner: st.one_of(
        st.lists(inner, max_size=4),
        st.dictionaries(st.sampled_from(_KEYS) | st.text(max_size=6), inner, max_size=4),
    ),
    max_leaves=8,
)


@pytest.mark.conservation
@settings(max_examples=400, deadline=None)
@given(raw=_designs(), data=st.data())
def test_a_spoilt_document_is_told_or_read_but_never_breaks(
    raw: dict[str, Any], data: st.DataObject
) -> None:
    """Whatever stands where, the answer is a design or problems in words."""
    spots: list[tuple[Any, Any]] = [(raw, key) for key in (*raw, *_KEYS[:4])]
    for value in raw.values():
        rows = value if isinstance(value, list) else [value]
        for row in rows:
            if isinstance(row, dict):
                spots += [(row, key) for key in (*row, *_KEYS)]
    for _ in range(data.draw(st.integers(1, 3))):
        table, key = data.draw(st.sampled_from(spots))
        table[key] = data.draw(_JUNK)
    problems: tuple[Problem, ...] = ()
    try:
        design: Design | None = design_from(raw)
    except InputError as error:
        design, problems = None, error.problems
    if design is not None:
        assert parse_design(write_design(design)) == design
    assert (design is None) == bool(problems)
    assert all(problem.where and problem.allowed for problem in problems)
