"""In which order things are connected, and why."""

from __future__ import annotations

from sunpantry.phrases import phrase
from sunpantry.wiring.graph import Circuit


def connection_steps(circuit: Circuit) -> tuple[str, ...]:
    """Order of connection, and of taking apart.

    Parameters
    ----------
    circuit : Circuit
        The system.

    Returns
    -------
    tuple of str
        One sentence or two a step.
    """
    if not circuit.of_kind("battery"):
        return _without_battery(circuit)
    has_sun = bool(circuit.of_kind("string"))
    steps: list[str] = []
    if has_sun:
        steps.append(
            phrase(
                "Cover the panels or leave their plugs apart, all switches open: in daylight a "
                "panel is live."
            )
        )
    steps += [
        phrase(
            "Leave every fuse out. Fix all cables, tighten as the maker states, check + and − at "
            "each end with a meter."
        ),
        _battery_step(circuit),
    ]
    if circuit.of_kind("load"):
        steps.append(
            phrase("Then the loads, one fuse at a time; the inverter last of them.")
            if circuit.of_kind("inverter")
            else phrase("Then the loads, one fuse at a time.")
        )
    if circuit.of_kind("transfer"):
        steps.append(
            phrase(
                "The transfer switch and its mains side: by a licensed electrician, never by you."
            )
        )
    if has_sun:
        steps.append(
            phrase("Then the panels: check the polarity at their switch, close it.")
            if circuit.of_role("array")
            else phrase("Then the panels.")
        )
    if circuit.direct_pumps():
        steps.append(
            phrase("A pump on panels of its own: pump first, then its panels; last its switch.")
        )
    steps.append(phrase("To take apart: the same backwards, panels first, battery last."))
    return tuple(steps)


def _battery_step(circuit: Circuit) -> str:
    if circuit.of_kind("controller"):
        return phrase(
            "Battery to the controller first: put in the main fuse. The controller must see the "
            "battery before the panels."
        )
    return phrase("Battery first: put in the main fuse.")


def _without_battery(circuit: Circuit) -> tuple[str, ...]:
    if circuit.direct_pumps():
        return (
            phrase(
                "Cover the panels or leave their plugs apart, the switch open: in daylight a "
                "panel is live."
            ),
            phrase("Fix the cable, check + and − at both ends with a meter."),
            phrase("Join the pump or its controller first, then plug the panels in."),
            phrase("Water before the pump, then close the switch. To take apart: backwards."),
        )
    if not circuit.of_kind("power_bank"):
        return (
            phrase("Plug the load into the panel's socket."),
            phrase("Turn the panel to the sun."),
        )
    return (
        phrase("Plug the panel into the power bank."),
        phrase("Plug the loads into the power bank."),
    )
