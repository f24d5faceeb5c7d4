"""What overlaps on a sheet, found from the boxes it remembers."""

from __future__ import annotations

from itertools import combinations

from sunpantry.wiring.drawing.sheet import Box, Sheet

# Things that are there to have others inside.
CARDS = {"frame", "panels card", "battery card", "controller", "power bank"}
TEXT_CLEAR = 1.0  # of a text from a conductor
CROSSING_CLEAR = 8.0  # of a crossing from a joint, so that neither is taken for the other


def overlaps(sheet: Sheet) -> list[str]:
    """Every pair of things that come too near to one another, in words."""
    found = [
        f"text '{one.what}' over text '{two.what}'"
        for one, two in combinations(sheet.texts, 2)
        if one.overlaps(two, clear=-0.5)
    ]
    found += [
        f"text '{text.what}' crosses {box.what} {box.owner}"
        for text in sheet.texts
        for box in sheet.boxes
        if text.overlaps(box) and not _belongs(text, box)
    ]
    found += [
        f"text '{text.what}' touches conductor {wire.what} of {wire.owner}"
        for text in sheet.texts
        for wire in sheet.wires
        if text.overlaps(wire, clear=TEXT_CLEAR)
    ]
    found += [
        f"{one.what} {one.owner} over {two.what} {two.owner}"
        for one, two in combinations(sheet.boxes, 2)
        if one.overlaps(two) and not (CARDS & {one.what, two.what})
    ]
    found += [
        f"conductor {hop.what} of {hop.owner} crosses at a joint"
        for hop in sheet.hops
        for joint in sheet.joints
        if hop.overlaps(joint, clear=CROSSING_CLEAR)
    ]
    return found


def _belongs(text: Box, box: Box) -> bool:
    inside = box.holds(text)
    # The letter in a motor's circle is taller than the circle by the margin of its font.
    letter = box.what == "motor" and text.owner == box.owner
    return letter or (inside and (text.owner == box.owner or box.what in CARDS))
