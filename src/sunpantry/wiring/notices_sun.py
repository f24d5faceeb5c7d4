"""Notices on the side of the panels."""

from __future__ import annotations

from collections.abc import Sequence

from sunpantry.phrases import phrase
from sunpantry.physics.safe_voltage import dc_band
from sunpantry.wiring.cables import Run
from sunpantry.wiring.graph import Circuit
from sunpantry.wiring.notice import LOCAL, Notice, label, terminal, warning


def sun_notices(sun: Sequence[Run]) -> list[Notice]:
    """What is live whenever there is light.

    Parameters
    ----------
    sun : sequence of Run
        Cables of the array.
    """
    found = []
    for run in sun:
        duty = run.cable.duty
        if run.cable.role != "array" or duty is None:
            continue
        where, volts = run.cable.id, duty.highest_v
        band = dc_band(volts)
        found.append(
            label(
                where,
                phrase(
                    "Solar cable: live whenever there is light, up to {volts:.0f} V.", volts=volts
                ),
            )
        )
        if band in ("extra-low", "low"):
            found.append(
                warning(
                    where,
                    phrase(
                        "On a cold morning this cable reaches {volts:.0f} V, above 60 V: do not "
                        "touch bare ends, use double-insulated solar cable and closed boxes.",
                        volts=volts,
                    ),
                )
            )
        if band == "low":
            found.append(
                Notice(
                    "local rule",
                    where,
                    phrase(
                        "Above 120 V direct current is low voltage, no longer extra-low. "
                        "{local} who may install it.",
                        local=LOCAL,
                    ),
                )
            )
        found.append(
            warning(
                where,
                phrase(
                    "A direct-current arc does not go out by itself: never pull a plug or open "
                    "a fuse holder under load; open the DC switch first."
                ),
            )
        )
    return found


def plug_notices(circuit: Circuit, sun: Sequence[Run]) -> list[Notice]:
    """Connectors, and panels that belong to one controller each.

    Parameters
    ----------
    circuit : Circuit
        The system.
    sun : sequence of Run
        Cables of its array.
    """
    found = []
    if sun:
        found.append(
            terminal(
                sun[0].cable.id,
                phrase(
                    "Solar connectors: plug and socket of one make and type, crimped with its "
                    "tool; like-looking ones of two makes burn."
                ),
            )
        )
    if len(circuit.of_kind("controller")) > 1:
        found.append(
            warning(
                circuit.of_kind("controller")[0].id,
                phrase("Each controller has panels of its own: never join their panel terminals."),
            )
        )
    return found
