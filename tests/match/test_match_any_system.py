"""Any system, any pair: no rule stumbles, the quick answer is the full one, remedies cure."""

from __future__ import annotations

import math
from collections.abc import Callable
from typing import Any

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from sunpantry.design.document import parse_design, write_design
from sunpantry.design.keys import human_key
from sunpantry.design.nameplates import AnyNameplate
from sunpantry.errors import InputError
from sunpantry.figures import Figure
from sunpantry.match.asked import all_asked, asked_by_design, asked_by_name
from sunpantry.match.case import Case, Choices, Joined, LoadFacts, ProofFacts
from sunpantry.match.finding import Finding, Need, Severity
from sunpantry.match.offers import meets, offers
from sunpantry.match.pair import match_asked, match_parts
from sunpantry.match.rules import RULES, check, is_sound, may_combine
from sunpantry.parts.catalogue import shipped_catalogue
from sunpantry.parts.system import Array, Bank, System

PARTS = shipped_catalogue()
BY_SLUG = {rule.slug: rule for rule in RULES}
Build = Callable[..., Case]
SHARES = st.floats(0.0, 1.0)


@st.composite
def panels(draw: st.DrawFn) -> Any:
    """A panel of the list, or one with an odd label."""
    panel = draw(st.sampled_from(PARTS.panels))
    if draw(st.booleans()):
        return panel
    odd = {
        key: getattr(panel, key) * draw(st.floats(0.2, 4.0))
        for key in ("voc_v", "vmp_v", "isc_a", "imp_a", "power_w")
    }
    return panel.model_copy(update=odd)


@st.composite
def systems(draw: st.DrawFn) -> System:
    """Any parts, wired anyhow."""
    arrays = tuple(
        Array(
            draw(panels()),
            draw(st.integers(1, 6)),
            draw(st.integers(1, 6)),
            (draw(st.floats(0.0, 90.0)),) * 12,
            draw(st.floats(0.0, 360.0)),
            owned=draw(st.integers(0, 3)),
        )
        for _ in range(draw(st.integers(0, 3)))
    )
    bank = None
    if draw(st.integers(0, 9)):
        bank = Bank(
            draw(st.sampled_from(PARTS.batteries)),
            draw(st.integers(1, 24)),
            draw(st.integers(1, 6)),
            housing=draw(st.sampled_from(["shed", "house", "buried", "outdoors"])),
            owned=draw(st.integers(0, 2)),
        )
    return System(
        draw(st.sampled_from([5.0, 12.0, 24.0, 48.0])),
        arrays,
        bank,
        draw(st.sampled_from([None, *PARTS.controllers])),
        draw(st.sampled_from([None, *PARTS.inverters])),
        tuple(draw(st.lists(st.sampled_from(PARTS.converters), max_size=3))),
        controller_count=draw(st.integers(1, 3)),
    )


LOADS = st.lists(
    st.builds(
        LoadFacts,
        name=st.sampled_from(["Lamp", "Fridge", "Pump", "Radio"]),
        supply=st.sampled_from(["5 V", "12 V", "24 V", "48 V", "mains"]),
        power_w=st.floats(0.0, 4000.0),
        surge_w=st.none() | st.floats(0.0, 9000.0),
        kind=st.sampled_from(["light", "motor", "electronics", "heater", "other"]),
        plug=st.sampled_from(["wired", "vehicle socket"]),
        quantity=st.integers(1, 5),
        energy_wh_day=st.sampled_from([(), (0.0,) * 12, (300.0,) * 12]),
    ),
    max_size=4,
    unique_by=lambda load: load.name,
)
PROOFS = st.none() | st.builds(
    ProofFacts,
    lowest_soc=st.none() | SHARES,
    coldest_battery_c=st.none() | st.floats(-45.0, 30.0),
    coldest_below=st.lists(st.tuples(SHARES, st.floats(-45.0, 30.0)), max_size=4).map(tuple),
    full_days_by_month=st.sampled_from([(), (0.0,) * 12, (20.0,) * 12]),
    hours_below_40_per_year=st.none() | st.floats(0.0, 8760.0),
    typical_depth=st.none() | SHARES,
    refused_cold_h_per_year=st.none() | st.floats(0.0, 8760.0),
    idle_share=st.none() | SHARES,
    clipped_share=st.none() | SHARES,
    clipped_when_wanted=st.none() | SHARES,
    spilled_share=st.none() | SHARES,
)
CASES = st.builds(
    Case,
    system=systems(),
    coldest_c=st.floats(-45.0, 20.0),
    never_colder_c=st.none() | st.floats(-60.0, 10.0),
    hottest_cell_c=st.floats(40.0, 90.0),
    loads=LOADS.map(tuple),
    mains_v=st.sampled_from([120.0, 230.0]),
    peaks_w=st.sampled_from([(), (("mains", 500.0), ("12 V", 100.0))]),
    choices=st.builds(
        Choices,
        mounting=st.sampled_from([("ground",), ("roof", "carried")]),
        inverter_fed_from=st.sampled_from(["battery", "load output"]),
        inverter_off_when_idle=st.booleans(),
        loads_fed_from=st.sampled_from(["either", "load output", "battery"]),
        feeds_house_wiring=st.booleans(),
        backup=st.sampled_from([None, "generator", "mains", "carried_battery"]),
        backup_transfers=st.booleans(),
        vent_opening_cm2=st.none() | st.floats(0.0, 500.0),
        by_electrician=st.booleans(),
    ),
    proof=PROOFS,
    joined=st.builds(
        Joined,
        panels=st.lists(st.sampled_from(PARTS.panels), max_size=1).map(tuple),
        batteries=st.lists(st.sampled_from(PARTS.batteries), max_size=2).map(tuple),
        how=st.sampled_from(["series", "parallel"]),
    ),
    whole=st.booleans(),
)
USUAL = settings(
    deadline=None, suppress_health_check=[HealthCheck.too_slow, HealthCheck.data_too_large]
)


def is_well_told(found: Finding) -> bool:
    """A whole sentence, with finite figures whose inputs stand beside them."""
    finite = all(math.isfinite(figure.value) for figure in found.figures)
    return (
        found.sentence[-1] == "."
        and not {"nan", "inf", "None"} & set(found.sentence.replace(",", " ").split())
        and bool(found.source)
        and finite
        and all(figure.inputs and figure.source for figure in found.figures)
    )


@pytest.mark.conservation
@settings(USUAL, max_examples=150)
@given(CASES)
def test_no_rule_stumbles_and_the_quick_answer_agrees(case: Case) -> None:
    """On any case every rule answers in whole sentences, and ``breaks`` foretells hard ones."""
    for rule in RULES:
        said = list(rule.say(case))
        assert all(is_well_told(one) for one in rule.check(case)), rule.slug
        assert all(one.severity >= rule.worst for one in said), rule.slug
        hard = any(one.severity.is_hard for one in said)
        assert hard == (rule.breaks is not None and rule.breaks(case)), rule.slug


@pytest.mark.conservation
@settings(USUAL, max_examples=15)
@given(CASES)
def test_remedies_cure_on_any_system(case: Case) -> None:
    """Each remedy that is named removes its finding, and figures of one name are one figure."""
    figures: dict[str, Figure] = {}
    for found in check(case):
        for figure in found.figures:
            assert figures.setdefault(figure.name, figure) == figure
        if found.remedy is not None:
            assert BY_SLUG[found.rule].cured(found, found.remedy.case)
            assert found.remedy.sentence.endswith(".")


@pytest.mark.conservation
@settings(USUAL, max_examples=60)
@given(st.data())
def test_any_pair_is_answered(data: st.DataObject) -> None:
    """Two or three parts of any kinds get an answer that begins with the worst."""
    everything = [
        part
        for role in ("panel", "battery", "controller", "inverter", "converter")
        for part in PARTS.of(role)
    ]
    parts = data.draw(st.lists(st.sampled_from(everything), min_size=2, max_size=3))
    found = match_parts(parts, coldest_c=data.draw(st.floats(-30.0, 10.0)))
    assert [one.severity for one in found] == sorted(one.severity for one in found)
    assert sum(one.rule == "wiring" for one in found) >= 1


def named(*names: str) -> list[AnyNameplate]:
    """Parts by their names."""
    return [PARTS.find(name)[1] for name in names]


# What the trade knows of pairs: common practice, no source.
PAIRS = (
    (("285 W panel, 60 cells", "PWM 10 A, 12/24 V", "12 V 60 Ah gel"), "pwm-waste", 2),
    (("PWM 5 A, 12 V", "12.8 V 100 Ah LiFePO4"), "chemistry-setting", 0),
    (("12 V 60 Ah gel", "12.8 V 100 Ah LiFePO4"), "unlike-batteries", 0),
    (("5 W travel panel, 5 V", "PWM 5 A, 12 V"), "array-charges-in-heat", 1),
    (("5 W travel panel, 5 V", "12 V 7 Ah sealed lead-acid (AGM)"), "array-charges-in-heat", 1),
    (("100 W panel, 36 cells", "power bank, 10 Ah"), "charge-controller-missing", 0),
    (("24 V to 12 V, 60 W", "12 V 60 Ah gel"), "converter-input", 1),
    (("1000 W sine, 24 V", "12 V 60 Ah gel"), "inverter-input-voltage", 1),
    (("450 W half-cut panel, 72 cells", "PWM 20 A, 12/24 V"), "array-voltage-in-frost", 0),
)


@pytest.mark.regression
@pytest.mark.parametrize(("names", "slug", "severity"), PAIRS)
def test_known_misfits(names: tuple[str, ...], slug: str, severity: int) -> None:
    """Pairs that are known not to go together are told so."""
    found = match_parts(named(*names))
    assert (slug, severity) in {(one.rule, int(one.severity)) for one in found}


@pytest.mark.regression
def test_parts_are_wired_in_the_best_way() -> None:
    """Four 60-cell panels on a 100 V controller: two in series, never four."""
    names = ["285 W panel, 60 cells"] * 4
    found = match_parts(named(*names, "MPPT 50 A, 12/24 V, 100 V", "25.6 V 100 Ah LiFePO4"))
    assert not any(one.severity.is_hard for one in found)
    (wiring,) = (one for one in found if one.rule == "wiring")
    assert (
        "24 V bank (from the batteries): 4 panels, 2 in series and 2 side by side"
        in wiring.sentence
    )


@pytest.mark.regression
def test_one_part_alone_is_refused() -> None:
    """Nothing to match is an error that says what to do."""
    with pytest.raises(InputError, match="at least two parts"):
        match_parts(named("PWM 5 A, 12 V"))
    with pytest.raises(InputError, match="loads only"):
        match_asked(all_asked([asked_by_name("fridge"), asked_by_name("laptop")]))
    with pytest.raises(InputError, match='did you mean "fridge"'):
        asked_by_name("fridg")


def told(*names: str) -> dict[str, Finding]:
    """What is said of parts and loads by their names, the worst of each rule."""
    found = match_asked(all_asked([asked_by_name(name) for name in names]))
    return {one.rule: one for one in reversed(found)}


@pytest.mark.regression
def test_a_part_and_a_load() -> None:
    """An inverter and what is to run from it, by the names of the two lists."""
    fits = told("600 W sine, 12 V", "fridge")
    assert not any(one.severity.is_hard for one in fits.values())
    assert "12 V bank (assumed from these parts)" in fits["wiring"].sentence
    small = told("300 W sine, 12 V", "washing machine, cold wash")
    assert small["inverter-surge"].severity is Severity.WILL_NOT_WORK
    rough = told("1500 W modified sine, 12 V", "fridge")
    assert rough["modified-sine"].severity is Severity.WILL_NOT_WORK
    nothing = told("100 W panel, 36 cells", "fridge")
    assert nothing["supply-missing"].severity is Severity.WORTH_KNOWING
    assert "assumed, because no part tells" in nothing["wiring"].sentence
    twice = match_asked(
        all_asked([asked_by_name("600 W sine, 12 V"), *[asked_by_name("fridge")] * 2])
    )
    assert any("fridge 2" in figure.inputs[-1].name for one in twice for figure in one.figures)


SITED = """\
schema = 1

[site]
latitude = 60.0
longitude = 25.0

[[load]]
name = "Freezer"
like = "chest freezer"
"""
WIRED = """
[[array]]
part = "285 W panel, 60 cells"
count = 3
series = 3
"""


@pytest.mark.regression
def test_a_design_with_loads_only_and_a_part() -> None:
    """Loads of a document against an inverter; the cold is that of its place."""
    asked = asked_by_design(parse_design(SITED))
    assert not asked.parts
    assert asked.coldest_c is not None
    assert asked.coldest_c < -15.0
    found = match_asked(all_asked([asked_by_name("300 W sine, 12 V"), asked]))
    assert any(one.rule == "inverter-surge" and one.severity.is_hard for one in found)


@pytest.mark.regression
def test_a_design_tells_the_opening_of_the_battery_box() -> None:
    """`vent_opening` of the document reaches the rule of the air, and comes back in writing."""
    text = SITED + '[battery]\npart = "12 V 110 Ah flooded leisure"\nhousing = "house"\ncount = 1\n'
    closed, opened = (
        match_asked(all_asked([asked_by_name("PWM 20 A, 12/24 V"), asked_by_design(each)]))
        for each in (parse_design(text), parse_design(text + 'vent_opening = "25 cm²"\n'))
    )
    said = [
        next(one for one in found if one.rule == "ventilation").severity
        for found in (closed, opened)
    ]
    assert said == [Severity.DANGER, Severity.FINE]
    again = write_design(parse_design(text + 'vent_opening = "25 cm²"\n'))
    assert 'vent_opening = "25 cm²"' in again


@pytest.mark.regression
def test_wiring_of_a_design_stays() -> None:
    """Three panels in series that a document fixes are not quietly put side by side."""
    asked = asked_by_design(parse_design(SITED + WIRED))
    found = match_asked(all_asked([asked_by_name("MPPT 30 A, 12/24 V, 100 V"), asked]))
    assert found[0].rule == "array-voltage-in-frost"
    assert found[0].severity is Severity.DANGER
    free = match_parts(named(*["285 W panel, 60 cells"] * 3, "MPPT 30 A, 12/24 V, 100 V"))
    assert not any(one.severity.is_hard for one in free)


@pytest.mark.regression
def test_remedy_leads_to_a_part_of_the_list() -> None:
    """A PWM controller on LiFePO4: the cheapest on the list with such a setting is found."""
    (found,) = (
        one
        for one in match_parts(named("PWM 5 A, 12 V", "12.8 V 100 Ah LiFePO4"))
        if one.rule == "chemistry-setting"
    )
    assert found.remedy is not None
    fitting = offers(found.remedy, PARTS)
    assert fitting
    assert all("lifepo4" in getattr(part, "chemistries", ()) for part in fitting)
    prices = [part.price or 0.0 for part in fitting]
    assert prices == sorted(prices)


@pytest.mark.analytic
@pytest.mark.parametrize(
    ("need", "fits"),
    [
        (Need("controller", "rated_a", "at least", 10.0), True),
        (Need("controller", "rated_a", "at least", 10.1), False),
        (Need("controller", "rated_a", "at most", 10.0), True),
        (Need("controller", "rated_a", "at most", 9.9), False),
        (Need("controller", "absorption_v", "about", 14.5), True),
        (Need("controller", "absorption_v", "about", 15.5), False),
        (Need("controller", "kind", "is", "pwm"), True),
        (Need("controller", "kind", "is", "mppt"), False),
        (Need("controller", "bank_voltages", "is", 24.0), False),
        (Need("controller", "max_pv_isc_a", "at least", 5.0), False),
    ],
)
def test_needs_are_read_off_the_label(build: Build, need: Need, fits: bool) -> None:
    """At least, at most, about, just so, among; a figure the label lacks does not fit."""
    controller = build().system.controller
    assert controller is not None
    assert meets(controller, need) is fits
    assert human_key(need.field)


@pytest.mark.regression
def test_quick_answer_agrees_with_the_rules(build: Build) -> None:
    """The search asks it of thousands of systems; how fast it is stands in ``benchmarks``."""
    lamp = LoadFacts("Lamp", "12 V", 8.0)
    system = build(inverter={}, converters=[{}], wiring=(1, 1)).system
    assert may_combine(system, coldest_c=-10.0, loads=(lamp,))
    assert is_sound(Case(system, coldest_c=-10.0, loads=(lamp,)))
    assert Severity.DANGER.is_hard
