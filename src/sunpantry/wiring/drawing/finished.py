"""A finished drawing, and the words that stand for it where it cannot be seen."""

from __future__ import annotations

from dataclasses import dataclass

from sunpantry.phrases import joined, phrase
from sunpantry.wiring.drawing.rows import View
from sunpantry.wiring.drawing.sheet import Sheet
from sunpantry.wiring.drawing.text import Voice


@dataclass(frozen=True)
class Drawing:
    """A finished drawing."""

    sheet: Sheet
    title: str
    description: str
    voice: Voice = str

    @property
    def is_wide(self) -> bool:
        """Whether it wants paper on its side."""
        return self.sheet.right > 1.15 * self.sheet.bottom

    @property
    def svg(self) -> str:
        """The drawing as SVG text."""
        return self.sheet.svg(
            title=self.voice(self.title), description=self.voice(self.description)
        )


def describe(view: View) -> str:
    """Say in words what the diagram shows, for those who cannot see it."""
    by_id = view.circuit.by_id
    sentences = []
    for cable in view.circuit.cables:
        devices = joined(
            (
                phrase(
                    ", with {name} {device} {place}",
                    name=view.protections[device.id].name,
                    device=view.device_label(device),
                    place=device.place,
                )
                for device in view.circuit.devices_in(cable.id)
            ),
            "",
        )
        sentences.append(
            phrase(
                "{cable}, from {start} ({start_id}) to {end} ({end_id}){devices}.",
                cable=view.cable_label(cable),
                start=by_id[cable.start_part].name,
                start_id=cable.start_part,
                end=by_id[cable.end_part].name,
                end_id=cable.end_part,
                devices=devices,
            )
        )
    return joined(sentences, " ")
