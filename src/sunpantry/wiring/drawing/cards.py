"""Things as a person sees them: panels, batteries, a controller, rows of loads.

Used by the plain picture, which shows no symbols that have to be learnt.
"""

from __future__ import annotations

from sunpantry.phrases import phrase
from sunpantry.physics.protection import BLADE_COLOURS
from sunpantry.wiring.drawing import symbols
from sunpantry.wiring.drawing.rows import View
from sunpantry.wiring.drawing.sheet import INK, SOFT, Sheet
from sunpantry.wiring.drawing.text import text_width, wrap
from sunpantry.wiring.graph import Cable, Device, Part

SIZE = 13.0
SMALL = 11.5
LEAD = 16.0
ROW_HIGH = 50.0
MOST_SHOWN = 4
GLASS = "#dfe7f1"
CASE = "#f4f1ea"


def say_cable(view: View, cable: Cable) -> str:
    """A cable in words: identity, size, colours, length."""
    run = view.runs[cable.id]
    return phrase(
        "{id}: {label}, {length_m:g} m", id=cable.id, label=run.label, length_m=cable.length_m
    )


def say_device(view: View, device: Device) -> str:
    """A device in words: identity, kind, rating."""
    found = view.protections[device.id]
    names = {
        "fuse": phrase("fuse"),
        "isolator": phrase("DC switch"),
        "disconnect": phrase("low-voltage disconnect"),
        "residual_breaker": phrase("RCD breaker"),
    }
    colour = (
        phrase(" ({colour})", colour=BLADE_COLOURS[found.rating_a])
        if found.kind == "blade" and (found.rating_a in BLADE_COLOURS)
        else ""
    )
    return phrase(
        "{id}: {device} {label}{colour}",
        id=device.id,
        device=names[device.kind],
        label=found.label,
        colour=colour,
    )


def panels(sheet: Sheet, x: float, y: float, *, rows: int, across: int, owner: str) -> float:
    """Draw rows of panels; return the height used."""
    wide, high, gap = 34.0, 24.0, 5.0
    shown_rows, shown = min(rows, MOST_SHOWN), min(across, MOST_SHOWN)
    for row in range(shown_rows):
        for column in range(shown):
            left, top = x + column * (wide + gap), y + row * (high + gap)
            sheet.outline(
                left,
                top,
                left + wide,
                top + high,
                what="panel",
                owner=owner,
                round_=1.5,
                fill=GLASS,
                width=1.2,
            )
            for line in (1, 2):
                sheet.stroke(
                    ((left + line * wide / 3, top), (left + line * wide / 3, top + high)),
                    width=0.6,
                    colour=SOFT,
                )
            sheet.stroke(
                ((left, top + high / 2), (left + wide, top + high / 2)), width=0.6, colour=SOFT
            )
    return shown_rows * (high + gap) - gap


def panels_width(across: int) -> float:
    """Width :func:`panels` takes."""
    return min(across, MOST_SHOWN) * 39.0 - 5.0


def battery_box(sheet: Sheet, x: float, y: float, *, owner: str) -> None:
    """Draw one battery, 48 wide, its + at the left and its − at the right of height ``y``."""
    sheet.outline(x, y - 12, x + 48, y + 22, what="battery", owner=owner, round_=3, fill=CASE)
    for mark, at, anchor in (("+", x + 5, "start"), ("−", x + 43, "end")):
        sheet.text(at, y + 5, mark, size=14, anchor=anchor, bold=True, owner=owner)


def fuse_pill(sheet: Sheet, x: float, y: float, *, upright: bool, owner: str) -> None:
    """Draw a fuse holder on a conductor, its middle at the point."""
    half_w, half_h = (5.5, 13.0) if upright else (13.0, 5.5)
    sheet.outline(
        x - half_w,
        y - half_h,
        x + half_w,
        y + half_h,
        what="fuse",
        owner=owner,
        round_=5.5,
        width=1.6,
    )
    dx, dy = (0.0, 8.0) if upright else (8.0, 0.0)
    sheet.stroke(((x - dx, y - dy), (x + dx, y + dy)), width=1.2)


def switch_box(sheet: Sheet, x: float, y: float, *, wide: float, owner: str) -> None:
    """Draw a switch with a knob across conductors, its middle at the point."""
    sheet.outline(
        x - wide / 2, y - 16, x + wide / 2, y + 16, what="switch", owner=owner, fill=CASE, width=1.6
    )
    sheet.circle(x, y, 9.5, width=1.4)
    sheet.stroke(((x - 5, y + 5), (x + 5, y - 5)), width=3.0)


def icon(sheet: Sheet, x: float, y: float, part: Part) -> None:
    """Draw what a load looks like, in a square of 34 around the point."""
    kind = part.symbol
    sheet.reserve(x - 17, y - 17, x + 17, y + 17, what="icon", owner=part.id)
    if kind == "light":
        sheet.circle(x, y - 4, 10)
        sheet.stroke(((x - 4, y + 7), (x + 4, y + 7)), width=2)
        sheet.stroke(((x - 3, y + 11), (x + 3, y + 11)), width=2)
        sheet.stroke(
            ((x - 4, y - 3), (x - 2, y - 7), (x, y - 3), (x + 2, y - 7), (x + 4, y - 3)), width=1.0
        )
    elif kind == "motor":
        sheet.circle(x, y, 12)
        for dx, dy in ((0, -9), (7.8, 4.5), (-7.8, 4.5)):
            sheet.stroke(((x, y), (x + dx, y + dy)), width=3.0)
        sheet.circle(x, y, 2.5, fill=INK)
    elif kind == "heater":
        for dx in (-8, 0, 8):
            sheet.stroke(
                [(x + dx + s, y + d) for s, d in ((0, 12), (3, 6), (-3, 0), (3, -6), (0, -12))],
                width=1.8,
            )
    elif kind in ("mains socket", "vehicle socket"):
        sheet.circle(x, y, 13)
        if kind == "mains socket":
            sheet.circle(x - 5, y, 2.2, fill=INK)
            sheet.circle(x + 5, y, 2.2, fill=INK)
        else:
            sheet.circle(x, y, 8)
            sheet.circle(x, y, 2.2, fill=INK)
    elif kind == "fence":
        for post in (-12.0, 12.0):
            sheet.stroke(((x + post, y - 13), (x + post, y + 13)), width=2.6)
        for wire in (-7.0, 9.0):
            sheet.stroke(((x - 16, y + wire), (x + 16, y + wire)), width=1.0)
        symbols.bolt(sheet, x, y + 1.0)
    elif kind == "electronics":
        sheet.stroke(
            ((x - 13, y - 10), (x + 13, y - 10), (x + 13, y + 6), (x - 13, y + 6)),
            closed=True,
            fill=GLASS,
        )
        sheet.stroke(((x - 6, y + 11), (x + 6, y + 11)), width=2)
    else:
        sheet.stroke(
            ((x - 12, y - 12), (x + 12, y - 12), (x + 12, y + 12), (x - 12, y + 12)),
            closed=True,
            fill=CASE,
        )
        sheet.circle(x, y, 3.5)


def terminal_strip(
    sheet: Sheet, part: Part, places: dict[str, float], *, y: float, high: float = 30.0
) -> None:
    """Draw the terminals of a controller in a row, in order, each with its name."""
    xs = [places[one.name] for one in part.terminals if one.name in places]
    sheet.stroke(
        ((min(xs) - 17, y - high), (max(xs) + 17, y - high), (max(xs) + 17, y), (min(xs) - 17, y)),
        closed=True,
        fill="#e9ebee",
    )
    for terminal in part.terminals:
        x = places.get(terminal.name)
        if x is None:
            continue
        sheet.circle(x, y - 9, 5.0)
        sheet.stroke(((x - 3, y - 12), (x + 3, y - 6)), width=1.4)
        sheet.text(x, y - 18, terminal.polarity, size=12, anchor="middle", bold=True, owner=part.id)


def load_row(
    sheet: Sheet,
    view: View,
    cable: Cable,
    part: Part,
    *,
    left: float,
    right: float,
    y: float,
) -> None:
    """Draw one row of a list: fuse, cable, the thing and its name, around ``y``."""
    sheet.group(
        phrase(
            "{id}, {name}: {cable}",
            id=part.id,
            name=part.name,
            cable=view.cable_label(cable),
        )
    )
    end = left + 196.0
    poles = [terminal.polarity for terminal in cable.start]
    spread = (-4.0, 4.0) if len(poles) == 2 else (-6.0, 0.0, 6.0)
    for pole, down in zip(poles, spread, strict=True):
        sheet.wire(pole, ((left, y + down), (end, y + down)), of=cable.id)
    words = [say_cable(view, cable)]
    for device in view.circuit.devices_in(cable.id):
        if device.kind == "fuse":
            fuse_pill(sheet, left + 24.0, y - 4.0, upright=False, owner=device.id)
        words.insert(0, say_device(view, device))
    if len(words) > 1:
        for line in wrap(words[0], SMALL, 192.0, lines=1):
            sheet.text(left + 4, y - 14, line, size=SMALL, owner=cable.id)
    sheet.text(left + 4, y + 20, words[-1], size=SMALL, colour=SOFT, owner=cable.id)
    if part.kind == "load":
        icon(sheet, end + 17, y, part)
    else:
        sheet.outline(end, y - 16, end + 34, y + 16, what="icon", owner=part.id, fill=CASE)
        symbols.conversion_mark(sheet, end + 17, y)
    x = end + 42.0
    name = wrap(
        phrase("{id} {name}", id=part.id, name=part.name), SIZE, right - x, lines=2, bold=True
    )
    below = sheet.lines(
        x,
        y - 4 if len(name) == 1 else y - 11,
        name,
        size=SIZE,
        bold=True,
        owner=part.id,
        lead=15.0 / SIZE,
    )
    for line in wrap(part.detail, SMALL, right - x, lines=1):
        sheet.text(x, below, line, size=SMALL, colour=SOFT, owner=part.id)
    sheet.end()


def paragraph(
    sheet: Sheet,
    x: float,
    y: float,
    words: str,
    *,
    width: float,
    lines: int = 4,
    bold: bool = False,
    soft: bool = False,
    owner: str = "",
    size: float = SIZE,
) -> float:
    """Write words broken to a width; return the baseline of the next line."""
    return sheet.lines(
        x,
        y,
        wrap(words, size, width, lines=lines, bold=bold),
        size=size,
        bold=bold,
        colour=SOFT if soft else INK,
        owner=owner,
        lead=LEAD / size,
    )


def tag(sheet: Sheet, x: float, y: float, words: str, *, owner: str) -> None:
    """Draw a flag that says where a cable goes on, its upper middle at the point."""
    half = text_width(words, SMALL, bold=True) / 2 + 8
    sheet.outline(x - half, y, x + half, y + 20, what="tag", owner=owner, round_=10, fill=CASE)
    sheet.text(x, y + 14, words, size=SMALL, anchor="middle", bold=True, owner=owner)
