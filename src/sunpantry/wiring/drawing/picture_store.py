"""The lower left of the plain picture: busbars, main cable and batteries.

Conductors that go down share one axis, below the battery terminals of the controller.
"""

from __future__ import annotations

from dataclasses import dataclass

from sunpantry.phrases import phrase
from sunpantry.wiring.drawing import cards
from sunpantry.wiring.drawing.cards import LEAD, SIZE, SMALL
from sunpantry.wiring.drawing.right_column import ORDER, Leaving
from sunpantry.wiring.drawing.rows import View
from sunpantry.wiring.drawing.sheet import INK, Sheet
from sunpantry.wiring.drawing.text import shorten, wrap
from sunpantry.wiring.graph import Cable, Part, Polarity

LEFT, COLUMN = 24.0, 404.0
CASE_LEFT = 84.0
RIGHT, EDGE = 500.0, 924.0
SUN_PLUS, SUN_MINUS = 54.0, 40.0
PLACES = {"PV+": 112.0, "PV−": 146.0, "BAT+": 196.0, "BAT−": 230.0, "LOAD+": 312.0, "LOAD−": 346.0}
AXIS = (PLACES["BAT+"], PLACES["BAT−"])
AXIS_TEXT = 246.0
STUDS = 390.0  # rightmost stud of the busbars
STUD_PITCH = 54.0
LANES = 488.0
DC: tuple[Polarity, ...] = ("+", "−")
_SWITCHES = ("isolator", "disconnect")
_SWITCH_HIGH = 38.0


@dataclass
class Store:
    """Draws downwards along the axis; pairs that leave to the right are noted in ``leaving``."""

    sheet: Sheet
    view: View
    leaving: list[Leaving]

    def write_beside(
        self, cable: Cable, x: float, y: float, *, room: float, fuse_at: tuple[float, float]
    ) -> None:
        """Name a cable and what sits in it, beside an upright piece of it from ``y`` down."""
        words = [cards.say_cable(self.view, cable)]
        for device in self.view.circuit.devices_in(cable.id):
            if device.kind == "fuse":
                cards.fuse_pill(self.sheet, *fuse_at, upright=True, owner=device.id)
            words.append(
                phrase(
                    "{device}, {place}",
                    device=cards.say_device(self.view, device),
                    place=device.place,
                )
            )
        y += 20.0
        for text in words:
            y = cards.paragraph(
                self.sheet, x, y, text, width=room, lines=3, size=SMALL, owner=cable.id
            )

    def words_height(self, cable: Cable, *, room: float) -> float:
        """Height :meth:`_beside` takes."""
        lines = len(wrap(cards.say_cable(self.view, cable), SMALL, room, lines=3))
        for device in self.view.circuit.devices_in(cable.id):
            text = phrase(
                "{device}, {place}",
                device=cards.say_device(self.view, device),
                place=device.place,
            )
            lines += len(wrap(text, SMALL, room, lines=3))
        return max(72.0, lines * LEAD + 26.0)

    def _draw_busbars(self, bus: Part, y: float, *, tagged: bool) -> float:
        """Draw two bars one above the other, and what leaves them to the right."""
        circuit = self.view.circuit
        plus_y, minus_y = y + 44.0, y + 76.0
        feeds = [
            one
            for one in circuit.cables
            if one.role in ORDER and bus.id in (one.start_part, one.end_part)
        ]
        feeds.sort(key=lambda one: ORDER[one.role])
        name = phrase("{id} {name}", id=bus.id, name=bus.name)
        self.sheet.text(LEFT, y + 20.0, name, size=SIZE, bold=True, owner=bus.id)
        for pole, height in zip(DC, (plus_y, minus_y), strict=True):
            self.sheet.wire(pole, ((LEFT + 26.0, height), (COLUMN, height)), of=bus.id, wide=True)
            self.sheet.text(LEFT + 6.0, height + 5.0, pole, size=15, bold=True, owner=bus.id)
        self._draw_entries(bus, y, plus_y, minus_y, tagged=tagged)
        exit_y, x = minus_y + 58.0, STUDS
        for cable in feeds:
            for pole, spot_x, bar_y, spot_y in (
                ("+", x, plus_y, exit_y),
                ("−", x - 16.0, minus_y, exit_y + 14.0),
            ):
                wire: Polarity = "+" if pole == "+" else "−"
                crossed = minus_y if pole == "+" else None
                self._past_bar(wire, spot_x, bar_y, spot_y, bar_y=crossed, of=cable.id)
                self.sheet.stud(spot_x, bar_y)
            self.leaving.append(Leaving(cable, ((x, exit_y), (x - 16.0, exit_y + 14.0))))
            for device in circuit.devices_in(cable.id):
                if device.kind == "fuse":
                    cards.fuse_pill(self.sheet, x, minus_y + 26.0, upright=True, owner=device.id)
                    self.sheet.text(x + 9.0, minus_y + 30.0, device.id, size=SMALL, owner=device.id)
            x -= STUD_PITCH
            exit_y += 30.0
        bottom = exit_y + 4.0 if feeds else minus_y + 24.0
        for pole, height, axis in zip(DC, (plus_y, minus_y), AXIS, strict=True):
            crossed = minus_y if pole == "+" else None
            self._past_bar(pole, axis, height, bottom, bar_y=crossed, of="main")
            self.sheet.stud(axis, height)
        return bottom

    def _past_bar(
        self, pole: Polarity, x: float, start: float, end: float, *, bar_y: float | None, of: str
    ) -> None:
        """Draw an upright conductor that may pass over a bar, with a gap beside it there."""
        self.sheet.wire(pole, ((x, start), (x, end)), of=of)
        if bar_y is not None:
            self.sheet.wire(pole, ((x, bar_y - 9.0), (x, bar_y + 9.0)), of=of, halo=True)

    def _draw_entries(
        self, bus: Part, y: float, plus_y: float, minus_y: float, *, tagged: bool
    ) -> None:
        """Draw what comes to the bars from above."""
        sources = [
            one.start_part
            for one in self.view.circuit.arriving(bus.id)
            if one.role in ("controller", "array")
        ]
        if not sources:
            return
        top = y + 26.0 if tagged else y
        if tagged:
            self.sheet.text(
                AXIS_TEXT,
                y + 30.0,
                "from " + ", ".join(sources),
                size=SMALL,
                bold=True,
                owner=bus.id,
            )
        for pole, height, axis in zip(DC, (plus_y, minus_y), AXIS, strict=True):
            crossed = plus_y if pole == "−" else None
            self._past_bar(pole, axis, top, height, bar_y=crossed, of="entry")

    def draw(self, y: float, *, tagged: bool) -> float:
        """Draw busbars, if there are any, and the bank below; return the lower edge."""
        circuit = self.view.circuit
        for bus in circuit.of_kind("bus"):
            y = self._draw_busbars(bus, y, tagged=tagged)
            for cable in circuit.of_role("main"):
                y = self.axis_cable(cable, y)
        single = self._single_feed()
        if single is not None:
            spots = ((AXIS[0], y + 22.0), (AXIS[1], y + 36.0))
            self.leaving.append(Leaving(single, spots))
            for pole, (x, height) in zip(DC, spots, strict=True):
                self.sheet.wire(pole, ((x, height), (x, y + 56.0)), of=single.id)
            y += 56.0
        return self._draw_batteries(y)

    def _single_feed(self) -> Cable | None:
        """What the batteries feed straight, where there are no busbars."""
        circuit = self.view.circuit
        if circuit.of_kind("bus"):
            return None
        sources = {part.id for kind in ("battery", "bank_bus") for part in circuit.of_kind(kind)}
        return next(
            (
                cable
                for cable in circuit.cables
                if cable.role in ORDER and sources & {cable.start_part, cable.end_part}
            ),
            None,
        )

    def axis_cable(
        self, cable: Cable, y: float, *, words_y: float | None = None, short: bool = False
    ) -> float:
        """Draw an upright piece of a cable along the axis, with its words; return its end.

        ``short``: leave room for a tag at the end.
        """
        room = COLUMN - AXIS_TEXT - 4.0
        words_y = y if words_y is None else words_y
        switches = [one for one in self.view.circuit.devices_in(cable.id) if one.kind in _SWITCHES]
        end = words_y + max(
            self.words_height(cable, room=room), 56.0 + _SWITCH_HIGH * len(switches)
        )
        stop = end - 22.0 if short else end
        for pole, x in zip(DC, AXIS, strict=True):
            self.sheet.wire(pole, ((x, y), (x, stop)), of=cable.id)
        self.write_beside(cable, AXIS_TEXT, words_y, room=room, fuse_at=(AXIS[0], stop - 22.0))
        for number, device in enumerate(switches):
            both = len(device.poles) > 1
            cards.switch_box(
                self.sheet,
                sum(AXIS) / 2 if both else AXIS[0],
                stop - 58.0 - _SWITCH_HIGH * number,
                wide=AXIS[1] - AXIS[0] + 12.0 if both else 26.0,
                owner=device.id,
            )
        return end

    def _draw_batteries(self, y: float) -> float:
        """Draw the bank: one row a string, joined to the two conductors of the axis."""
        circuit = self.view.circuit
        strings = circuit.of_kind("battery")
        links = {one.start_part: one for one in circuit.of_role("battery")}
        joined = next(
            (phrase(", joined in {id}", id=one.id) for one in circuit.of_kind("bank_bus")), ""
        )
        texts = [self._battery_words(part, links.get(part.id)) for part in strings]
        highs = [max(66.0, len(lines) * 15.0 + 18.0) for lines in texts]
        lower = y + 40.0 + sum(highs)
        self.sheet.outline(LEFT, y, COLUMN, lower, what="battery card", owner="bank", round_=8)
        self.sheet.text(
            LEFT + 10.0,
            y + 20.0,
            shorten(
                phrase("Battery{joined}", joined=joined), SIZE, AXIS[0] - LEFT - 18.0, bold=True
            ),
            size=SIZE,
            bold=True,
            owner="bank",
        )
        top = y + 34.0
        last = top
        for part, lines, high in zip(strings, texts, highs, strict=True):
            middle = top + high / 2
            self._draw_battery_row(part, links.get(part.id), middle, lines)
            last = middle
            top += high
        self.sheet.wire("+", ((AXIS[0], y), (AXIS[0], last - 6.0)), of="bank")
        self.sheet.wire("−", ((AXIS[1], y), (AXIS[1], last + 26.0)), of="bank")
        return lower

    def _battery_words(self, part: Part, link: Cable | None) -> list[tuple[str, bool]]:
        many = phrase("{count} in series: ", count=part.count) if part.count > 1 else ""
        room = AXIS[0] - LEFT - 26.0
        lines = [
            (line, True)
            for line in wrap(
                phrase("{id} {many}{name}", id=part.id, many=many, name=part.name),
                SMALL,
                room,
                lines=4,
                bold=True,
            )
        ]
        if link is not None:
            for device in self.view.circuit.devices_in(link.id):
                lines += [
                    (line, False) for line in wrap(cards.say_device(self.view, device), SMALL, room)
                ]
            lines += [(line, False) for line in wrap(cards.say_cable(self.view, link), SMALL, room)]
        return lines

    def _draw_battery_row(
        self, part: Part, link: Cable | None, y: float, lines: list[tuple[str, bool]]
    ) -> None:
        self.sheet.group(
            phrase("{id}, {count} × {name}", id=part.id, count=part.count, name=part.name)
        )
        baseline = y - 15.0 * len(lines) / 2 + 11.0
        for index, (words, bold) in enumerate(lines):
            self.sheet.text(
                LEFT + 10.0, baseline + 15.0 * index, words, size=SMALL, bold=bold, owner=part.id
            )
        plus_y, back_y = y - 6.0, y + 26.0
        first = 270.0
        shown = min(part.count, 2)
        end = first + 48.0 + (shown - 1) * 62.0
        self.sheet.wire("+", ((AXIS[0], plus_y), (first, plus_y)), of=part.id, halo=True)
        self.sheet.wire(
            "−",
            ((end, plus_y), (end + 8.0, plus_y), (end + 8.0, back_y), (AXIS[1], back_y)),
            of=part.id,
        )
        if 1 < part.count == shown:
            self.sheet.wire("−", ((first + 48.0, plus_y), (first + 62.0, plus_y)), of=part.id)
        if link is not None:
            cards.fuse_pill(self.sheet, 254.0, plus_y, upright=False, owner=part.id)
            self.sheet.dot("+", AXIS[0], plus_y)
            self.sheet.dot("−", AXIS[1], back_y)
        for position in range(shown):
            cards.battery_box(self.sheet, first + position * 62.0, plus_y, owner=part.id)
        if part.count > shown:
            for shift in (51.0, 55.0, 59.0):
                self.sheet.circle(first + shift, plus_y, 1.2, fill=INK, width=0.5)
        self.sheet.end()
