"""The right-hand side of the diagram: everything the battery, or a panel, feeds.

A tree is laid out row by row. ``offset`` says how far below its top the middle line of a
row lies, ``reach`` how far to the right the loads must stand, ``draw`` does it.
"""

from __future__ import annotations

from dataclasses import dataclass

from sunpantry.phrases import phrase
from sunpantry.wiring.drawing import symbols
from sunpantry.wiring.drawing.rows import (
    ABOVE,
    BAR_COLUMN,
    BELOW,
    LABEL_SIZE,
    LINE,
    Bars,
    View,
    draw_row,
    needed_width,
)
from sunpantry.wiring.drawing.sheet import SOFT, Sheet
from sunpantry.wiring.drawing.text import wrap
from sunpantry.wiring.graph import Cable, Part, Polarity, Terminal

BOX = 124.0
FAN = 44.0
LOAD_TEXT = 116.0
_BARS = ("board", "mains_board")
_SYMBOL = {
    "controller": ("dc", "dc"),
    "converter": ("dc", "dc"),
    "inverter": ("dc", "ac"),
    "charger": ("ac", "dc"),
}


def heading(part: Part) -> tuple[tuple[str, ...], tuple[str, ...]]:
    """Name and details of a boxed part, broken to the width of its box."""
    many = phrase("{count} × ", count=part.count) if part.count > 1 else ""
    name = wrap(
        phrase("{id} {many}{name}", id=part.id, many=many, name=part.name),
        LABEL_SIZE,
        BOX - 14,
        lines=3,
        bold=True,
    )
    return name, wrap(part.detail, LABEL_SIZE - 1, BOX - 14, lines=2)


def heading_height(part: Part) -> float:
    """Height of the heading of a boxed part."""
    name, detail = heading(part)
    return LINE * (len(name) + len(detail)) + 8.0


def draw_box(
    sheet: Sheet, part: Part, *, left: float, y: float, bottom: float | None = None
) -> float:
    """Draw a boxed part whose first terminals lie along ``y``; return its lower edge."""
    name, detail = heading(part)
    top = y - symbols.HALF - 12.0 - heading_height(part)
    lower = bottom if bottom is not None else y + symbols.HALF + 14.0
    sheet.outline(left, top, left + BOX, lower, what=part.kind, owner=part.id)
    below = sheet.lines(
        left + BOX / 2,
        top + 14.0,
        name,
        size=LABEL_SIZE,
        bold=True,
        anchor="middle",
        owner=part.id,
        lead=LINE / LABEL_SIZE,
    )
    sheet.lines(
        left + BOX / 2,
        below,
        detail,
        size=LABEL_SIZE - 1,
        anchor="middle",
        colour=SOFT,
        owner=part.id,
        lead=LINE / (LABEL_SIZE - 1),
    )
    middle = (y - symbols.HALF + lower - 14.0) / 2
    if part.kind == "power_bank":
        symbols.cells(sheet, left + BOX / 2, middle)
        return lower
    if part.kind == "supply":
        return lower
    if part.kind == "transfer":
        symbols.changeover(sheet, left + BOX / 2, middle)
        return lower
    from_, to = ("dc", "dc") if part.symbol == "dc" else _SYMBOL[part.kind]
    x = left + (BOX - symbols.CONVERT) / 2
    if part.kind == "controller":  # clear of the names of its many terminals
        x, middle = x - 14.0, middle + 8.0
        sheet.reserve(
            x, middle - 17.0, x + symbols.CONVERT, middle + 17.0, what="controller", owner=""
        )
    symbols.conversion(sheet, x, middle - symbols.CONVERT / 2, from_=from_, to=to)
    return lower


def draw_terminal(
    sheet: Sheet, terminal: Terminal, *, x: float, y: float, side: str, numbered: bool = False
) -> None:
    """Draw a terminal on the edge of a box, its name inside."""
    sheet.circle(x, y, 3.0)
    words = (
        phrase("{number} {name}", number=terminal.number, name=terminal.name)
        if numbered
        else terminal.name
    )
    anchor, shift = ("start", 6.0) if side == "left" else ("end", -6.0)
    sheet.text(x + shift, y + 3.4, words, size=9.5, anchor=anchor, owner=terminal.part)


def draw_port(
    sheet: Sheet,
    port: tuple[Terminal, ...],
    *,
    x: float,
    y: float,
    side: str,
    numbered: bool = False,
) -> None:
    """Draw the terminals of a port around the middle line ``y``."""
    downs = (-symbols.HALF, symbols.HALF) if len(port) == 2 else (-symbols.HALF, 0, symbols.HALF)
    for terminal, down in zip(port, downs, strict=True):
        draw_terminal(sheet, terminal, x=x, y=y + down, side=side, numbered=numbered)


@dataclass
class Outward:
    """Lays out and draws the tree of what is fed.

    ``load_x`` is where all loads stand, one below the other.
    """

    sheet: Sheet
    view: View
    load_x: float = 0.0

    def _end(self, cable: Cable) -> Part:
        """Part away from the battery, whichever way the cable runs."""
        other = cable.start_part if cable.role == "charger" else cable.end_part
        return self.view.circuit.by_id[other]

    def _poles(self, cable: Cable) -> tuple[Polarity, ...]:
        return tuple(terminal.polarity for terminal in cable.start)

    def _bars(self, part: Part, left: float) -> Bars:
        poles: tuple[Polarity, ...] = ("+", "−") if part.kind == "board" else ("L", "N", "PE")
        return Bars.of_part(part, poles, left)

    def offset(self, cable: Cable) -> float:
        """How far below the top of its space the middle line of a cable must lie."""
        part = self._end(cable)
        if part.kind == "load":
            return ABOVE
        children = self.view.children(part)
        least = max((self.offset(child) for child in children[:1]), default=ABOVE)
        if part.kind in _BARS:
            return max(least, self._bars(part, 0.0).above + 2.0)
        return max(least, symbols.HALF + 16.0 + heading_height(part))

    def reach(self, cable: Cable, x: float, *, box_x: float | None = None) -> float:
        """Least ``load_x`` for a cable that starts at ``x``."""
        part = self._end(cable)
        end = x + needed_width(self.view, cable)
        if part.kind == "load":
            return end
        left = max(box_x or 0.0, end)
        children = self.view.children(part)
        right = self._right(part, left, len(children))
        boxes = self._box_x(children, right)
        return max([right, *(self.reach(child, right, box_x=boxes) for child in children)])

    def _right(self, part: Part, left: float, children: int) -> float:
        if part.kind in _BARS:
            return left + BAR_COLUMN
        return left + BOX + (FAN if children > 1 else 0.0)

    def _box_x(self, children: tuple[Cable, ...], x: float) -> float:
        """Where the boxes among the children stand."""
        boxed = [child for child in children if self._end(child).kind != "load"]
        boxed += [one for child in boxed for one in self._other_sources(self._end(child))]
        return x + max((needed_width(self.view, child) for child in boxed), default=0.0)

    def _other_sources(self, part: Part) -> tuple[Cable, ...]:
        """Cables of other sources that arrive at a transfer switch."""
        if part.kind != "transfer":
            return ()
        return tuple(one for one in self.view.circuit.arriving(part.id) if one.role == "supply")

    def draw(
        self, cable: Cable, x: float, y: float, *, box_x: float | None = None, plain: bool = False
    ) -> float:
        """Draw a cable from ``x`` along ``y`` and all it feeds; return the lower edge.

        ``plain``: the cable is labelled elsewhere, draw its conductors only.
        """
        part = self._end(cable)
        right = self.load_x
        if part.kind != "load":
            right = max(box_x or 0.0, x + (30.0 if plain else needed_width(self.view, cable)))
        if plain:
            for pole, down in zip(self._poles(cable), (-symbols.HALF, symbols.HALF), strict=True):
                self.sheet.wire(pole, ((x, y + down), (right, y + down)), of=cable.id)
        else:
            draw_row(
                self.sheet,
                self.view,
                cable,
                left=x,
                right=right,
                y=y,
                flipped=cable.role == "charger",
            )
        if part.kind == "load":
            return self._draw_load(part, cable, y)
        if part.kind in _BARS:
            return self._draw_bars(part, right, y)
        return self._draw_through(part, cable, right, y)

    def _draw_load(self, part: Part, cable: Cable, y: float) -> float:
        x = self.load_x
        self.sheet.group(
            phrase("{id}, {name}: {detail}", id=part.id, name=part.name, detail=part.detail)
        )
        symbols.load(self.sheet, x, y, part.symbol, owner=part.id)
        if part.symbol in ("light", "motor"):
            middle = x + symbols.LOAD_WIDE / 2
            for pole, down in zip(self._poles(cable), (-symbols.HALF, symbols.HALF), strict=True):
                stop = y + (9.5 if down > 0 else -9.5)
                self.sheet.wire(
                    pole, ((x, y + down), (middle, y + down), (middle, stop)), of=part.id
                )
        name = wrap(
            phrase("{id} {name}", id=part.id, name=part.name), LABEL_SIZE, LOAD_TEXT, bold=True
        )
        text_x = x + symbols.LOAD_WIDE + 8.0
        below = self.sheet.lines(
            text_x,
            y - LINE * len(name) / 2 + 4.0,
            name,
            size=LABEL_SIZE,
            bold=True,
            owner=part.id,
            lead=LINE / LABEL_SIZE,
        )
        self.sheet.text(text_x, below, part.detail, size=LABEL_SIZE - 1, colour=SOFT, owner=part.id)
        self.sheet.end()
        return y + BELOW

    def _draw_bars(self, part: Part, left: float, y: float) -> float:
        bars = self._bars(part, left)
        bars.tap("left", y)
        bottom = self._draw_children(part, bars, y)
        bars.draw(self.sheet)
        return bottom

    def _draw_children(self, part: Part, bars: Bars, y: float) -> float:
        children = self.view.children(part)
        boxes = self._box_x(children, bars.right)
        top = bottom = y + BELOW
        for index, child in enumerate(children):
            row = y if index == 0 else top + self.offset(child)
            bars.tap("right", row)
            bottom = self.draw(child, bars.right, row, box_x=boxes)
            top = bottom
        return bottom

    def _draw_through(self, part: Part, cable: Cable, left: float, y: float) -> float:
        self.sheet.group(
            phrase("{id}, {name}: {detail}", id=part.id, name=part.name, detail=part.detail)
        )
        others = self._other_sources(part)
        other_y = y + 2.0 * symbols.HALF + 46.0 + EARTH_HIGH + (_SUPPLY_HIGH if others else 0.0)
        bottom = other_y + symbols.HALF + 14.0 if others else None
        lower = draw_box(self.sheet, part, left=left, y=y, bottom=bottom)
        entry = cable.end if cable.end_part == part.id else cable.start
        draw_port(self.sheet, entry, x=left, y=y, side="left")
        self.sheet.end()
        for other in others:
            self._draw_other_source(other, left, other_y)
        children = self.view.children(part)
        right = left + BOX
        if part.kind == "charger" or not children:
            return lower + self._earth(part, left, lower)
        draw_port(self.sheet, children[0].start, x=right, y=y, side="right")
        if len(children) == 1:
            boxes = self._box_x(children, right)
            bottom = self.draw(children[0], right, y, box_x=boxes)
        else:
            fan = Bars(self._poles(children[0]), right, solid=False, owner=part.id)
            fan.tap("left", y)
            bottom = self._draw_children(part, fan, y)
            fan.draw(self.sheet)
        return max(bottom, lower + self._earth(part, left, lower))

    def _draw_other_source(self, cable: Cable, left: float, y: float) -> None:
        """Draw another source and its cable to the switch at ``left``, below what comes first."""
        part = self.view.circuit.by_id[cable.start_part]
        box_left = left - needed_width(self.view, cable) - BOX
        self.sheet.group(
            phrase("{id}, {name}: {detail}", id=part.id, name=part.name, detail=part.detail)
        )
        draw_box(self.sheet, part, left=box_left, y=y)
        draw_port(self.sheet, cable.start, x=box_left + BOX, y=y, side="right")
        self.sheet.end()
        draw_row(self.sheet, self.view, cable, left=box_left + BOX, right=left, y=y)
        draw_port(self.sheet, cable.end, x=left, y=y, side="left")

    def _earth(self, part: Part, left: float, lower: float) -> float:
        """Draw the earth of a case below its box; return the height it takes."""
        cable = next(
            (one for one in self.view.circuit.leaving(part.id) if one.role == "earth"), None
        )
        if cable is None:
            return 8.0
        draw_earth(self.sheet, self.view, cable, x=left + 20.0, y=lower)
        return EARTH_HIGH


EARTH_HIGH = 40.0
# Room above the terminals of another source for its name and details.
_SUPPLY_HIGH = 5.0 * LINE


def draw_earth(
    sheet: Sheet, view: View, cable: Cable, *, x: float, y: float, anchor: str = "start"
) -> None:
    """Draw an earth conductor down from a part, with its symbol and label beside it."""
    sheet.wire("PE", ((x, y), (x, y + 16.0)), of=cable.id)
    symbols.earth(sheet, x, y + 16.0, owner=cable.id)
    sheet.text(
        x + (16.0 if anchor == "start" else -16.0),
        y + 26.0,
        view.cable_label(cable),
        size=LABEL_SIZE - 1,
        anchor=anchor,
        colour=SOFT,
        owner=cable.id,
    )
