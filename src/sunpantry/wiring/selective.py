"""Fuses in series: which of two is sure to blow, and where either may.

References
----------
IEC 60269-2: gG fuses whose ratings stand 1.6 to 1 are selective; taken for the other kinds
of fuse too, as the trade does; from memory.
"""

from __future__ import annotations

from collections.abc import Sequence

from sunpantry.match.finding import Finding, Severity
from sunpantry.phrases import joined, phrase
from sunpantry.wiring.graph import Circuit
from sunpantry.wiring.protect import Protection, fuse_before

RATIO = 1.6


def close_pairs(
    circuit: Circuit, protections: Sequence[Protection]
) -> tuple[tuple[Protection, Protection], ...]:
    """Fuses in series of which either may blow.

    Parameters
    ----------
    circuit : Circuit
        The circuit.
    protections : sequence of Protection
        All of its devices.

    Returns
    -------
    tuple of (Protection, Protection)
        The one nearer to the battery first.
    """
    chosen = {one.device.id: one for one in protections}
    by_id = {cable.id: cable for cable in circuit.cables}
    batteries = max(1, len(circuit.of_kind("battery")))
    found = []
    for lower in protections:
        if lower.device.kind != "fuse":
            continue
        upper = fuse_before(circuit, by_id[lower.device.cable], chosen)
        if upper is None or upper is lower:
            continue
        # Each battery of several carries its share of the fault only.
        beside = batteries if by_id[upper.device.cable].role == "battery" else 1
        if upper.rating_a * beside < RATIO * lower.rating_a:
            found.append((upper, lower))
    return tuple(found)


def selectivity_finding(circuit: Circuit, protections: Sequence[Protection]) -> tuple[Finding, ...]:
    """Say which fuses are too near in size to tell apart.

    Parameters
    ----------
    circuit, protections
        A sized circuit.

    Returns
    -------
    tuple of Finding
        One, or none.
    """
    pairs = close_pairs(circuit, protections)
    if not pairs:
        return ()
    named = joined(
        phrase(
            "{upper} ({upper_a}) before {lower} ({lower_a})",
            upper=upper.device.id,
            upper_a=upper.label,
            lower=lower.device.id,
            lower_a=lower.label,
        )
        for upper, lower in pairs
    )
    return (
        Finding(
            Severity.WORTH_KNOWING,
            phrase(
                "These fuses in a row are so near in size that a short circuit may blow either or "
                "both: {pairs}. The cables are protected all the same. When something is dead, "
                "look at both, and keep spares of both.",
                pairs=named,
            ),
            tuple(lower.device.id for _, lower in pairs),
            rule="selectivity",
            source="IEC 60269-2: ratings 1.6 to 1 apart are selective, from memory",
        ),
    )
