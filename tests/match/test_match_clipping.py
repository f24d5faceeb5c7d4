"""What a controller's limit really cuts off, from the simulated winters."""

from __future__ import annotations

import pytest

from sunpantry.design.document import parse_design
from sunpantry.match.array_current import over_panelled
from sunpantry.match.finding import Severity
from sunpantry.parts.catalogue import shipped_catalogue
from sunpantry.plan.make import searcher_of
from sunpantry.plan.questions import question_of
from sunpantry.plan.suiting import case_of, proof_facts
from sunpantry.simulate.proof import Proof, prove
from sunpantry.simulate.setting import Setting

NEVER_H = (0.0, 0.0, 0.0)
# Two 285 W panels offer about 40 A to a 12 V bank.
DESIGN = """\
schema = 1
winters = 3

[site]
latitude = 54.1
longitude = -9.2
altitude = "30 m"

[[load]]
name = "Load"
power = "{load_w} W"
supply = "12 V"
hours_per_day = 24
importance = "must"

[[array]]
part = "285 W panel, 60 cells"
count = 2
series = 1
tilt = "65°"
azimuth = "south"

[battery]
part = "12.8 V 100 Ah LiFePO4"
count = 4
parallel = 4

[controller]
part = "{controller}"
count = 1
"""


def proven(load_w: float, controller: str) -> tuple[Setting, Proof, Severity, float, float]:
    """Setting, proof, what the rule says, and the two shares that are cut off."""
    assert shipped_catalogue().find(controller)
    text = DESIGN.format(load_w=load_w, controller=controller)
    question = question_of(parse_design(text))
    space = searcher_of(question).space
    system = space.system(next(iter(space)))
    proof = prove(question.setting, system, promise_h=NEVER_H)
    facts = proof_facts(question.setting, system, proof)
    (said,) = over_panelled.say(case_of(question.design, question.setting, system, proof=proof))
    assert facts.clipped_share is not None
    assert facts.clipped_when_wanted is not None
    return (
        question.setting,
        proof,
        said.severity,
        facts.clipped_share,
        facts.clipped_when_wanted,
    )


@pytest.mark.conservation
def test_cut_off_energy_is_what_a_larger_controller_gathers_more() -> None:
    """On a bank that never fills, the share cut off is the energy a larger controller brings."""
    _, small, severity, cut, wanted = proven(400.0, "MPPT 20 A, 12/24 V, 100 V")
    _, large, fine, none, _ = proven(400.0, "MPPT 50 A, 12/24 V, 100 V")
    offered = small.audit.gathered_wh + small.audit.spilled_wh
    more = (large.audit.gathered_wh - small.audit.gathered_wh) / offered
    assert none == 0.0
    assert fine is Severity.FINE
    assert wanted == pytest.approx(cut)  # every day is a day on which it does not get full
    assert cut > 0.05
    assert severity is Severity.WILL_DISAPPOINT
    # The bank stands at slightly other volts with the larger controller.
    assert more == pytest.approx(cut, rel=0.02)


@pytest.mark.conservation
def test_nothing_is_lost_where_the_bank_fills_anyway() -> None:
    """With a small load almost every bright day fills the bank: cut off, but not missed."""
    _, _, severity, cut, wanted = proven(5.0, "MPPT 20 A, 12/24 V, 100 V")
    assert cut > 0.05
    assert wanted < 0.05
    assert severity is Severity.WORTH_KNOWING
