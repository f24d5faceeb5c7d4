"""Sections 3, 4 and 7: the drawings, the cable and fuse schedule, the settings."""

from __future__ import annotations

import math
from typing import TYPE_CHECKING

from sunpantry.phrases import phrase
from sunpantry.report.numbers import DASH
from sunpantry.report.sheet.blocks import (
    Block,
    aspect,
    caution,
    heading,
    picture,
    section,
    table,
    text,
)
from sunpantry.report.sheet.desk import Desk
from sunpantry.report.sheet.halves import halves, size_of
from sunpantry.wiring.settings import REFERENCE_C

if TYPE_CHECKING:
    from sunpantry.wiring import WiringPlan
    from sunpantry.wiring.cables import Run
    from sunpantry.wiring.drawing.finished import Drawing
    from sunpantry.wiring.protect import Protection


# Drawings wider than this lie on a page on its side.
_WIDE = 1.2
# A drawing wider than this, in its own units, is too small to read on one page.
_WIDEST = 1450.0
# With so few cables both drawings are legible on one page.
_FEW_CABLES = 4


def drawings(desk: Desk, wiring: WiringPlan) -> list[Block]:
    """The circuit diagram and the plain picture.

    Parameters
    ----------
    desk : Desk
        The plan and how numbers are written.
    wiring : WiringPlan
        Its wiring.
    """
    name = desk.plan.design.name
    small = len(wiring.circuit.cables) <= _FEW_CABLES
    drawn = wiring.diagram(name, desk.say)
    wide = aspect(drawn.svg) > _WIDE and not small
    diagram = _drawing(desk, drawn, height_mm=100.0 if small else 150.0 if wide else 215.0)
    plain = _drawing(desk, wiring.picture(name, desk.say), height_mm=100.0 if small else 235.0)
    words = text(
        phrase(
            "Letters and numbers are those of section 4: W a cable, F a fuse, Q a switch, X a "
            "busbar or board. The plain picture and the diagram show the same."
        ),
        quiet=True,
    )
    title = phrase("Circuit diagram")
    if small:
        return [section(3, title, [words, diagram, plain], room=0.9)]
    if size_of(drawn.svg)[0] > _WIDEST:
        return [section(3, title, [words, *_in_halves(desk, drawn), plain])]
    if not wide:
        return [section(3, title, [words, diagram, plain], room=0.9)]
    # The plain picture goes with what is before it; the page on its side stands alone.
    first = section(3, title, [words, plain], room=0.9)
    return [first, section(3, "", [diagram], flipped=True)]


def _in_halves(desk: Desk, drawing: Drawing) -> list[Block]:
    """A drawing that would be too small to read on one page, on two."""
    left, right = halves(drawing.svg)
    told = desk.say(drawing.description)
    return [
        text(
            phrase("The left half; what stands in its middle is on the right half, too."),
            quiet=True,
        ),
        picture(left, phrase("Left half. {what}", what=told), height_mm=200.0),
        text(phrase("The right half."), quiet=True),
        picture(right, phrase("Right half. {what}", what=told), height_mm=200.0),
    ]


def _drawing(desk: Desk, drawing: Drawing, *, height_mm: float) -> Block:
    return picture(drawing.svg, desk.say(drawing.description), height_mm=height_mm)


def schedule(desk: Desk, wiring: WiringPlan) -> Block:
    """Every cable, every fuse and switch.

    Parameters
    ----------
    desk : Desk
        The plan and how numbers are written.
    wiring : WiringPlan
        Its wiring.
    """
    blocks = [
        heading(phrase("Cables")),
        text(
            phrase(
                "Length: one way. Amps: the greatest lasting current. Carries: what the cable may "
                "carry without end, as it is laid. Drop: voltage lost at the working current, with "
                "the aim in brackets."
            ),
            quiet=True,
        ),
        table(
            [
                *("", phrase("run"), phrase("from – to"), phrase("length"), phrase("size")),
                *(phrase("amps"), phrase("carries"), phrase("drop")),
            ],
            [_run(run, desk, wiring) for run in wiring.runs],
            align="lllrlrrr",
            widths=(0, 0.8, 1.3, 0, 0, 0, 0, 0),
            size_pt=8.4,
        ),
    ]
    if wiring.protections:
        blocks += [
            heading(phrase("Fuses, breakers and switches")),
            text(
                phrase(
                    "At least: the voltage it must be rated for, direct current unless it sits on "
                    "the mains side; and the short-circuit current it must be able to break, where "
                    "a battery can feed it."
                ),
                quiet=True,
            ),
            table(
                [
                    *("", phrase("what"), phrase("rating"), phrase("in")),
                    *(phrase("where it sits"), phrase("at least")),
                ],
                [_protection(one, desk) for one in wiring.protections],
                align="lllllr",
                widths=(0, 1, 0, 0, 1.2, 0),
                size_pt=8.4,
            ),
        ]
    bad = [found for found in wiring.findings if found.severity.is_hard]
    blocks += [caution(desk.say(found.sentence), danger=True) for found in bad]
    blocks += [caution(f"{name}: {desk.say(why)}") for name, why in wiring.circuit.unfed]
    return section(4, phrase("Cable and fuse schedule"), blocks, room=0.4)


def _run(run: Run, desk: Desk, wiring: WiringPlan) -> list[str]:
    numbers, cable = desk.numbers, run.cable
    ends = " – ".join(
        f"{desk.say(wiring.circuit.by_id[part].name)} ({part})"
        for part in (cable.start_part, cable.end_part)
    )
    size = desk.say(run.label)
    row = [cable.id, desk.say(cable.name), ends, numbers.number(cable.length_m, "m"), size]
    if cable.duty is None:
        return [*row, DASH, DASH, DASH]
    drop, aim = (numbers.fixed(one, places=1) for one in (run.drop_pct, run.target_pct))
    return [
        *row,
        numbers.fixed(cable.duty.design_a, "A", places=1),
        numbers.fixed(run.capacity_a, "A", places=0),
        phrase("{drop}% ({aim}%)", drop=drop, aim=aim),
    ]


def _protection(one: Protection, desk: Desk) -> list[str]:
    numbers, device = desk.numbers, one.device
    # up, as on its label: a rating below what it has to bear would be none
    least = numbers.fixed(math.ceil(one.voltage_v), "V", places=0)
    if one.prospective_a is not None:
        least += f", {numbers.fixed(math.ceil(one.prospective_a / 100.0) / 10.0, 'kA', places=1)}"
    place = desk.say(device.place)
    return [device.id, desk.say(one.name), desk.say(one.label), device.cable, place, least]


def settings(desk: Desk, wiring: WiringPlan) -> Block:
    """Every set point of controller and inverter.

    Parameters
    ----------
    desk : Desk
        The plan and how numbers are written.
    wiring : WiringPlan
        Its wiring.
    """
    if not wiring.settings:
        nothing = text(phrase("There is nothing to set in this system."))
        return section(7, phrase("Settings"), [nothing], room=0.15)
    numbers = desk.numbers
    # Lead moves its set points with the warmth; where it is warm in winter, hardly.
    cold_c = wiring.winter_battery_c
    moved = cold_c < REFERENCE_C - 2.0 and any(one.winter is not None for one in wiring.settings)
    warm, cold = (numbers.fixed(one, "°C", places=0) for one in (REFERENCE_C, cold_c))
    rows = []
    for one in wiring.settings:
        value = (
            desk.say(one.value)
            if isinstance(one.value, str)
            else numbers.number(one.value, one.unit)
        )
        winter = "" if one.winter is None else numbers.number(one.winter, one.unit)
        note: str = desk.say(one.note)
        if not one.adjustable:
            note = phrase("fixed in the part; {note}", note=note)
        rows.append([desk.say(one.part), desk.say(one.name), value, *([winter] * moved), note])
    words = phrase("Set these before the panels are connected.")
    heads = [phrase("set to")]
    if moved:
        words += phrase(
            " The column at {cold} is what a meter shows in winter once the controller has moved "
            "its set points with the battery's temperature.",
            cold=cold,
        )
        heads = [phrase("at {warmth}", warmth=warm), phrase("at {warmth}", warmth=cold)]
    return section(
        7,
        phrase("Settings"),
        [
            text(words),
            table(
                ["", phrase("set point"), *heads, phrase("what it does")],
                rows,
                align="ll" + "r" * len(heads) + "l",
                widths=(0, 0.62, 0.5, *([0.0] * moved), 1.5),
                size_pt=8.6,
            ),
        ],
        room=0.3,
    )
