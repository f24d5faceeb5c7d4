"""One card for each thing that is fed: on the right of the plain picture, or below it."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from sunpantry.phrases import phrase
from sunpantry.wiring.drawing import cards
from sunpantry.wiring.drawing.cards import LEAD, ROW_HIGH, SIZE, SMALL
from sunpantry.wiring.drawing.rows import View
from sunpantry.wiring.drawing.sheet import Sheet
from sunpantry.wiring.drawing.text import wrap
from sunpantry.wiring.graph import Cable, Part, Polarity

ORDER = {"branch": 0, "lead": 0, "board": 0, "inverter": 1, "charger": 2}
LANE_PITCH = 10.0
PORT_PITCH = 14.0
_DC: tuple[Polarity, ...] = ("+", "−")
_INDENT = 26.0
_PORT_ROOM = 40.0


@dataclass(frozen=True, slots=True)
class Leaving:
    """A pair of conductors on its way to the right: where they have got to, plus first."""

    cable: Cable
    at: tuple[tuple[float, float], tuple[float, float]]


@dataclass
class RightColumn:
    """Cards one below the other; conductors reach them through lanes left of the column.

    ``below``: the cards stand below everything, for a telephone, and the lanes are on their
    right. ``lanes`` is the lane nearest to the cards.
    """

    sheet: Sheet
    view: View
    left: float
    right: float
    lanes: float
    below: bool = False

    def draw(self, leaving: Sequence[Leaving], top: float) -> float:
        """Draw a card for each pair, in the order of their heights; return the lower edge."""
        lane = self.lanes
        for pair in sorted(leaving, key=lambda one: min(y for _, y in one.at)):
            first_y = min(y for _, y in pair.at)
            port_y = max(top + 34.0, first_y)
            upward = sorted(zip(_DC, pair.at, strict=True), key=lambda one: one[1][1])
            for index, (pole, (x, y)) in enumerate(upward):
                target = port_y + PORT_PITCH * index
                points = [(x, y), (lane, y), (lane, target), (self.left, target)]
                if y == target:
                    points = [(x, y), (self.left, y)]
                self.sheet.wire(pole, points, of=pair.cable.id)
                self._enter(pole, target)
                lane -= LANE_PITCH
            top = self._card(pair.cable, port_y) + 18.0
        return top

    def draw_below(self, leaving: Sequence[Leaving], top: float) -> float:
        """Draw the cards under everything: what left last comes first, so nothing crosses."""
        lane = self.lanes
        for pair in sorted(leaving, key=lambda one: -min(y for _, y in one.at)):
            port_y = top + 34.0
            downward = sorted(zip(_DC, pair.at, strict=True), key=lambda one: -one[1][1])
            for index, (pole, (x, y)) in enumerate(downward):
                target = port_y + PORT_PITCH * index
                points = [(x, y), (lane, y), (lane, target), (self.right, target)]
                self.sheet.wire(pole, points, of=pair.cable.id)
                self._enter(pole, target)
                lane += LANE_PITCH
            top = self._card(pair.cable, port_y) + 18.0
        return top

    def _enter(self, pole: Polarity, y: float) -> None:
        if self.below:
            self.sheet.wire(pole, ((self.right - 16.0, y), (self.right, y)), of="port")
            self.sheet.text(
                self.right - 20.0,
                y + 4.5,
                pole,
                size=SIZE,
                anchor="end",
                bold=True,
                owner="port",
            )
            return
        self.sheet.wire(pole, ((self.left, y), (self.left + 16.0, y)), of="port")
        self.sheet.text(self.left + 20.0, y + 4.5, pole, size=SIZE, bold=True, owner="port")

    def _fed(self, cable: Cable) -> Part:
        other = cable.start_part if cable.role == "charger" else cable.end_part
        return self.view.circuit.by_id[other]

    def _card(self, cable: Cable, port_y: float) -> float:
        """Draw the card of what a cable feeds, entered at ``port_y``; return its lower edge."""
        view = self.view
        source = view.circuit.by_id[cable.start_part]
        siblings = view.children(source)
        shared = source.kind in ("power_bank", "string", "combiner") and len(siblings) > 1
        top = port_y - 22.0
        if shared:
            lines: list[tuple[str, bool]] = [(phrase("Loads, each with its own lead"), True)]
            rows = [(one, 0.0) for one in siblings]
        else:
            lines = self._head_lines(cable)
            part = self._fed(cable)
            rows = [(one, 0.0) for one in self._listed(part)]
        rows = self._with_nested(rows)
        y = top + 20.0
        text_x = self.left + (14.0 if self.below else 40.0)
        for words, bold in lines:
            self.sheet.text(
                text_x, y, words, size=SIZE if bold else SMALL, bold=bold, owner=cable.id
            )
            y += LEAD
        lower = max(y, port_y + PORT_PITCH + 16.0)
        fed = self._fed(cable)
        if fed.kind == "load" and not shared:
            away = _PORT_ROOM if self.below else 0.0
            cards.icon(self.sheet, self.right - 28.0 - away, top + 28.0, fed)
            lower = max(lower, top + 56.0)
        for one, indent in rows:
            cards.load_row(
                self.sheet,
                view,
                one,
                self._fed(one),
                left=self.left + 12.0 + indent,
                right=self.right - 8.0,
                y=lower + ROW_HIGH / 2 + 2.0,
            )
            lower += ROW_HIGH + 4.0
        self.sheet.frame(self.left, top, self.right, lower + 4.0, owner=cable.id)
        return lower + 4.0

    def _head_lines(self, cable: Cable) -> list[tuple[str, bool]]:
        view, part = self.view, self._fed(cable)
        width = self.right - self.left - 50.0 - (44.0 if part.kind == "load" else 0.0)
        width -= _PORT_ROOM - 26.0 if self.below else 0.0
        lines = [
            (line, True)
            for line in wrap(
                phrase("{id} {name}", id=part.id, name=part.name), SIZE, width, lines=2, bold=True
            )
        ]
        words = [part.detail] if part.detail else []
        words.append(phrase("fed by {cable}", cable=cards.say_cable(view, cable)))
        words += [
            phrase(
                "{device}, {place}",
                device=cards.say_device(view, device),
                place=device.place,
            )
            for device in view.circuit.devices_in(cable.id)
        ]
        words += self._mains_words(part)
        lines += [(line, False) for text in words for line in wrap(text, SMALL, width, lines=2)]
        return lines

    def _mains_words(self, part: Part) -> list[str]:
        """What lies between an inverter and its sockets, a transfer switch included."""
        view, words = self.view, list[str]()
        for onward in view.children(part):
            if onward.role != "mains":
                continue
            target = self._fed(onward)
            where = (
                phrase("{id}, {name}", id=target.id, name=target.name)
                if target.kind == "transfer"
                else phrase("the sockets")
            )
            words.append(
                phrase("to {where}: {cable}", where=where, cable=cards.say_cable(view, onward))
            )
            words += [
                phrase(
                    "{device}, {place}",
                    device=cards.say_device(view, device),
                    place=device.place,
                )
                for device in view.circuit.devices_in(onward.id)
            ]
            for other in view.circuit.arriving(target.id):
                if other.role == "supply":
                    source = view.circuit.by_id[other.start_part]
                    words.append(
                        phrase(
                            "its other side: {id} {name}, {cable}; a licensed electrician joins it",
                            id=source.id,
                            name=source.name,
                            cable=cards.say_cable(view, other),
                        )
                    )
                    words += [
                        phrase(
                            "{device}, {place}",
                            device=cards.say_device(view, device),
                            place=device.place,
                        )
                        for device in view.circuit.devices_in(other.id)
                    ]
            words += self._mains_words(target)
        return words

    def _listed(self, part: Part) -> tuple[Cable, ...]:
        """Cables listed on the card of a part."""
        children = self.view.children(part)
        if len(children) == 1 and children[0].role == "mains":
            return self._listed(self._fed(children[0]))
        return children

    def _with_nested(self, rows: list[tuple[Cable, float]]) -> list[tuple[Cable, float]]:
        """Rows, each followed by those of what it feeds in turn, set in."""
        whole = []
        for cable, indent in rows:
            whole.append((cable, indent))
            nested = [(one, indent + _INDENT) for one in self._listed(self._fed(cable))]
            whole += self._with_nested(nested)
        return whole
