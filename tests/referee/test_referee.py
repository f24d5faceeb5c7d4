"""The compiled kernel against a simulation written a second time, from docs/model.md."""

from __future__ import annotations

from dataclasses import replace

import pytest
from tests.referee.cold_and_starts import more_cases
from tests.referee.compare import MOST_TURNED, Sides, both
from tests.referee.designs import Case, cases
from tests.referee.told import Account

from sunpantry.parts.system import System
from sunpantry.simulate import layout as at

# Half a percent, of the capacity and of the energy asked for: what the project promises.
TOLERANCE = 0.005
# Energy that appears from nowhere, relative to what was gathered: rounding only.
ROUNDING = 1e-9

CASES = (*cases(), *more_cases())
WHOLE_YEAR = [case for case in CASES if case.days == 365]


def _name(case: Case) -> str:
    return case.name


@pytest.mark.independent
@pytest.mark.parametrize("case", CASES, ids=_name)
def test_charge_and_shortfall_agree(case: Case) -> None:
    """State of charge in every step, and what was asked for and not delivered."""
    sides = both(case)
    assert sides.charge_apart.max() <= TOLERANCE
    asked_wh = sides.told.account.asked
    assert asked_wh > 0.0
    apart_wh = abs(sides.referee_unserved_wh - sides.kernel_unserved_wh)
    assert apart_wh <= TOLERANCE * asked_wh
    assert len(sides.turned) < MOST_TURNED


@pytest.mark.independent
@pytest.mark.parametrize("case", WHOLE_YEAR, ids=_name)
def test_accounts_agree(case: Case) -> None:
    """Every entry of the energy audit, jobs given up, and hours of the second source."""
    sides = both(case)
    account, totals = sides.told.account, sides.runs.totals[0]
    entries = (
        (account.offered, totals[at.T_OFFERED]),
        (account.gathered, totals[at.T_GATHERED]),
        (account.conversion, totals[at.T_CONVERSION]),
        (account.own, totals[at.T_OWN]),
        (account.served, totals[at.T_SERVED : at.T_SERVED + at.CLASSES].sum()),
        (account.inverter, totals[at.T_INVERTER]),
        (account.ohmic, totals[at.T_OHMIC]),
        (account.side, totals[at.T_COULOMBIC]),
        (account.gas, totals[at.T_GAS]),
        (account.leak, totals[at.T_LEAK]),
        (account.backup, totals[at.T_BACKUP]),
    )
    for mine, theirs in entries:
        assert mine == pytest.approx(float(theirs), rel=TOLERANCE, abs=1e-3)
    jobs_wh = sides.runs.missed_wh[0, : len(sides.told.missed_wh)]
    assert sides.told.missed_wh == pytest.approx(jobs_wh.tolist(), rel=TOLERANCE)
    backup_h = float(sides.runs.yearly[0, :, at.Y_BACKUP_H].sum())
    assert sides.told.backup_h == pytest.approx(backup_h, rel=TOLERANCE)


def _stored_wh(sides: Sides) -> float:
    """What the bank gained, from the kernel's capacity and the referee's charge."""
    if sides.case.system.bank is None:
        return 0.0
    return float(sides.runs.totals[0, at.T_STORED_FIRST]) * (sides.told.filled[-1] - 1.0)


def _spent_wh(account: Account) -> float:
    return (
        account.conversion
        + account.own
        + account.served
        + account.inverter
        + account.ohmic
        + account.side
        + account.gas
        + account.leak
    )


@pytest.mark.conservation
@pytest.mark.parametrize("case", CASES, ids=_name)
def test_the_referee_keeps_its_own_books(case: Case) -> None:
    """What came in was spent or stored; a referee that lost energy would be no judge.

    The capacity is the kernel's own, fitted separately: it agrees to one part in a million.
    """
    sides = both(case)
    account = sides.told.account
    brought_wh = account.gathered + account.backup
    stored_wh = _stored_wh(sides)
    slack_wh = ROUNDING * brought_wh + 1e-6 * abs(stored_wh)
    assert brought_wh - _spent_wh(account) - stored_wh == pytest.approx(0.0, abs=slack_wh)


@pytest.mark.independent
def test_a_slightly_smaller_bank_is_noticed() -> None:
    """The comparison sees a change of two percent in the capacity: it can fail."""
    case = next(one for one in CASES if one.name == "lamp, AGM, PWM")
    smaller = both(replace(case, capacity_left=0.98))
    honest = both(case)
    other = Sides(case, smaller.told, honest.runs, honest.steps)
    assert other.charge_apart.max() > TOLERANCE


@pytest.mark.independent
def test_the_designs_are_varied() -> None:
    """Forty or more, with every chemistry, controller and supply among them."""
    assert len(CASES) >= 40
    assert len({case.name for case in CASES}) == len(CASES)
    banks = {_chemistry(case.system) for case in CASES}
    assert banks == {"flooded", "agm", "gel", "lifepo4", "power_bank", "none"}
    controllers = {
        "none" if case.system.controller is None else case.system.controller.kind for case in CASES
    }
    assert controllers == {"pwm", "mppt", "none"}
    loads = "".join(case.loads for case in CASES)
    assert all(
        f'supply = "{supply}"' in loads for supply in ("5 V", "12 V", "24 V", "48 V", "mains")
    )
    assert any(case.capacity_left < 1.0 for case in CASES)
    assert any(case.source_w > 0.0 for case in CASES)
    assert any(len(case.system.arrays) > 1 for case in CASES)
    assert any(both(case).told.disconnects > 0 for case in CASES)
    assert sum(both(case).told.trips > 0 for case in CASES) >= 2
    assert sum(both(case).told.start_trips > 0 for case in CASES) >= 2
    assert sum(both(case).told.refused > 0 for case in CASES) >= 2


def _chemistry(system: System) -> str:
    return "none" if system.bank is None else system.bank.battery.chemistry
