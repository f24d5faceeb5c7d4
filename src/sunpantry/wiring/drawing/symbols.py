"""Symbols in the manner of IEC 60617, drawn around the conductors they sit in.

A pair of conductors lies ``HALF`` above and below the middle line ``y`` of its row.
"""

from __future__ import annotations

from sunpantry.wiring.drawing.sheet import INK, PAPER, Sheet

HALF = 13.0
FUSE_LONG, FUSE_HIGH = 26.0, 10.0
SWITCH_LONG = 26.0
LOAD_WIDE = 34.0
SUN_WIDE, SUN_HIGH = 50.0, 44.0
CELL_WIDE = 34.0
CONVERT = 34.0


def fuse(sheet: Sheet, x: float, y: float, *, owner: str) -> None:
    """Fuse in the conductor at ``y``, from ``x`` to the right; the wire shows through it."""
    top = y - FUSE_HIGH / 2
    sheet.reserve(x, top, x + FUSE_LONG, top + FUSE_HIGH, what="fuse", owner=owner)
    sheet.stroke(
        ((x, top), (x + FUSE_LONG, top), (x + FUSE_LONG, top + FUSE_HIGH), (x, top + FUSE_HIGH)),
        closed=True,
        width=1.3,
    )


def switch(sheet: Sheet, x: float, y: float, *, owner: str, mark: str = "bar") -> None:
    """One pole of an open switch, from ``x`` to the right.

    ``mark`` on the fixed contact: 'bar' for an isolator, 'cross' for a breaker, 'none'.
    """
    end = x + SWITCH_LONG
    sheet.reserve(x, y - 9, end, y + 4, what="switch", owner=owner)
    # White over the conductor, so that the gap shows.
    sheet.stroke(((x + 5, y), (end - 1, y)), width=5.0, colour=PAPER)
    sheet.stroke(((x + 4, y), (end - 3, y - 8)), width=1.5)
    sheet.circle(x + 4, y, 1.6, fill=INK, width=0.8)
    if mark == "bar":
        sheet.stroke(((end, y - 5), (end, y + 5)), width=1.5)
    elif mark == "cross":
        sheet.stroke(((end - 3.5, y - 3.5), (end + 3.5, y + 3.5)))
        sheet.stroke(((end - 3.5, y + 3.5), (end + 3.5, y - 3.5)))


def gang(sheet: Sheet, x: float, top: float, bottom: float) -> None:
    """Dashed line that joins the poles of one switch."""
    middle = x + SWITCH_LONG / 2
    sheet.stroke(((middle, top - 4), (middle, bottom - 4)), width=1.0, dash="3 2")


def sun_generator(sheet: Sheet, x: float, y: float, *, owner: str) -> None:
    """Photovoltaic generator with its terminals on the right, at ``x + SUN_WIDE``."""
    top = y - SUN_HIGH / 2
    sheet.outline(x, top, x + SUN_WIDE, top + SUN_HIGH, what="panel", owner=owner, round_=0)
    middle = x + 30
    sheet.stroke(((middle, y - 13), (middle, y - 4)))
    sheet.stroke(((middle - 11, y - 4), (middle + 11, y - 4)), width=1.6)
    sheet.stroke(((middle - 6, y + 3), (middle + 6, y + 3)), width=3.0)
    sheet.stroke(((middle, y + 3), (middle, y + 13)))
    for shift in (0.0, 8.0):
        tip_x, tip_y = x + 16, y - 2 + shift
        sheet.stroke(((tip_x - 11, tip_y - 9), (tip_x, tip_y)))
        sheet.stroke(((tip_x - 5.5, tip_y - 1), (tip_x, tip_y), (tip_x - 1.5, tip_y - 5.5)))


def battery(sheet: Sheet, x: float, y: float, *, owner: str) -> None:
    """Battery between the conductors of a row; they leave on the right at ``x + CELL_WIDE``."""
    middle = x + CELL_WIDE / 2
    sheet.reserve(x, y - HALF, x + CELL_WIDE - 4, y + HALF, what="battery", owner=owner)
    cells(sheet, middle, y)


def cells(sheet: Sheet, middle: float, y: float) -> None:
    """The plates of a battery around a point."""
    sheet.stroke(((middle - 14, y - 7), (middle + 14, y - 7)), width=1.6)
    sheet.stroke(((middle - 7, y - 3), (middle + 7, y - 3)), width=3.0)
    sheet.stroke(((middle, y - 2), (middle, y + 3)), width=1.2, dash="1.5 2")
    sheet.stroke(((middle - 14, y + 3), (middle + 14, y + 3)), width=1.6)
    sheet.stroke(((middle - 7, y + 7), (middle + 7, y + 7)), width=3.0)


def conversion(sheet: Sheet, x: float, y: float, *, from_: str, to: str) -> None:
    """Square with a diagonal: what comes in at the upper left, what goes out lower right."""
    side = CONVERT
    sheet.stroke(((x, y), (x + side, y), (x + side, y + side), (x, y + side)), closed=True)
    sheet.stroke(((x, y + side), (x + side, y)))
    _current(sheet, x + 10, y + 10, from_)
    _current(sheet, x + side - 10, y + side - 10, to)


def conversion_mark(sheet: Sheet, x: float, y: float) -> None:
    """An arrow for a converter, around the point."""
    sheet.stroke(((x - 11, y + 8), (x + 11, y - 8)), width=1.2)
    sheet.stroke(((x + 5, y - 8), (x + 11, y - 8), (x + 10, y - 2)), width=1.2)


def changeover(sheet: Sheet, x: float, y: float) -> None:
    """A switch that joins one contact on the right to one of two on the left."""
    for down in (-11.0, 11.0):
        sheet.circle(x - 14, y + down, 2.0)
        sheet.stroke(((x - 26, y + down), (x - 16, y + down)))
    sheet.circle(x + 12, y, 2.0)
    sheet.stroke(((x + 14, y), (x + 26, y)))
    sheet.stroke(((x + 11, y - 1.5), (x - 13, y - 9.0)), width=1.8)


def _current(sheet: Sheet, x: float, y: float, kind: str) -> None:
    if kind == "dc":
        sheet.stroke(((x - 6, y - 2), (x + 6, y - 2)))
        sheet.stroke(((x - 6, y + 2), (x + 6, y + 2)), dash="3 2")
        return
    wave = (
        (-6, 0),
        (-4.5, -3),
        (-3, -3.6),
        (-1.5, -3),
        (0, 0),
        (1.5, 3),
        (3, 3.6),
        (4.5, 3),
        (6, 0),
    )
    sheet.stroke([(x + dx, y + dy) for dx, dy in wave])


def load(sheet: Sheet, x: float, y: float, kind: str, *, owner: str) -> None:
    """A load between the conductors of a row, or at their ends at ``x``."""
    middle, right = x + LOAD_WIDE / 2, x + LOAD_WIDE
    if kind in ("light", "motor"):
        sheet.reserve(x, y - HALF, right, y + HALF, what=kind, owner=owner)
        sheet.circle(middle, y, 9.5)
        if kind == "light":
            for sign in (1, -1):
                sheet.stroke(
                    ((middle - 6.7, y - 6.7 * sign), (middle + 6.7, y + 6.7 * sign)), width=1.2
                )
        else:
            sheet.text(middle, y + 4.2, "M", size=12, anchor="middle", owner=owner)
        return
    top, bottom = y - HALF - 7, y + HALF + 7
    sheet.outline(x, top, right, bottom, what=kind, owner=owner, round_=2)
    if kind == "mains socket":
        _socket(sheet, middle + 2, y)
        sheet.stroke(((middle + 2, y - 9), (middle + 2, y - 15)))
    elif kind == "vehicle socket":
        _socket(sheet, middle + 2, y)
    elif kind == "heater":
        sheet.stroke(
            (
                (middle - 5, y - 12),
                (middle + 5, y - 12),
                (middle + 5, y + 12),
                (middle - 5, y + 12),
            ),
            closed=True,
        )
        for dy in (-6, 0, 6):
            sheet.stroke(((middle - 5, y + dy), (middle + 5, y + dy)), width=1.0)
    elif kind == "fence":
        bolt(sheet, middle, y)
    elif kind == "electronics":
        sheet.stroke(
            ((middle - 8, y - 8), (middle + 8, y - 8), (middle + 8, y + 6), (middle - 8, y + 6)),
            closed=True,
        )
        sheet.stroke(((middle - 5, y + 10), (middle + 5, y + 10)))


def bolt(sheet: Sheet, x: float, y: float) -> None:
    """A flash of lightning around the point: high voltage, in pulses."""
    sheet.stroke(
        (
            (x + 3, y - 11),
            (x - 5, y + 1),
            (x + 1, y + 1),
            (x - 3, y + 11),
            (x + 6, y - 3),
            (x, y - 3),
        ),
        closed=True,
        width=1.4,
    )


def _socket(sheet: Sheet, x: float, y: float) -> None:
    """Half circle open downwards with the stem of its supply."""
    arc = (
        (-9, 6),
        (-8.3, 1),
        (-6.4, -4),
        (-3.4, -7.8),
        (0, -9),
        (3.4, -7.8),
        (6.4, -4),
        (8.3, 1),
        (9, 6),
    )
    sheet.stroke([(x + dx, y + dy) for dx, dy in arc])


def earth(sheet: Sheet, x: float, y: float, *, owner: str) -> None:
    """Earth, hanging from the point above it."""
    sheet.reserve(x - 11, y, x + 11, y + 13, what="earth", owner=owner)
    for half, down in ((11, 3), (7, 7.5), (3, 12)):
        sheet.stroke(((x - half, y + down), (x + half, y + down)), width=1.6)
    sheet.stroke(((x, y), (x, y + 3)), width=1.6)
