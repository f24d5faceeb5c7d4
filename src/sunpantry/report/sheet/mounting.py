"""Section 5: which way the panels look, and how to find that way."""

from __future__ import annotations

from sunpantry.design.moments import MONTHS
from sunpantry.explain.shadow import ShadowNoon, row_pitch_m, shadow_noons
from sunpantry.phrases import phrase
from sunpantry.report.numbers import DASH
from sunpantry.report.sheet.blocks import Block, caution, heading, section, table, text
from sunpantry.report.sheet.desk import Desk
from sunpantry.report.sheet.words import counted, facing, is_carried, tilt_words, ways_joined

_UNREADABLE = phrase("–: the sun stands too high for a shadow, or does not rise.")
# Flatter than this, rain does not wash a panel: common practice, no source.
_SELF_CLEANING_DEG = 5.0


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
            ways_joined(array),
            tilt_words(array, numbers),
            facing(array, numbers) or phrase("lying flat: any way"),
        ]
        for array in plan.system.arrays
    ]
    heads = [
        *(phrase("panels"), phrase("joined"), phrase("tilt from level")),
        phrase("facing, from true north"),
    ]
    blocks = [
        table(heads, rows, align="lllr", widths=(1.2, 1, 0.7, 0.8)),
        text(
            phrase(
                "Measure the tilt with a level app or a set square and a plumb line. A few degrees "
                "more or less do no harm; a shadow does."
            )
        ),
    ]
    if any(max(array.tilt_deg) < _SELF_CLEANING_DEG for array in plan.system.arrays):
        blocks.append(
            text(
                phrase(
                    "Lying flat costs nothing here, but rain then stands on the glass and leaves "
                    "its dirt: give them five to ten degrees if you can, towards the equator."
                )
            )
        )
    if any(len(set(array.tilt_deg)) > 1 for array in plan.system.arrays):
        blocks.append(
            text(phrase("Change the tilt at the start of April and at the start of October."))
        )
    if is_carried(plan.design):
        blocks.append(
            text(
                phrase(
                    "Set them out by hand, square to the sun at noon, where no shadow crosses "
                    "them; turn them after the sun when you are there. Lay them flat in wind."
                )
            )
        )
    blocks += [heading(phrase("True north and south by the shadow")), *_shadow(desk)]
    pitch = _rows_apart(desk)
    if pitch:
        blocks += [heading(phrase("Rows")), text(pitch)]
    if not is_carried(plan.design):
        blocks += [heading(phrase("Wind, roof and weight")), *_cautions(desk)]
    return section(5, phrase("Mounting"), blocks, room=0.4)


def _shadow(desk: Desk) -> list[Block]:
    noons = shadow_noons(desk.plan.sky.place)
    by_day = {(one.month, one.day): one for one in noons}
    days = sorted({one.day for one in noons})
    rows = [
        [MONTHS[month - 1], *(_noon(by_day[month, day], desk) for day in days)]
        for month in range(1, 13)
    ]
    readable = {one.points for one in noons} - {""}
    points = phrase("along true north and south")
    if len(readable) == 1:
        points = phrase("true north") if readable == {"north"} else phrase("true south")
    unread = any(not one.points for one in noons)
    return [
        text(
            phrase(
                "A compass points to magnetic north, and iron nearby turns it. The sun does not: "
                "hang a string with a weight, and at the clock time below its shadow points "
                "{points}. Times are those on a clock there, summer time included.",
                points=points,
            )
        ),
        table(
            ["", *(phrase("on the {day}", day=desk.numbers.number(day)) for day in days)],
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
        return phrase("The sun does not rise on the shortest day; set the panels in one row.")
    return phrase(
        "One row is best. If there must be two, panels standing upright, set them {pitch} apart "
        "from front edge to front edge on level ground, so that none shades the next at noon on "
        "the shortest day.",
        pitch=numbers.fixed(pitch, "m", places=1),
    )


def _cautions(desk: Desk) -> list[Block]:
    kinds = {array.mounting for array in desk.plan.design.arrays} or {"ground"}
    blocks = [
        caution(
            phrase(
                "A panel is a sail. At twice the wind speed the pull on a panel is four times as "
                "great. Anchor frames in the ground or weight them; the maker of the frame, or a "
                "builder, says for how much wind."
            )
        )
    ]
    if "roof" in kinds:
        blocks.append(
            caution(
                phrase(
                    "Falls from roofs kill. Work from a scaffold or with a harness and never "
                    "alone; have someone who knows the roof say that it bears the weight and how "
                    "it is kept tight."
                ),
                danger=True,
            )
        )
        blocks.append(
            text(phrase("Leave a hand's breadth of air behind the panels: a hot panel gives less."))
        )
    else:
        blocks.append(
            text(
                phrase(
                    "Keep the lower edge clear of grass, snow and stock; leave air behind the "
                    "panels."
                )
            )
        )
    return blocks
