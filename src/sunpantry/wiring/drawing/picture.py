"""What goes where, without symbols: things as they look, and which screw each cable goes to.

The left column follows the current from the panels down to the battery; the right one
lists what is fed. Conductors are laid so that they do not cross; where one must pass a
bar it is drawn over it with a gap.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass, field

from sunpantry.phrases import phrase
from sunpantry.wiring.cables import Run
from sunpantry.wiring.drawing import cards
from sunpantry.wiring.drawing.cards import LEAD, SIZE, SMALL
from sunpantry.wiring.drawing.finished import Drawing, describe
from sunpantry.wiring.drawing.picture_store import (
    AXIS,
    CASE_LEFT,
    COLUMN,
    DC,
    EDGE,
    LANES,
    LEFT,
    PLACES,
    RIGHT,
    SUN_MINUS,
    SUN_PLUS,
    Store,
)
from sunpantry.wiring.drawing.picture_words import draw_foot, draw_steps
from sunpantry.wiring.drawing.right_column import Leaving, RightColumn
from sunpantry.wiring.drawing.rows import View
from sunpantry.wiring.drawing.sheet import SOFT, Sheet
from sunpantry.wiring.drawing.text import Voice, speaking, wrap
from sunpantry.wiring.graph import Cable, Circuit, Part, Polarity
from sunpantry.wiring.protect import Protection

TOP = 64.0


def plain_picture(
    circuit: Circuit,
    runs: Iterable[Run],
    protections: Iterable[Protection],
    *,
    name: str,
    steps: Sequence[str] = (),
    narrow: bool = False,
    voice: Voice = str,
) -> Drawing:
    """Draw what goes where for people who do not read circuit symbols.

    Parameters
    ----------
    circuit, runs, protections
        A circuit with its sizes, from :func:`sunpantry.wiring.wire`.
    name : str
        Name of the design, for the title.
    steps : sequence of str
        Order of connection, printed beside the picture.
    narrow : bool
        One column, for a telephone; else two, for a page.
    voice : callable
        Says a phrase in the language and with the numbers of the reader.

    Returns
    -------
    Drawing
        In upright format.
    """
    picture = _Picture(View.of(circuit, runs, protections), narrow)
    with speaking(voice):
        picture.draw(name, steps)
    return Drawing(
        picture.sheet, phrase("What goes where: {name}", name=name), describe(picture.view), voice
    )


@dataclass
class _Picture:
    view: View
    narrow: bool = False
    sheet: Sheet = field(default_factory=Sheet)
    right_y: float = 0.0
    leaving: list[Leaving] = field(default_factory=list)

    def __post_init__(self) -> None:
        self.store = Store(self.sheet, self.view, self.leaving)

    def draw(self, name: str, steps: Sequence[str]) -> None:
        """Draw everything."""
        title = wrap(
            phrase("What goes where: {name}", name=name),
            17.0,
            self.edge - LEFT,
            lines=1,
            bold=True,
        )
        self.sheet.lines(LEFT, 32.0, title, size=17.0, bold=True)
        if not self.narrow:
            self.right_y = draw_steps(self.sheet, steps, left=RIGHT, top=TOP, edge=self.edge)
        circuit = self.view.circuit
        controllers = circuit.of_kind("controller")
        y = TOP
        for part in controllers:
            y = self._draw_chain(part, y, of=len(controllers))
        if not controllers:
            y = self._draw_open_panels(y)
        if circuit.of_kind("battery"):
            y = self.store.draw(y, tagged=len(controllers) > 1)
        for cable in circuit.direct_pumps():
            y = self._draw_direct_pump(cable, y + 24.0 if y > TOP else y)
        if self.narrow:
            below = RightColumn(
                self.sheet, self.view, left=LEFT, right=COLUMN, lanes=COLUMN + 20.0, below=True
            )
            y = below.draw_below(self.leaving, y + 8.0)
            self.right_y = draw_steps(self.sheet, steps, left=LEFT, top=y, edge=self.edge)
        else:
            right = RightColumn(self.sheet, self.view, left=RIGHT, right=EDGE, lanes=LANES)
            self.right_y = right.draw(self.leaving, self.right_y)
        draw_foot(
            self.sheet,
            self.view,
            max(y, self.right_y) + 24.0,
            left=LEFT,
            edge=self.edge,
            narrow=self.narrow,
        )

    @property
    def edge(self) -> float:
        """Right edge of what is written."""
        return COLUMN if self.narrow else EDGE

    def _go_right(
        self,
        cable: Cable,
        spots: tuple[tuple[float, float], tuple[float, float]],
        *,
        start_y: float,
    ) -> None:
        """Lead a pair down from terminals at ``start_y``; it goes on to the right later."""
        for pole, (x, y) in zip(DC, spots, strict=True):
            self.sheet.wire(pole, ((x, start_y), (x, y)), of=cable.id)
        self.leaving.append(Leaving(cable, spots))

    # ---- the left column -----------------------------------------------------------

    def _strings_of(self, target: Part) -> tuple[list[Part], Cable | None]:
        """Strings whose current arrives at a part, and the last cable of their way."""
        for cable in self.view.circuit.arriving(target.id):
            source = self.view.circuit.by_id[cable.start_part]
            if source.kind == "string":
                return [source], cable
            if source.kind == "combiner":
                strings = self.view.circuit.arriving(source.id)
                return [self.view.circuit.by_id[one.start_part] for one in strings], cable
        return [], None

    def _draw_panels(self, strings: Sequence[Part], y: float) -> float:
        """Draw a card with rows of panels; return its lower edge."""
        across = max(part.count for part in strings)
        wide = cards.panels_width(across)
        text_x = LEFT + wide + 26.0
        width = COLUMN - text_x - 8.0
        kinds = list(dict.fromkeys((part.name, part.count) for part in strings))
        words: list[tuple[str, bool]] = []
        for name, count in kinds:
            rows = sum((part.name, part.count) == (name, count) for part in strings)
            many = phrase("{count} in series: ", count=count) if count > 1 else ""
            many = (
                phrase("{rows} rows of {what}", rows=rows, what=many or "1: ") if rows > 1 else many
            )
            words += [(line, True) for line in wrap(many + name, SIZE, width, lines=3, bold=True)]
        words += [(line, False) for line in self._joined_words(strings, width)]
        ids = (
            phrase("{first} to {last}", first=strings[0].id, last=strings[-1].id)
            if len(strings) > 1
            else strings[0].id
        )
        high = max(len(words) * LEAD + 24.0, min(len(strings), cards.MOST_SHOWN) * 29.0 + 20.0)
        self.sheet.group(phrase("Panels {ids}", ids=ids))
        self.sheet.outline(LEFT, y, COLUMN, y + high, what="panels card", owner="panels")
        cards.panels(
            self.sheet, LEFT + 14.0, y + 12.0, rows=len(strings), across=across, owner="panels"
        )
        for index, (line, bold) in enumerate(words):
            self.sheet.text(
                text_x,
                y + 24.0 + index * LEAD,
                line,
                size=SIZE if bold else SMALL,
                bold=bold,
                owner="panels",
            )
        self.sheet.end()
        return y + high

    def _joined_words(self, strings: Sequence[Part], width: float) -> list[str]:
        """How the strings are joined, in words."""
        view = self.view
        cables = [cable for part in strings for cable in view.children(part)]
        if len(strings) == 1:
            return list(wrap(strings[0].detail, SMALL, width, lines=2))
        fuses = [one for cable in cables for one in view.circuit.devices_in(cable.id)]
        box = view.circuit.by_id[cables[0].end_part]
        text = phrase("joined in {id}, {name}", id=box.id, name=box.name)
        if fuses:
            text += phrase(
                ", each through a fuse {label}", label=view.protections[fuses[0].id].label
            )
        return list(
            wrap(
                phrase("{text}; {cable}", text=text, cable=cards.say_cable(view, cables[0])),
                SMALL,
                width,
                lines=4,
            )
        )

    def _draw_chain(self, part: Part, y: float, *, of: int) -> float:
        """Draw panels, switch and controller; return where the battery cable has got to."""
        strings, cable = self._strings_of(part)
        case_top = y
        if cable is not None:
            lower = self._draw_panels(strings, y)
            room = COLUMN - 80.0
            case_top = lower + self.store.words_height(cable, room=room)
            self.store.write_beside(cable, 76.0, lower, room=room, fuse_at=(SUN_PLUS, case_top))
        strip_y = self._draw_case(part, case_top)
        if cable is not None:
            ends = (("+", SUN_PLUS, 16.0), ("−", SUN_MINUS, 28.0))
            for (pole, x, down), terminal in zip(ends, part.port("PV"), strict=True):
                wire: Polarity = "+" if pole == "+" else "−"
                target = PLACES[terminal.name]
                self.sheet.wire(
                    wire,
                    ((x, lower), (x, strip_y + down), (target, strip_y + down), (target, strip_y)),
                    of=cable.id,
                )
            if any(one.kind == "isolator" for one in self.view.circuit.devices_in(cable.id)):
                middle = (SUN_PLUS + SUN_MINUS) / 2
                cards.switch_box(
                    self.sheet, middle, (lower + case_top) / 2 + 4.0, wide=36.0, owner=cable.id
                )
        for one in self.view.children(part):
            if one.role != "controller":
                spots = ((PLACES["LOAD+"], strip_y + 30.0), (PLACES["LOAD−"], strip_y + 16.0))
                self._go_right(one, spots, start_y=strip_y)
        return self._draw_battery_cable(part, strip_y, tagged=of > 1)

    def _draw_case(self, part: Part, top: float) -> float:
        """Draw a controller with its strip; return the height of its screws."""
        name = wrap(
            phrase("{id} {name}", id=part.id, name=part.name),
            SIZE,
            COLUMN - CASE_LEFT - 24.0,
            bold=True,
        )
        high = len(name) * LEAD + 84.0
        self.sheet.group(phrase("{id}, {name}", id=part.id, name=part.name))
        self.sheet.outline(
            CASE_LEFT,
            top,
            COLUMN,
            top + high,
            what="controller",
            owner=part.id,
            fill=cards.CASE,
            round_=8,
        )
        y = self.sheet.lines(
            CASE_LEFT + 14.0,
            top + 22.0,
            name,
            size=SIZE,
            bold=True,
            owner=part.id,
            lead=LEAD / SIZE,
        )
        for line in wrap(part.detail, SMALL, COLUMN - CASE_LEFT - 24.0, lines=1):
            self.sheet.text(CASE_LEFT + 14.0, y, line, size=SMALL, colour=SOFT, owner=part.id)
        strip_y = top + high
        cards.terminal_strip(self.sheet, part, PLACES, y=strip_y)
        words = {"PV": phrase("panels"), "BAT": phrase("battery"), "LOAD": phrase("loads")}
        for prefix, word in words.items():
            port = part.port(prefix)
            if port:
                x = sum(PLACES[one.name] for one in port) / 2
                self.sheet.text(x, strip_y - 36.0, word, size=SMALL, anchor="middle", owner=part.id)
        self.sheet.end()
        return strip_y

    def _draw_battery_cable(self, part: Part, strip_y: float, *, tagged: bool) -> float:
        charge = [one for one in self.view.children(part) if one.role == "controller"]
        if not charge:
            return strip_y + 40.0
        cable = charge[0]
        # The words start below the loops of the other terminals.
        lower = self.store.axis_cable(cable, strip_y, words_y=strip_y + 36.0, short=tagged)
        if tagged:
            target = self.view.circuit.by_id[cable.end_part]
            cards.tag(
                self.sheet,
                sum(AXIS) / 2,
                lower - 22.0,
                phrase("to {id}", id=target.id),
                owner=cable.id,
            )
            return lower + 22.0
        return lower

    def _draw_open_panels(self, y: float) -> float:
        """Draw panels with no controller: to a power bank, to loads, or to the battery."""
        circuit = self.view.circuit
        banks = circuit.of_kind("power_bank")
        pumps = {cable.start_part for cable in circuit.direct_pumps()}
        sources = [
            part
            for part in (*circuit.of_kind("combiner"), *circuit.of_kind("string"))
            if part.id not in pumps
            and all(circuit.by_id[c.end_part].kind != "combiner" for c in self.view.children(part))
        ]
        for source in sources[:1]:
            arriving = [one for one in circuit.arriving(source.id) if one.role != "earth"]
            strings = [circuit.by_id[one.start_part] for one in arriving] or [source]
            lower = self._draw_panels(strings, y)
            for cable in self.view.children(source)[:1]:
                target = circuit.by_id[cable.end_part]
                if target.kind in ("power_bank", "battery", "bus", "bank_bus"):
                    lower = self.store.axis_cable(cable, lower)
                else:
                    spots = ((PLACES["LOAD+"], lower + 30.0), (PLACES["LOAD−"], lower + 16.0))
                    self._go_right(cable, spots, start_y=lower)
                    lower += 40.0
            y = lower
        for bank in banks[:1]:
            y = self._draw_power_bank(bank, y)
        return y

    def _draw_direct_pump(self, cable: Cable, y: float) -> float:
        """Draw the panels of a pump that hangs straight on them; its card stands on the right."""
        circuit = self.view.circuit
        source = circuit.by_id[cable.start_part]
        arriving = [one for one in circuit.arriving(source.id) if one.role != "earth"]
        strings = [circuit.by_id[one.start_part] for one in arriving] or [source]
        lower = self._draw_panels(strings, y)
        room = COLUMN - 80.0
        end = lower + self.store.words_height(cable, room=room)
        self.store.write_beside(cable, 76.0, lower, room=room, fuse_at=(SUN_PLUS, end))
        self._go_right(cable, ((SUN_PLUS, end), (SUN_MINUS, end + 14.0)), start_y=lower)
        middle = (SUN_PLUS + SUN_MINUS) / 2
        cards.switch_box(self.sheet, middle, (lower + end) / 2, wide=36.0, owner=cable.id)
        return end + 30.0

    def _draw_power_bank(self, bank: Part, y: float) -> float:
        many = phrase("{count} × ", count=bank.count) if bank.count > 1 else ""
        name = wrap(
            phrase("{id} {many}{name}", id=bank.id, many=many, name=bank.name),
            SIZE,
            COLUMN - CASE_LEFT - 24.0,
            bold=True,
        )
        lower = y + len(name) * LEAD + 52.0
        self.sheet.outline(
            CASE_LEFT,
            y,
            COLUMN,
            lower,
            what=phrase("power bank"),
            owner=bank.id,
            fill=cards.CASE,
            round_=12,
        )
        below = self.sheet.lines(
            CASE_LEFT + 14.0, y + 24.0, name, size=SIZE, bold=True, owner=bank.id, lead=LEAD / SIZE
        )
        self.sheet.text(
            CASE_LEFT + 14.0,
            below,
            phrase("5 V sockets below"),
            size=SMALL,
            colour=SOFT,
            owner=bank.id,
        )
        for cable in self.view.children(bank)[:1]:
            spots = ((PLACES["LOAD+"], lower + 30.0), (PLACES["LOAD−"], lower + 16.0))
            self._go_right(cable, spots, start_y=lower)
        return lower + 40.0
