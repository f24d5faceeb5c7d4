"""How the system is wired: circuit, cable sizes, protection, settings, drawings.

``wire(inputs)`` builds the circuit as a typed graph and derives everything else from it.
"""

from sunpantry.wiring.graph import Circuit
from sunpantry.wiring.inputs import LoadLine, WiringInputs
from sunpantry.wiring.schedule import WiringPlan, hard_findings, wire

__all__ = ["Circuit", "LoadLine", "WiringInputs", "WiringPlan", "hard_findings", "wire"]
