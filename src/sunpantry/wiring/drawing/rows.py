"""A cable drawn as a row: its conductors, the devices in them, and its label.

Also the upright bars that rows are joined to, where conductors that cross without being
joined hop over one another.
"""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass, field

from sunpantry.phrases import phrase
from sunpantry.wiring.cables import Run
from sunpantry.wiring.drawing import symbols
from sunpantry.wiring.drawing.sheet import SOFT, Sheet
from sunpantry.wiring.drawing.text import text_width, wrap
from sunpantry.wiring.graph import Cable, Circuit, Device, Part, Polarity
from sunpantry.wiring.protect import Protection

LABEL_SIZE = 11.0
LABEL_UP = 25.0  # baseline of the labels above the middle line of a row
ABOVE, BELOW = 36.0, 30.0  # what a row takes up above and below its middle line
GAP = 11.0
BAR_SPACE = 14.0
BAR_COLUMN = 64.0
LINE = 13.0


@dataclass(frozen=True)
class View:
    """A sized circuit, looked up by identity."""

    circuit: Circuit
    runs: dict[str, Run]
    protections: dict[str, Protection]

    @classmethod
    def of(cls, circuit: Circuit, runs: Iterable[Run], protections: Iterable[Protection]) -> View:
        """Index runs and protections."""
        return cls(
            circuit,
            {run.cable.id: run for run in runs},
            {one.device.id: one for one in protections},
        )

    def cable_label(self, cable: Cable) -> str:
        """Identity, size and length, as printed along a cable."""
        return phrase(
            "{id}: {label}, {length_m:g} m",
            id=cable.id,
            label=self.runs[cable.id].label,
            length_m=cable.length_m,
        )

    def device_label(self, device: Device) -> str:
        """Identity and rating, as printed beside a device."""
        return phrase("{id}: {label}", id=device.id, label=self.protections[device.id].label)

    def children(self, part: Part) -> tuple[Cable, ...]:
        """Cables that lead on to what a part feeds."""
        return tuple(
            one for one in self.circuit.leaving(part.id) if one.role not in ("earth", "charger")
        )


def offsets(cable: Cable) -> dict[Polarity, float]:
    """Height of each conductor from the middle line of its row."""
    poles = [terminal.polarity for terminal in cable.start]
    if len(poles) == 2:
        return dict(zip(poles, (-symbols.HALF, symbols.HALF), strict=True))
    return dict(zip(poles, (-symbols.HALF, 0.0, symbols.HALF), strict=True))


def _slot(view: View, device: Device) -> float:
    long = symbols.FUSE_LONG if device.kind == "fuse" else symbols.SWITCH_LONG
    return max(long, text_width(view.device_label(device), LABEL_SIZE)) + GAP


def _label_down(cable: Cable) -> float:
    """Baseline of the label of a cable: between the two conductors, or below the three."""
    return 4.0 if len(cable.start) == 2 else symbols.HALF + 13.0


def needed_width(view: View, cable: Cable) -> float:
    """Least length of the row of a cable, with all its labels.

    The label of a cable lies between its two conductors, beside the devices that cut
    both, or below all three.
    """
    label = text_width(view.cable_label(cable), LABEL_SIZE) + GAP
    devices = view.circuit.devices_in(cable.id)
    slots = sum(_slot(view, device) for device in devices)
    blocked = 0.0
    for end in ("start", "end"):
        run_up = 0.0
        reach = 0.0
        for device in devices:
            if device.at == end:
                run_up += _slot(view, device)
                reach = run_up if _blocks(cable, device) else reach
        blocked += reach
    return max(slots + GAP, blocked + label)


def _blocks(cable: Cable, device: Device) -> bool:
    """Whether a device stands where the label of its cable would."""
    return len(cable.start) == 2 and len(device.poles) > 1


def draw_row(
    sheet: Sheet,
    view: View,
    cable: Cable,
    *,
    left: float,
    right: float,
    y: float,
    flipped: bool = False,
) -> None:
    """Draw a cable from ``left`` to ``right`` along the middle line ``y``.

    ``flipped``: its end, not its start, is on the left.
    """
    run = view.runs[cable.id]
    sheet.group(
        phrase(
            "{id}, {name}: {label}, {length_m:g} m one way",
            id=cable.id,
            name=cable.name,
            label=run.label,
            length_m=cable.length_m,
        )
    )
    for pole, down in offsets(cable).items():
        sheet.wire(pole, ((left, y + down), (right, y + down)), of=cable.id)
    near, far = left, right
    label_near, label_far = left, right
    for device in view.circuit.devices_in(cable.id):
        slot = _slot(view, device)
        blocks = _blocks(cable, device)
        if (device.at == "start") != flipped:
            _draw_device(sheet, view, device, cable, x=near + slot / 2, y=y)
            near += slot
            label_near = near if blocks else label_near
        else:
            far -= slot
            _draw_device(sheet, view, device, cable, x=far + slot / 2, y=y)
            label_far = far if blocks else label_far
    sheet.text(
        (label_near + label_far) / 2,
        y + _label_down(cable),
        view.cable_label(cable),
        size=LABEL_SIZE,
        anchor="middle",
        colour=SOFT,
        owner=cable.id,
    )
    sheet.end()


def _draw_device(
    sheet: Sheet, view: View, device: Device, cable: Cable, *, x: float, y: float
) -> None:
    place = offsets(cable)
    heights = [y + place[pole] for pole in device.poles]
    found = view.protections[device.id]
    sheet.group(
        phrase(
            "{id}, {name}, {label}: {place}",
            id=device.id,
            name=found.name,
            label=found.label,
            place=device.place,
        )
    )
    if device.kind == "fuse":
        for height in heights:
            symbols.fuse(sheet, x - symbols.FUSE_LONG / 2, height, owner=device.id)
    else:
        mark = {"isolator": "bar", "residual_breaker": "cross", "disconnect": "none"}
        left = x - symbols.SWITCH_LONG / 2
        for height in heights:
            symbols.switch(sheet, left, height, owner=device.id, mark=mark[device.kind])
        if len(heights) > 1:
            symbols.gang(sheet, left, heights[0], heights[-1])
    sheet.text(
        x,
        y - LABEL_UP,
        view.device_label(device),
        size=LABEL_SIZE,
        anchor="middle",
        bold=False,
        owner=device.id,
    )
    sheet.end()


@dataclass
class Bars:
    """Upright conductors that rows are joined to.

    ``solid`` ones are real bars with a label above; the others are wire.
    """

    poles: tuple[Polarity, ...]
    left: float
    solid: bool
    label: tuple[str, ...] = ()
    owner: str = ""
    taps: list[tuple[str, float]] = field(default_factory=list)

    @property
    def column(self) -> float:
        """Width of the column the bars stand in."""
        return BAR_COLUMN if self.solid else 44.0

    @property
    def right(self) -> float:
        """Right edge of the column."""
        return self.left + self.column

    @classmethod
    def of_part(cls, part: Part, poles: tuple[Polarity, ...], left: float) -> Bars:
        """Bars of a box or board."""
        label = (part.id, *wrap(part.name, LABEL_SIZE, BAR_COLUMN - 6))
        return cls(poles, left, solid=True, label=label, owner=part.id)

    def tap(self, side: str, y: float) -> None:
        """Join a row whose middle line is ``y``, on its 'left' or 'right'."""
        self.taps.append((side, y))

    def _downs(self) -> list[float]:
        if len(self.poles) == 2:
            return [-symbols.HALF, symbols.HALF]
        return [-symbols.HALF, 0.0, symbols.HALF]

    def draw(self, sheet: Sheet) -> None:
        """Draw bars, joints and the hops of what crosses."""
        if not self.taps:
            return
        count = len(self.poles)
        first = self.left + self.column / 2 - BAR_SPACE * (count - 1) / 2
        xs = [first + BAR_SPACE * index for index in range(count)]
        downs = self._downs()
        middles = [y for _, y in self.taps]
        over = 9.0 if self.solid else 0.0
        spans = [(min(middles) + down - over, max(middles) + down + over) for down in downs]
        sheet.group(" ".join(self.label) or "joined conductors")
        for pole, x, (top, bottom) in zip(self.poles, xs, spans, strict=True):
            if top < bottom:
                sheet.wire(pole, ((x, top), (x, bottom)), of=self.owner, wide=self.solid)
        for side, y in self.taps:
            for index, pole in enumerate(self.poles):
                height = y + downs[index]
                others = xs[index + 1 :] if side == "right" else xs[:index]
                crossed = [
                    x
                    for x, (top, bottom) in zip(xs, spans, strict=True)
                    if x in others and top <= height <= bottom
                ]
                edge = self.right if side == "right" else self.left
                sheet.wire(pole, ((xs[index], height), (edge, height)), hops=crossed, of=self.owner)
                self._joint(sheet, pole, xs[index], height, spans[index])
        self._write(sheet, min(middles))
        sheet.end()

    def _joint(
        self, sheet: Sheet, pole: Polarity, x: float, height: float, span: tuple[float, float]
    ) -> None:
        """A stud on a bar; on wires a dot, but none where a wire only turns."""
        if self.solid:
            sheet.stud(x, height)
            return
        down = self._downs()[self.poles.index(pole)]
        taps = sum(y + down == height for _, y in self.taps)
        ways = (span[0] < height) + (span[1] > height) + taps
        if ways > 2:
            sheet.dot(pole, x, height)

    def _write(self, sheet: Sheet, top: float) -> None:
        y = top - symbols.HALF - 18.0 - LINE * (len(self.label) - 1)
        for index, words in enumerate(self.label):
            sheet.text(
                self.left + self.column / 2,
                y + LINE * index,
                words,
                size=LABEL_SIZE,
                anchor="middle",
                bold=index == 0,
                owner=self.owner,
            )

    @property
    def above(self) -> float:
        """Space the label takes above the middle line of the first row."""
        return symbols.HALF + 30.0 + LINE * max(len(self.label) - 1, 0) if self.label else ABOVE
