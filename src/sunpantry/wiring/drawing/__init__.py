"""Pictures of the circuit, as SVG: a diagram with standard symbols, and a plain one without."""

from sunpantry.wiring.drawing.diagram import circuit_diagram
from sunpantry.wiring.drawing.finished import Drawing
from sunpantry.wiring.drawing.picture import plain_picture

__all__ = ["Drawing", "circuit_diagram", "plain_picture"]
