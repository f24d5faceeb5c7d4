"""Sections 10 and 11: the workings, and the design document itself."""

from __future__ import annotations

from sunpantry.design.document import write_design
from sunpantry.phrases import phrase
from sunpantry.report.sheet.blocks import Block, code, heading, narrow, section, text, working
from sunpantry.report.sheet.desk import Desk
from sunpantry.report.sheet.words import figure_value, inputs_words


def workings(desk: Desk) -> Block:
    """Every headline number with formula, inputs and source.

    Parameters
    ----------
    desk : Desk
        The plan and how numbers are written.
    """
    numbers, wiring = desk.numbers, desk.plan.wiring
    blocks = [
        text(
            phrase("Every headline number, with everything needed to check it by hand."),
            quiet=True,
        )
    ]
    groups = [(phrase("The system"), desk.plan.workings)]
    if wiring is not None:
        groups.append((phrase("Cables, fuses and settings"), wiring.workings))
    for title, figures in groups:
        if not figures:
            continue
        blocks.append(heading(title))
        blocks += [
            working(
                desk.say(figure.name),
                figure_value(figure, numbers),
                desk.say(figure.formula),
                inputs_words(figure, numbers),
                desk.say(figure.source),
            )
            for figure in figures
        ]
    return section(10, phrase("Workings"), [narrow(blocks)], room=0.6)


def document(desk: Desk) -> Block:
    """The design document, so that the sheet can be made again from paper.

    Parameters
    ----------
    desk : Desk
        The plan and how numbers are written.
    """
    plan = desk.plan
    return section(
        11,
        phrase("The design document"),
        [
            text(
                phrase(
                    "Typed into a file and given to Sunpantry {version}, this makes the same plan "
                    "again, number by number (seed {seed}).",
                    version=plan.version,
                    seed=str(plan.seed),
                )
            ),
            code(write_design(plan.design).rstrip()),
        ],
        room=0.35,
    )
