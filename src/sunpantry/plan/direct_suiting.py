"""What the matching rules say of panels that a pump hangs on straight."""

from __future__ import annotations

from collections.abc import Sequence

from sunpantry.design.models import Design
from sunpantry.match.array_voltage import extra_low_voltage, panel_system_voltage
from sunpantry.match.finding import Finding
from sunpantry.match.place_rules import wind_on_panels
from sunpantry.plan.direct_pump import DirectPump
from sunpantry.plan.pump_proof import system_of_pumps
from sunpantry.plan.suiting import case_of
from sunpantry.simulate.setting import Setting

# The other rules ask about a controller, a battery or an inverter, and there is none here.
RULES_OF_PANELS = (panel_system_voltage, extra_low_voltage, wind_on_panels)


def direct_findings(
    design: Design, setting: Setting, direct: Sequence[DirectPump]
) -> tuple[Finding, ...]:
    """Put the rules of panels to every pump that hangs straight on them.

    Parameters
    ----------
    design : Design
        The document, with what it says of mounting.
    setting : Setting
        Sky and climate.
    direct : sequence of DirectPump
        The pumps, with their panels.

    Returns
    -------
    tuple of Finding
        The worst first; empty without such pumps.
    """
    if not direct:
        return ()
    case = case_of(design, setting, system_of_pumps(direct))
    found = [finding for rule in RULES_OF_PANELS for finding in rule.check(case)]
    return tuple(sorted(found, key=lambda one: one.severity))
