"""What a system costs over its years."""

from __future__ import annotations

import pytest

from sunpantry.design.promise import Backup
from sunpantry.parts.catalogue import shipped_catalogue
from sunpantry.parts.system import Array, Bank, System
from sunpantry.sizing.cost import Pricing

PARTS = shipped_catalogue()
PANEL = PARTS.panel("100 W panel, 36 cells").model_copy(update={"price": 100.0})
BATTERY = PARTS.battery("12 V 100 Ah AGM").model_copy(update={"price": 600.0})
CONTROLLER = PARTS.controller("PWM 20 A, 12/24 V").model_copy(update={"price": 50.0})


def system(*, panels_owned: int = 0, batteries_owned: int = 0) -> System:
    """Two panels, one battery, one controller."""
    return System(
        bank_v=12.0,
        arrays=(Array(PANEL, 1, 2, (60.0,) * 12, 180.0, owned=panels_owned),),
        bank=Bank(BATTERY, 1, 1, owned=batteries_owned),
        controller=CONTROLLER,
    )


@pytest.mark.published
def test_batteries_bought_again_are_discounted() -> None:
    """600 at years 5, 10 and 15 at 8 % over 20 years: 875.41 (check value EC7 of the sheet,
    computed with numpy-financial)."""
    pricing = Pricing(years=20.0, rate=0.08)
    cost = pricing.cost(system(), life_years=5.0)
    assert cost.replaced_after_years == (5.0, 10.0, 15.0)
    assert cost.replacements == pytest.approx(875.41, abs=0.005)
    assert cost.purchase == pytest.approx(2 * 100.0 + 600.0 + 50.0)
    assert cost.total == pytest.approx(cost.purchase + cost.replacements)


@pytest.mark.analytic
def test_parts_already_there_cost_nothing_now() -> None:
    """Owned parts are free; the batteries that follow an owned one are not."""
    pricing = Pricing(years=10.0, rate=0.0)
    cost = pricing.cost(system(panels_owned=1, batteries_owned=1), life_years=4.0)
    assert cost.purchase == pytest.approx(100.0 + 50.0)
    assert cost.replacements == pytest.approx(2 * 600.0)


@pytest.mark.analytic
def test_own_prices_go_before_those_of_the_list() -> None:
    """By the name of the part, capitals aside; a part without a price is named."""
    pricing = Pricing(prices={BATTERY.name.casefold(): 1.0})
    assert pricing.cost(system(), life_years=30.0).purchase == pytest.approx(200.0 + 1.0 + 50.0)
    free = BATTERY.model_copy(update={"price": None, "name": "found in a barn"})
    unknown = System(12.0, system().arrays, Bank(free, 1, 1), CONTROLLER)
    assert pricing.cost(unknown, life_years=30.0).unpriced == ("found in a barn",)


@pytest.mark.analytic
def test_longer_life_never_costs_more() -> None:
    """The bound on cost rests on this: the dearest life is the shortest."""
    pricing = Pricing(years=15.0, rate=0.03)
    costs = [pricing.battery_again(BATTERY, 2, years / 4) for years in range(4, 100)]
    assert costs == sorted(costs, reverse=True)


@pytest.mark.analytic
def test_running_cost_of_a_second_source() -> None:
    """100 kWh a year by half a litre each at 2 a litre, ten years without interest: 1000."""
    backup = Backup(
        kind="generator",
        fuel_l_per_kwh=0.5,
        fuel_price=2.0,
        price=300.0,
        charger_efficiency_pct=100.0,
    )
    pricing = Pricing(years=10.0, rate=0.0, backup=backup)
    cost = pricing.cost(system(), life_years=30.0, backup_wh_per_year=100_000.0)
    assert cost.running == pytest.approx(1000.0)
    assert cost.purchase == pytest.approx(850.0 + 300.0)
