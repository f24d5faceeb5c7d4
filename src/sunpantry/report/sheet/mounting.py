"""Section 5: which way the panels look, and how to find that way."""

from __future__ import annotations

from sunpantry.design.moments import MONTHS
from sunpantry.explain.shadow import ShadowNoon, row_pitch_m, shadow_noons
from sunpantry.report.numbers import DASH
from sunpantry.report.sheet.blocks import Block, caution, heading, section, table, text
from sunpantry.report.sheet.desk import Desk
from sunpantry.report.sheet.words import counted, facing, is_carried, joined, tilt_words

_UNREADABLE = f"{DASH}: the sun stands too high for a shadow, or does not rise."
# Flatter than this, rain does not wash a panel: common practice, no source.
_SELF_CLEANING_DEG = 5.0
_LIGHT_FRAME = "At twice the wind speed the pull on a panel is four times as great."


def mounting(desk: Desk) -> Block:
    """Tilt, direction, rows, wind and roof.

    Parameters
    ----------
    desk : Desk
        The plan and how numbers are written.
    """
    plan, numbers = desk.plan, desk.numbers
    rows = [
        [
            counted(array.count, desk.say(array.panel.name)),
            joined(array),
            tilt_words(array, numbers),
            facing(array, numbers) or "lying flat: any way",
        ]
        for array in plan.system.arrays
    ]
    blocks = [
        table(["panels", "joined", "tilt from level", "facing, from true north"], rows,
              align="lllr", widths=(1.2, 1, 0.7, 0.8)),
        text(
            "Measure the tilt with a level app or a set square and a plumb line. A few degrees "
            "more or less do no harm; a shadow does."
        ),
    ]  # fmt: skip
    if any(max(array.tilt_deg) < _SELF_CLEANING_DEG for array in plan.system.arrays):
        blocks.append(
            text(
                "Lying flat costs nothing here, but rain then stands on the glass and leaves its "
                "dirt: give them five to ten degrees if you can, towards the equator."
            )
        )
    if any(len(set(array.tilt_deg)) > 1 for array in plan.system.arrays):
        blocks.append(text("Change the tilt at the start of April and at the start of October."))
    if is_carried(plan.design):
        blocks.append(
            text(
                "Set them out by hand, square to the sun at noon, where no shadow crosses them; "
                "turn them after the sun when you are there. Lay them flat in wind."
            )
        )
    blocks += [heading("True north and south by the shadow"), *_shadow(desk)]
    pitch = _rows_apart(desk)
    if pitch:
        blocks += [heading("Rows"), text(pitch)]
    if not is_carried(plan.design):
        blocks += [heading("Wind, roof and weight"), *_cautions(desk)]
    return section(5, "Mounting", blocks, room=0.4)


def _shadow(desk: Desk) -> list[Block]:
    noons = shadow_noons(desk.plan.sky.place)
    by_day = {(one.month, one.day): one for one in noons}
    days = sorted({one.day for one in noons})
    rows = [
        [MONTHS[month - 1], *(_noon(by_day[month, day], desk) for day in days)]
        for month in range(1, 13)
    ]
    readable = {one.points for one in noons} - {""}
    points = f"true {next(iter(readable))}" if len(readable) == 1 else "along true north and south"
    unread = any(not one.points for one in noons)
    return [
        text(
            "A compass points to magnetic north, and iron nearby turns it. The sun does not: hang "
            f"a string with a weight, and at the clock time below its shadow points {points}. "
            "Times are those on a clock there, summer time included."
        ),
        table(
            ["", *(f"on the {desk.numbers.number(day)}" for day in days)],
            rows,
            align="lrrr",
            widths=(1, 1, 1, 1),
        ),
        *([text(_UNREADABLE, quiet=True)] if unread else []),
    ]


def _noon(noon: ShadowNoon, desk: Desk) -> str:
    return desk.numbers.clock(noon.clock_h) if noon.points else DASH


def _rows_apart(desk: Desk) -> str:
    plan, numbers = desk.plan, desk.numbers
    kinds = [array.mounting for array in plan.design.arrays] or ["ground"]
    array = plan.system.arrays[0]
    length = array.panel.length_m
    if array.count < 2 or "ground" not in kinds or length is None:
        return ""
    pitch = row_pitch_m(
        latitude=plan.sky.place.latitude, tilt_deg=max(array.tilt_deg), length_m=length
    )
    if pitch is None:
        return "The sun does not rise on the shortest day; set the panels in one row."
    return (
        f"One row is best. If there must be two, panels standing upright, set them "
        f"{numbers.fixed(pitch, 'm', places=1)} apart from front edge to front edge on level "
        "ground, so that none shades the next at noon on the shortest day."
    )


def _cautions(desk: Desk) -> list[Block]:
    kinds = {array.mounting for array in desk.plan.design.arrays} or {"ground"}
    blocks = [
        caution(
            f"A panel is a sail. {_LIGHT_FRAME} Anchor frames in the ground or weight them; the "
            "maker of the frame, or a builder, says for how much wind."
        )
    ]
    if "roof" in kinds:
        blocks.append(
            caution(
                "Falls from roofs kill. Work from a scaffold or with a harness and never alone; "
                "have someone who knows the roof say that it bears the weight and how it is kept "
                "tight.",
                danger=True,
            )
        )
        blocks.append(text("Leave a hand's breadth of air behind the panels: a hot panel gives "
                           "less."))  # fmt: skip
    else:
        blocks.append(
            text("Keep the lower edge clear of grass, snow and stock; leave air behind the panels.")
        )
    return blocks
