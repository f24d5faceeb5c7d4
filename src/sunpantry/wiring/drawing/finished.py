"""A finished drawing, and the words that stand for it where it cannot be seen."""

from __future__ import annotations

from dataclasses import dataclass

from sunpantry.wiring.drawing.rows import View
from sunpantry.wiring.drawing.sheet import Sheet


@dataclass(frozen=True)
class Drawing:
    """A finished drawing."""

    sheet: Sheet
    title: str
    description: str

    @property
    def is_wide(self) -> bool:
        """Whether it wants paper on its side."""
        return self.sheet.right > 1.15 * self.sheet.bottom

    @property
    def svg(self) -> str:
        """The drawing as SVG text."""
        return self.sheet.svg(title=self.title, description=self.description)


def describe(view: View) -> str:
    """Say in words what the diagram shows, for those who cannot see it."""
    by_id = view.circuit.by_id
    sentences = []
    for cable in view.circuit.cables:
        devices = "".join(
            f", with {view.protections[device.id].name} {view.device_label(device)} {device.place}"
            for device in view.circuit.devices_in(cable.id)
        )
        sentences.append(
            f"{view.cable_label(cable)}, from {by_id[cable.start_part].name} "
            f"({cable.start_part}) to {by_id[cable.end_part].name} ({cable.end_part}){devices}."
        )
    return " ".join(sentences)
