"""A sheet of paper to draw on: writes SVG and remembers where everything is.

Wires differ by thickness and dash as well as by colour, so that a drawing reads in
black and white. Everything placed is kept as boxes and segments, for checking that
nothing overlaps.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from html import escape
from itertools import pairwise

from sunpantry.wiring.drawing.text import spoken, text_width
from sunpantry.wiring.graph import Polarity

INK = "#1c1c1c"
SOFT = "#55565a"
PAPER = "#ffffff"
FONT = "'Source Sans Pro', 'Source Sans 3', Helvetica, Arial, 'Liberation Sans', sans-serif"
ASCENT, DESCENT = 0.76, 0.24
HOP = 5.0


@dataclass(frozen=True, slots=True)
class Pen:
    """How a wire is drawn."""

    colour: str
    width: float
    dash: str = ""


PENS: dict[Polarity, Pen] = {
    "+": Pen("#b4231a", 2.6),
    "−": Pen("#1c1c1c", 1.3),
    "L": Pen("#6b3f1d", 2.6),
    "N": Pen("#1f4e9c", 1.3),
    "PE": Pen("#2f7d32", 1.6, "7 3"),
}


@dataclass(frozen=True, slots=True)
class Box:
    """Where something is; ``owner`` tells what it belongs to."""

    left: float
    top: float
    right: float
    bottom: float
    what: str = ""
    owner: str = ""

    def overlaps(self, other: Box, *, clear: float = 0.0) -> bool:
        """Whether two boxes come nearer than ``clear``."""
        return (
            self.left < other.right + clear
            and other.left < self.right + clear
            and self.top < other.bottom + clear
            and other.top < self.bottom + clear
        )

    def holds(self, other: Box) -> bool:
        """Whether the other box lies wholly inside."""
        return (
            self.left <= other.left
            and self.right >= other.right
            and self.top <= other.top
            and self.bottom >= other.bottom
        )


Point = tuple[float, float]


class Sheet:
    """A drawing in the making.

    Attributes
    ----------
    texts, boxes, wires : list of Box
        Everything placed: lines of text, outlines of parts, segments of wire.
    hops, joints : list of Box
        Points where a conductor crosses another without joining, and where it joins.
    """

    def __init__(self) -> None:
        self.texts: list[Box] = []
        self.boxes: list[Box] = []
        self.wires: list[Box] = []
        self.hops: list[Box] = []
        self.joints: list[Box] = []
        self._drawn: list[str] = []
        self._right = 0.0
        self._bottom = 0.0

    def _reach(self, x: float, y: float) -> None:
        self._right = max(self._right, x)
        self._bottom = max(self._bottom, y)

    @property
    def right(self) -> float:
        """Largest x used."""
        return self._right

    @property
    def bottom(self) -> float:
        """Largest y used."""
        return self._bottom

    def text(
        self,
        x: float,
        y: float,
        words: str,
        *,
        size: float = 11.0,
        anchor: str = "start",
        bold: bool = False,
        colour: str = INK,
        owner: str = "",
    ) -> Box:
        """Write one line with its baseline at ``y``."""
        words = spoken(words)
        width = text_width(words, size, bold=bold)
        left = x - {"start": 0.0, "middle": width / 2, "end": width}[anchor]
        box = Box(left, y - ASCENT * size, left + width, y + DESCENT * size, words, owner)
        self.texts.append(box)
        self._reach(box.right, box.bottom)
        weight = ' font-weight="700"' if bold else ""
        place = "" if anchor == "start" else f' text-anchor="{anchor}"'
        self._drawn.append(
            f'<text x="{_n(x)}" y="{_n(y)}" font-size="{_n(size)}" fill="{colour}"{weight}{place}>'
            f"{escape(words)}</text>"
        )
        return box

    def lines(
        self,
        x: float,
        y: float,
        words: Sequence[str],
        *,
        size: float = 11.0,
        anchor: str = "start",
        bold: bool = False,
        colour: str = INK,
        owner: str = "",
        lead: float = 1.18,
    ) -> float:
        """Write several lines downwards; return the baseline the next one would have."""
        for line in words:
            self.text(x, y, line, size=size, anchor=anchor, bold=bold, colour=colour, owner=owner)
            y += lead * size
        return y

    def outline(
        self,
        left: float,
        top: float,
        right: float,
        bottom: float,
        *,
        what: str = "",
        owner: str = "",
        round_: float = 4.0,
        fill: str = PAPER,
        width: float = 1.4,
        colour: str = INK,
    ) -> Box:
        """Draw the outline of a part and remember it as a box."""
        box = self.reserve(left, top, right, bottom, what=what, owner=owner)
        self._drawn.append(
            f'<rect x="{_n(left)}" y="{_n(top)}" width="{_n(right - left)}" '
            f'height="{_n(bottom - top)}" rx="{_n(round_)}" fill="{fill}" stroke="{colour}" '
            f'stroke-width="{_n(width)}"/>'
        )
        return box

    def frame(
        self, left: float, top: float, right: float, bottom: float, *, owner: str = ""
    ) -> None:
        """Draw an outline around things that are there already."""
        self.reserve(left, top, right, bottom, what="frame", owner=owner)
        self.stroke(
            ((left, top), (right, top), (right, bottom), (left, bottom)), closed=True, width=1.4
        )

    def reserve(
        self,
        left: float,
        top: float,
        right: float,
        bottom: float,
        *,
        what: str = "",
        owner: str = "",
    ) -> Box:
        """Remember a space that a symbol fills."""
        box = Box(left, top, right, bottom, what, owner)
        self.boxes.append(box)
        self._reach(right, bottom)
        return box

    def stroke(
        self,
        points: Iterable[Point],
        *,
        width: float = 1.4,
        fill: str = "none",
        closed: bool = False,
        colour: str = INK,
        dash: str = "",
    ) -> None:
        """Draw a line of a symbol; nothing is remembered."""
        path = " ".join(f"{_n(x)},{_n(y)}" for x, y in points)
        shape = "polygon" if closed else "polyline"
        dashes = f' stroke-dasharray="{dash}"' if dash else ""
        self._drawn.append(
            f'<{shape} points="{path}" fill="{fill}" stroke="{colour}" '
            f'stroke-width="{_n(width)}" stroke-linecap="round" stroke-linejoin="round"{dashes}/>'
        )

    def circle(
        self,
        x: float,
        y: float,
        radius: float,
        *,
        fill: str = PAPER,
        width: float = 1.4,
        colour: str = INK,
    ) -> None:
        """Draw a circle of a symbol; nothing is remembered."""
        self._drawn.append(
            f'<circle cx="{_n(x)}" cy="{_n(y)}" r="{_n(radius)}" fill="{fill}" '
            f'stroke="{colour}" stroke-width="{_n(width)}"/>'
        )

    def wire(
        self,
        pole: Polarity,
        points: Sequence[Point],
        *,
        hops: Iterable[float] = (),
        of: str = "",
        wide: bool = False,
        halo: bool = False,
    ) -> None:
        """Draw a conductor along points; horizontal parts hop over the given x.

        ``wide``: a bar. ``halo``: it passes over what is beneath, with a gap beside it.
        """
        pen = PENS[pole]
        path = [f"M{_n(points[0][0])} {_n(points[0][1])}"]
        for (x1, y1), (x2, y2) in pairwise(points):
            self.wires.append(Box(min(x1, x2), min(y1, y2), max(x1, x2), max(y1, y2), pole, of))
            forward = 1.0 if x2 >= x1 else -1.0
            if y1 == y2:
                inside = [x for x in hops if min(x1, x2) + HOP < x < max(x1, x2) - HOP]
                self.hops += [Box(x, y1, x, y1, pole, of) for x in inside]
                for x in sorted(inside, reverse=forward < 0):
                    sweep = 1 if forward > 0 else 0
                    path.append(f"L{_n(x - forward * HOP)} {_n(y1)}")
                    path.append(
                        f"A{_n(HOP)} {_n(HOP)} 0 0 {sweep} {_n(x + forward * HOP)} {_n(y1)}"
                    )
            path.append(f"L{_n(x2)} {_n(y2)}")
            self._reach(max(x1, x2), max(y1, y2))
        if halo:
            self._drawn.append(
                f'<path d="{" ".join(path)}" fill="none" stroke="{PAPER}" '
                f'stroke-width="{_n(pen.width + 7.0)}"/>'
            )
        dashes = f' stroke-dasharray="{pen.dash}"' if pen.dash and not wide else ""
        self._drawn.append(
            f'<path d="{" ".join(path)}" fill="none" stroke="{pen.colour}" '
            f'stroke-width="{_n(pen.width + (3.0 if wide else 0.0))}" '
            f'stroke-linejoin="round"{dashes}/>'
        )

    def dot(self, pole: Polarity, x: float, y: float) -> None:
        """Mark a joint of conductors."""
        self.joints.append(Box(x, y, x, y, pole))
        pen = PENS[pole]
        self.circle(x, y, 3.2, fill=pen.colour, width=0.5, colour=pen.colour)

    def stud(self, x: float, y: float) -> None:
        """Mark a screw on a bar."""
        self.joints.append(Box(x, y, x, y, "stud"))
        self.circle(x, y, 2.6, width=1.0)

    def group(self, title: str) -> None:
        """Open a group with a text alternative."""
        self._drawn.append(f"<g><title>{escape(spoken(title))}</title>")

    def end(self) -> None:
        """Close the group."""
        self._drawn.append("</g>")

    def svg(self, *, title: str, description: str, margin: float = 20.0) -> str:
        """Give the finished drawing as SVG text."""
        width, height = self._right + margin, self._bottom + margin
        return "\n".join(
            (
                f'<svg xmlns="http://www.w3.org/2000/svg" viewBox="0 0 {_n(width)} {_n(height)}" '
                f'width="{_n(width)}" height="{_n(height)}" role="img" '
                f'aria-labelledby="drawing-title drawing-text" font-family="{FONT}">',
                f'<title id="drawing-title">{escape(title)}</title>',
                f'<desc id="drawing-text">{escape(description)}</desc>',
                f'<rect width="100%" height="100%" fill="{PAPER}"/>',
                *self._drawn,
                "</svg>",
                "",
            )
        )


def _n(number: float) -> str:
    """Write a coordinate to a hundredth, without needless zeros."""
    return f"{number:.2f}".rstrip("0").rstrip(".")
