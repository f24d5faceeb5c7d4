"""The circuit diagram: sun and store on the left, what they feed on the right.

Columns are as wide as their widest label, rows as high as their parts, so nothing can
overlap whatever the names and sizes are.
"""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass, field

from sunpantry.phrases import phrase
from sunpantry.wiring.cables import Run
from sunpantry.wiring.drawing import symbols
from sunpantry.wiring.drawing.finished import Drawing, describe
from sunpantry.wiring.drawing.notes import diagram_notes, key_of
from sunpantry.wiring.drawing.outward import (
    BOX,
    FAN,
    Outward,
    draw_box,
    draw_port,
    heading_height,
)
from sunpantry.wiring.drawing.rows import (
    BAR_COLUMN,
    BELOW,
    LABEL_SIZE,
    Bars,
    View,
    draw_row,
    needed_width,
)
from sunpantry.wiring.drawing.sheet import SOFT, Sheet
from sunpantry.wiring.drawing.sources import DC, MARGIN, ROW, Group, Sources, groups_of
from sunpantry.wiring.drawing.text import Voice, speaking, text_width, wrap
from sunpantry.wiring.graph import Cable, Circuit, Part
from sunpantry.wiring.protect import Protection

TOP = 56.0
CROSSING = 12.0  # between a joint on a bar and a crossing of it


def circuit_diagram(
    circuit: Circuit,
    runs: Iterable[Run],
    protections: Iterable[Protection],
    *,
    name: str,
    voice: Voice = str,
) -> Drawing:
    """Draw the circuit with standard symbols.

    Parameters
    ----------
    circuit, runs, protections
        A circuit with its sizes, from :func:`sunpantry.wiring.wire`.
    name : str
        Name of the design, for the title.
    voice : callable
        Says a phrase in the language and with the numbers of the reader.

    Returns
    -------
    Drawing
        Both conductors of every cable, each cable with identity, size and length, every
        fuse with its rating.
    """
    view = View.of(circuit, runs, protections)
    diagram = _Diagram(view)
    with speaking(voice):
        diagram.draw(name)
    return Drawing(
        diagram.sheet, phrase("Circuit diagram of {name}", name=name), describe(view), voice
    )


@dataclass
class _Diagram:
    view: View
    sheet: Sheet = field(default_factory=Sheet)

    def __post_init__(self) -> None:
        circuit = self.view.circuit
        self.outward = Outward(self.sheet, self.view)
        self.controllers = circuit.of_kind("controller")
        self.batteries = circuit.of_kind("battery")
        pumps = {cable.id for cable in circuit.direct_pumps()}
        found = groups_of(self.view)
        self.islands = [one for one in found if any(c.id in pumps for c in one.away)]
        self.groups = [one for one in found if one not in self.islands]
        self.sources = Sources(self.sheet, self.view)
        self.feeds = self._feeds()
        self.bus = next(iter(circuit.of_kind("bus")), None)
        self._columns()

    # ---- what there is -------------------------------------------------------------

    def _feeds(self) -> list[Cable]:
        """Cables that leave the trunk to the right, in the order they are drawn."""
        source = self._trunk_part()
        if source is None:
            return []
        circuit = self.view.circuit
        into = [cable for cable in circuit.arriving(source) if cable.role == "charger"]
        out = [cable for cable in self.view.circuit.leaving(source) if cable.role != "main"]
        order = {"branch": 0, "lead": 0, "board": 0, "inverter": 1, "charger": 2}
        return sorted(
            (cable for cable in (*out, *into) if cable.role in order),
            key=lambda cable: order[cable.role],
        )

    def _trunk_part(self) -> str | None:
        """Part that everything on the battery side is joined to."""
        for kind in ("bus", "bank_bus", "battery"):
            parts = self.view.circuit.of_kind(kind)
            if parts:
                return parts[0].id
        return None

    @property
    def _single(self) -> Cable | None:
        """The only cable on the battery, where there are no busbars."""
        if self.bus is not None or not self.batteries:
            return None
        source = self._trunk_part()
        for cable in self.view.circuit.cables:
            ends = (cable.start_part, cable.end_part)
            if source in ends and cable.role != "battery":
                return cable
        return None

    # ---- where it goes across ------------------------------------------------------

    def _columns(self) -> None:
        view, sources = self.view, self.sources
        away = [cable for group in self.groups for cable in group.away]
        self.box_x = sources.array_x + max(
            (needed_width(view, cable) for cable in away), default=0.0
        )
        self.middle_x = self.box_x + (BOX if self.controllers else 0.0)
        onwards = [*view.circuit.of_role("main")]
        if self._single is not None and self._single.role != "array":
            onwards.append(self._single)
        starts = [(sources.bank_x, cable) for cable in onwards]
        if self.bus is not None:
            starts += [(self.middle_x, cable) for cable in view.circuit.of_role("controller")]
        self.trunk_x = max(
            [self.middle_x, sources.bank_x, *(x + needed_width(view, one) for x, one in starts)]
        )
        self.right_x = self.trunk_x
        if self.batteries:
            self.right_x += BAR_COLUMN if self.bus is not None else FAN
        self._measure_outward()

    def _load_feeds(self) -> tuple[Cable, ...]:
        """Cables that leave the load terminals of the controllers."""
        return tuple(
            cable
            for part in self.controllers
            for cable in self.view.children(part)
            if cable.role != "controller"
        )

    def _measure_outward(self) -> None:
        view, outward = self.view, self.outward
        load_feeds = self._load_feeds()
        starts = [(cable, self.middle_x, False) for cable in load_feeds]
        starts += [(cable, self.right_x, cable is self._single) for cable in self.feeds]
        if not self.batteries and not self.controllers:
            starts += [
                (cable, self.sources.array_x + (FAN if len(group.away) > 1 else 0.0), False)
                for group in self.groups
                for cable in group.away
            ]
        starts += [
            (cable, self.sources.start_of(group), False)
            for group in self.islands
            for cable in group.away
        ]
        boxed = [
            x + (30.0 if plain else needed_width(view, cable))
            for cable, x, plain in starts
            if view.circuit.by_id[self._far(cable)].kind != "load"
        ]
        self.stage_x = max([self.right_x + 12.0, *boxed])
        outward.load_x = max(
            (outward.reach(cable, x, box_x=self.stage_x) for cable, x, _ in starts),
            default=self.right_x,
        )

    def _far(self, cable: Cable) -> str:
        return cable.start_part if cable.role == "charger" else cable.end_part

    # ---- drawing -------------------------------------------------------------------

    def draw(self, name: str) -> None:
        """Draw everything, then the title and the key below."""
        words = wrap(
            phrase("Circuit diagram: {name}", name=name),
            15.0,
            max(self.outward.load_x, 420.0),
            lines=1,
            bold=True,
        )
        self.sheet.lines(MARGIN, 30.0, words, size=15.0, bold=True)
        self.sheet.text(
            MARGIN,
            46.0,
            phrase("Copper cables; lengths are one way."),
            size=LABEL_SIZE - 1,
            colour=SOFT,
        )
        self.trunk = Bars(DC, self.trunk_x, solid=False, owner="trunk")
        if self.bus is not None:
            self.trunk = Bars.of_part(self.bus, DC, self.trunk_x)
        if self.controllers:
            left, right = self._draw_controllers()
        elif self.batteries:
            left, right = self._draw_uncontrolled()
        else:
            left = right = self._draw_direct()
        if self.batteries:
            left = self._draw_bank(left)
        right = self._draw_feeds(right)
        self.trunk.draw(self.sheet)
        for group in self.islands:
            left = right = self._draw_direct_group(group, max(left, right) + 10.0)
        self._draw_key(max(left, right) + 26.0)

    def _draw_controllers(self) -> tuple[float, float]:
        """Draw controllers with their panels; return the lower edges left and right."""
        top = right = TOP
        for part in self.controllers:
            group = next(
                (one for one in self.groups if part.id in {c.end_part for c in one.away}), None
            )
            loads = [one for one in self.view.children(part) if one.role != "controller"]
            y = top + max(
                self.sources.above(group),
                symbols.HALF + 16.0 + heading_height(part),
                *(self.outward.offset(cable) for cable in loads),
            )
            bottom = y
            if group is not None:
                bottom = self.sources.draw_group(group, y)
                start = self.sources.start_of(group)
                draw_row(self.sheet, self.view, group.away[0], left=start, right=self.box_x, y=y)
            bottom = max(bottom, self._draw_controller(part, y))
            for cable in loads:
                right = self.outward.draw(cable, self.middle_x, y, box_x=self.stage_x)
            top = bottom + 10.0
        return top, right

    def _draw_controller(self, part: Part, y: float) -> float:
        # Clear of what leaves the load terminals, with the name of the busbars between.
        battery_y = y + max(ROW, self.trunk.above + symbols.HALF + 8.0)
        charge = [one for one in self.view.children(part) if one.role == "controller"]
        lower = battery_y + symbols.HALF + 16.0 if charge else None
        self.sheet.group(
            phrase("{id}, {name}: {detail}", id=part.id, name=part.name, detail=part.detail)
        )
        bottom = draw_box(self.sheet, part, left=self.box_x, y=y, bottom=lower)
        draw_port(self.sheet, part.port("PV"), x=self.box_x, y=y, side="left", numbered=True)
        if part.port("LOAD"):
            draw_port(
                self.sheet, part.port("LOAD"), x=self.middle_x, y=y, side="right", numbered=True
            )
        if charge:
            draw_port(
                self.sheet,
                part.port("BAT"),
                x=self.middle_x,
                y=battery_y,
                side="right",
                numbered=True,
            )
        self.sheet.end()
        for cable in charge:
            if cable is self._single:
                self._stub(cable, self.middle_x, self.trunk_x, battery_y)
            else:
                draw_row(
                    self.sheet,
                    self.view,
                    cable,
                    left=self.middle_x,
                    right=self.trunk_x,
                    y=battery_y,
                )
            self.trunk.tap("left", battery_y)
        return bottom

    def _stub(self, cable: Cable, left: float, right: float, y: float) -> None:
        for pole, down in zip(DC, (-symbols.HALF, symbols.HALF), strict=True):
            self.sheet.wire(pole, ((left, y + down), (right, y + down)), of=cable.id)

    def _draw_uncontrolled(self) -> tuple[float, float]:
        """Draw panels that charge a battery with no controller between."""
        top = TOP
        for group in self.groups:
            y = top + max(self.sources.above(group), self.trunk.above)
            start = self.sources.start_of(group)
            draw_row(self.sheet, self.view, group.away[0], left=start, right=self.trunk_x, y=y)
            self.trunk.tap("left", y)
            top = self.sources.draw_group(group, y) + 10.0
        return top, TOP

    def _draw_direct(self) -> float:
        """Draw panels that feed loads or a power bank straight."""
        top = TOP
        for group in self.groups:
            top = self._draw_direct_group(group, top)
        return top

    def _draw_direct_group(self, group: Group, top: float) -> float:
        cables = group.away
        y = top + max(self.sources.above(group), *(self.outward.offset(one) for one in cables), 0.0)
        bottom = self.sources.draw_group(group, y)
        start = self.sources.start_of(group)
        if not cables:
            return bottom
        if len(cables) == 1:
            return max(bottom, self.outward.draw(cables[0], start, y, box_x=self.stage_x))
        fan = Bars(DC, self.sources.array_x, solid=False, owner="panels")
        fan.tap("left", y)
        row = y
        for index, cable in enumerate(cables):
            row = y if index == 0 else row + BELOW + self.outward.offset(cable)
            fan.tap("right", row)
            lower = self.outward.draw(cable, fan.right, row, box_x=self.stage_x)
            bottom = max(bottom, lower)
            row = lower - BELOW
        fan.draw(self.sheet)
        return bottom

    def _draw_feeds(self, top: float) -> float:
        """Draw what leaves the trunk to the right."""
        for cable in self.feeds:
            least = self.trunk.above + TOP
            y = self._clear_of_left(max(top + self.outward.offset(cable), least))
            self.trunk.tap("right", y)
            top = self.outward.draw(
                cable, self.right_x, y, box_x=self.stage_x, plain=cable is self._single
            )
        return top

    def _clear_of_left(self, y: float) -> float:
        """Move a row down until its plus is clear of any minus from the left, and the reverse."""
        others = [row for side, row in self.trunk.taps if side == "left"]
        while any(abs(abs(y - row) - 2.0 * symbols.HALF) < CROSSING for row in others):
            y += 1.0
        return y

    def _draw_bank(self, top: float) -> float:
        """Draw the batteries and the cable from them to the trunk."""
        first = top + self.sources.bank_above()
        bottom = self.sources.draw_bank(first)
        onward = next(iter(self.view.circuit.of_role("main")), self._single)
        if onward is None:
            return bottom
        self.trunk.tap("left", first)
        left = self.sources.bank_x
        if onward.role == "array":
            self._stub(onward, left, self.trunk_x, first)
        else:
            flipped = onward.role in ("controller", "charger")
            draw_row(
                self.sheet,
                self.view,
                onward,
                left=left,
                right=self.trunk_x,
                y=first,
                flipped=flipped,
            )
        return bottom

    def _draw_key(self, top: float) -> None:
        """Say what the lines mean, and which loads are not supplied."""
        x, y = MARGIN, top
        limit = max(self.sheet.right, 420.0)
        for pole, words in key_of(self.view):
            wide = 34.0 + text_width(words, LABEL_SIZE - 1) + 18.0
            if x + wide > limit:
                x, y = MARGIN, y + 18.0
            self.sheet.wire(pole, ((x, y - 3.5), (x + 28.0, y - 3.5)), of="key")
            self.sheet.text(x + 34.0, y, words, size=LABEL_SIZE - 1, owner="key")
            x += wide
        notes = diagram_notes(self.view, ordered=bool(self.controllers))
        for note in notes:
            for line in wrap(note, LABEL_SIZE - 1, limit - MARGIN, lines=3):
                y += 15.0
                self.sheet.text(MARGIN, y, line, size=LABEL_SIZE - 1, colour=SOFT, owner="key")
