"""The left-hand side of the diagram: panels and batteries, and how each kind is joined."""

from __future__ import annotations

from dataclasses import dataclass

from sunpantry.phrases import phrase
from sunpantry.wiring.drawing import symbols
from sunpantry.wiring.drawing.outward import EARTH_HIGH, draw_earth
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
from sunpantry.wiring.drawing.sheet import INK, SOFT, Sheet
from sunpantry.wiring.drawing.text import text_width, wrap
from sunpantry.wiring.graph import Cable, Part, Polarity

MARGIN = 20.0
SOURCE_TEXT = 116.0
ROW = ABOVE + BELOW
DC: tuple[Polarity, ...] = ("+", "−")


@dataclass(frozen=True)
class Group:
    """Strings that are joined, and the cables that lead away from them."""

    strings: tuple[Part, ...]
    combiner: Part | None
    away: tuple[Cable, ...]


def groups_of(view: View) -> list[Group]:
    """Strings of a circuit, those in one box together."""
    circuit = view.circuit
    found = []
    for combiner in circuit.of_kind("combiner"):
        strings = tuple(circuit.by_id[one.start_part] for one in circuit.arriving(combiner.id))
        found.append(Group(strings, combiner, view.children(combiner)))
    joined = {part.id for group in found for part in group.strings}
    found += [
        Group((part,), None, view.children(part))
        for part in circuit.of_kind("string")
        if part.id not in joined
    ]
    return found


class Sources:
    """Draws panels and batteries in the leftmost columns.

    Attributes
    ----------
    after_x : float
        Where cables leave panels and batteries.
    array_x, bank_x : float
        Where the common cable leaves the string box, and the busbars of the batteries.
    """

    def __init__(self, sheet: Sheet, view: View) -> None:
        self.sheet, self.view = sheet, view
        circuit = view.circuit
        sources = (*circuit.of_kind("string"), *circuit.of_kind("battery"))
        lines = [line for part in sources for line, _ in self.text_of(part)]
        wide = max((text_width(line, LABEL_SIZE, bold=True) for line in lines), default=0.0)
        self.symbol_x = MARGIN + wide + 8.0 if sources else MARGIN
        self.after_x = self.symbol_x + (symbols.SUN_WIDE if sources else 0.0)
        strings, links = circuit.of_role("string"), circuit.of_role("battery")
        self.combiner_x = self.after_x + self._widest(strings)
        self.array_x = self.combiner_x + (BAR_COLUMN if strings else 0.0)
        self.links_x = self.after_x + self._widest(links)
        self.bank_x = self.links_x + (BAR_COLUMN if links else 0.0)

    def _widest(self, cables: tuple[Cable, ...]) -> float:
        return max((needed_width(self.view, cable) for cable in cables), default=0.0)

    def start_of(self, group: Group) -> float:
        """Where the common cable of a group starts."""
        return self.array_x if group.combiner else self.after_x

    def text_of(self, part: Part) -> list[tuple[str, bool]]:
        """Lines that name a source; the bold ones are its name."""
        many = phrase("{count} in series: ", count=part.count) if part.count > 1 else ""
        name = wrap(
            phrase("{id} {many}{name}", id=part.id, many=many, name=part.name),
            LABEL_SIZE,
            SOURCE_TEXT,
            lines=3,
            bold=True,
        )
        detail = wrap(part.detail, LABEL_SIZE - 1, SOURCE_TEXT, lines=2)
        return [(line, True) for line in name] + [(line, False) for line in detail]

    def below(self, part: Part) -> float:
        """Space a source takes below its middle line: that of its text, if it is long."""
        return BELOW + max(0.0, LINE * len(self.text_of(part)) + 10.0 - ROW)

    def draw_source(self, part: Part, y: float) -> None:
        """Panels or batteries at the left edge, their terminals at ``after_x``."""
        self.sheet.group(
            phrase(
                "{id}, {count} × {name}: {detail}",
                id=part.id,
                count=part.count,
                name=part.name,
                detail=part.detail,
            )
        )
        lines = self.text_of(part)
        baseline = y - LINE * len(lines) / 2 + 10.0
        for index, (words, bold) in enumerate(lines):
            self.sheet.text(
                MARGIN,
                baseline + LINE * index,
                words,
                size=LABEL_SIZE - (0 if bold else 1),
                bold=bold,
                colour=INK if bold else SOFT,
                owner=part.id,
            )
        if part.kind == "string":
            symbols.sun_generator(self.sheet, self.symbol_x, y, owner=part.id)
        else:
            middle = self.symbol_x + symbols.CELL_WIDE / 2
            symbols.battery(self.sheet, self.symbol_x, y, owner=part.id)
            for pole, sign in zip(DC, (-1.0, 1.0), strict=True):
                self.sheet.wire(
                    pole,
                    (
                        (middle, y + 7.0 * sign),
                        (middle, y + symbols.HALF * sign),
                        (self.after_x, y + symbols.HALF * sign),
                    ),
                    of=part.id,
                )
        self.sheet.end()

    def _frame_earth(self, part: Part, y: float) -> float:
        cable = next(
            (one for one in self.view.circuit.leaving(part.id) if one.role == "earth"), None
        )
        if cable is None:
            return 0.0
        draw_earth(
            self.sheet,
            self.view,
            cable,
            x=self.symbol_x + 14.0,
            y=y + symbols.SUN_HIGH / 2,
            anchor="end",
        )
        return EARTH_HIGH

    def draw_group(self, group: Group, y: float) -> float:
        """Draw strings from ``y`` down, joined; their common cable starts at ``array_x``, ``y``."""
        bottom = y
        if group.combiner is None:
            self.draw_source(group.strings[0], y)
            return y + self.below(group.strings[0]) + self._frame_earth(group.strings[0], y)
        bars = Bars.of_part(group.combiner, DC, self.combiner_x)
        bars.tap("right", y)
        row = y
        for part in group.strings:
            self.draw_source(part, row)
            for cable in self.view.children(part):
                draw_row(
                    self.sheet, self.view, cable, left=self.after_x, right=self.combiner_x, y=row
                )
            bars.tap("left", row)
            bottom = row + self.below(part) + self._frame_earth(part, row)
            row = bottom + ABOVE
        bars.draw(self.sheet)
        return bottom

    def above(self, group: Group | None) -> float:
        """Space a group takes above the middle line of its first row."""
        if group is None or group.combiner is None:
            return ABOVE
        return Bars.of_part(group.combiner, DC, 0.0).above

    def bank_above(self) -> float:
        """Space the batteries take above the middle line of their first row."""
        bars = self._bank_bars()
        return ABOVE if bars is None else bars.above

    def _bank_bars(self) -> Bars | None:
        buses = self.view.circuit.of_kind("bank_bus")
        return Bars.of_part(buses[0], DC, self.links_x) if buses else None

    def draw_bank(self, first: float) -> float:
        """Draw the batteries from the middle line ``first`` down; return the lower edge."""
        bars = self._bank_bars()
        links = self.view.circuit.of_role("battery")
        y = bottom = first
        for index, part in enumerate(self.view.circuit.of_kind("battery")):
            self.draw_source(part, y)
            if bars is not None:
                draw_row(
                    self.sheet, self.view, links[index], left=self.after_x, right=self.links_x, y=y
                )
                bars.tap("left", y)
            bottom = y + self.below(part)
            y = bottom + ABOVE
        if bars is not None:
            bars.tap("right", first)
            bars.draw(self.sheet)
        return bottom
