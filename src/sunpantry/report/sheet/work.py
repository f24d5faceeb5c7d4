"""Section 6: the order of work with its cautions."""

from __future__ import annotations

from collections.abc import Iterator
from typing import TYPE_CHECKING

from sunpantry.phrases import phrase
from sunpantry.report.sheet.blocks import (
    Block,
    caution,
    heading,
    section,
    step,
    steps,
    table,
    text,
)
from sunpantry.report.sheet.desk import Desk
from sunpantry.report.sheet.words import HOUSING, is_carried

if TYPE_CHECKING:
    from sunpantry.wiring import WiringPlan


# What is not for the day of building needs no box to tick; in English, as words that kill are.
_TAKING_APART = "To take apart"
# Words in a notice that make a danger to life of it.
_DEADLY = ("kill", "licensed electrician")


def order_of_work(desk: Desk) -> Block:
    """Step by step, each with the cautions that belong to it.

    Parameters
    ----------
    desk : Desk
        The plan and how numbers are written.
    """
    wiring = desk.plan.wiring
    building = list(_building(desk, wiring))
    blocks = [
        text(phrase("Tick each step. Do not go on past one that does not come out as it should.")),
        heading(
            phrase("Building, everything dead") if len(building) > 1 else phrase("First of all")
        ),
        steps(building),
    ]
    first = len(building) + 1
    water = list(_water(desk))
    if water:
        blocks += [heading(phrase("Pump, pipe and tank")), steps(water, first=first)]
        first += len(water)
    if wiring is not None:
        connecting = list(_connecting(desk, wiring))
        blocks += [
            heading(phrase("Connecting, in this order")),
            text(_why(desk)),
            steps(connecting, first=first),
        ]
        first += len(connecting)
        blocks += [text(desk.say(one)) for one in wiring.steps if one.startswith(_TAKING_APART)]
    after = list(_afterwards(desk, wiring))
    blocks += [heading(phrase("Afterwards")), steps(after, first=first)]
    if wiring is not None:
        labels = _labels(desk, wiring)
        if labels:
            blocks += [
                heading(phrase("Labels to write")),
                table([phrase("at"), phrase("what it says")], labels, widths=(0.35, 1)),
            ]
    return section(6, phrase("Order of work"), blocks, room=0.6)


def _labels(desk: Desk, wiring: WiringPlan) -> list[list[str]]:
    """What each label says, and everywhere it belongs."""
    places: dict[str, list[str]] = {}
    for one in wiring.notices:
        if one.kind == "label":
            places.setdefault(desk.say(one.text), []).append(one.where)
    return [[", ".join(where), words] for words, where in places.items()]


def _why(desk: Desk) -> str:
    if desk.plan.system.bank is None:
        return phrase("What gives power comes last: it cannot be switched off.")
    if desk.plan.system.controller is None:
        return phrase("What stores comes first, what gives power after it.")
    return phrase(
        "Battery first, because the controller finds its voltage from it and has nowhere to put "
        "the sun's power without it; panels last, because they cannot be switched off."
    )


def _building(desk: Desk, wiring: WiringPlan | None) -> Iterator[Block]:
    said = _Said(desk, wiring)
    bank = desk.plan.system.bank
    yield step(
        phrase("Read the sheet through, lay out the parts, check them against the shopping list."),
        phrase("If a label differs, see the limits in section 2."),
    )
    if not is_carried(desk.plan.design):
        yield step(phrase("Set up the frame"), phrase("at the tilt and direction of section 5."))
        yield step(
            phrase("Fix the panels and cover their faces"),
            phrase("with a blanket or card, tied down."),
            *said.about("G"),
        )
    if bank is not None and bank.battery.chemistry == "power_bank":
        yield step(
            phrase("Give the power bank a place in the shade,"),
            phrase("never behind or under the panel in the sun: heat ages it fastest."),
        )
    elif bank is not None:
        yield step(
            phrase("Put the battery in its place"),
            phrase(
                "{where}, dry, off the floor, where nobody can drop a tool on it.",
                where=HOUSING[bank.housing],
            ),
            *said.about("B"),
        )
    fixed = desk.plan.system.controller is not None or (
        wiring is not None and any(part.id.startswith("X") for part in wiring.circuit.parts)
    )
    if fixed:
        yield step(
            phrase("Screw controller, boards and boxes to the wall"),
            phrase(
                "beside the battery but not above it, with a hand's breadth of air around them."
            ),
            *said.about("U", "X"),
        )
    if wiring is not None and (wiring.protections or not is_carried(desk.plan.design)):
        yield from _cabling(desk, said)


def _cabling(desk: Desk, said: _Said) -> Iterator[Block]:
    """Cables and their ends, before anything is connected."""
    yield step(
        phrase("Lay every cable and write its letter and number on both ends."),
        phrase(
            "Fix it every half arm's length; lead it through sleeves where it passes wood or metal."
        ),
        *said.about("W", kinds=("warning", "local rule")),
    )
    earth = said.notices("earthing")
    if earth:
        yield step(phrase("Earth:"), " ".join(earth))
    terminal = said.notices("terminal")
    if terminal:
        yield step(phrase("Ends and terminals:"), " ".join(terminal))
    yield step(
        phrase("Measure every run before anything is closed."),
        phrase("Both cores through from end to end, no path between them; + arrives at +, − at −."),
    )
    if desk.plan.system.inverter is not None:
        yield step(
            phrase("Place the inverter, switched off"),
            phrase("close to the battery, with air around it."),
            *said.about("T"),
        )
    left = said.about("")
    if left:
        yield step(phrase("Before anything is joined, mind this too."), "", *left)


class _Said:
    """Hands out each notice once, at the first step it belongs to."""

    def __init__(self, desk: Desk, wiring: WiringPlan | None) -> None:
        self._desk = desk
        self._left = [] if wiring is None else list(wiring.notices)

    def about(
        self, *letters: str, kinds: tuple[str, ...] = ("warning", "local rule")
    ) -> list[Block]:
        """Cautions about parts or cables whose identity begins with a letter; '' for any."""
        mine = [
            one
            for one in self._left
            if one.kind in kinds and (one.where.rstrip("0123456789") in letters or "" in letters)
        ]
        self._left = [one for one in self._left if one not in mine]
        sentences = dict.fromkeys(one.text for one in mine)
        return [
            caution(self._desk.say(sentence), danger=any(word in sentence for word in _DEADLY))
            for sentence in sentences
        ]

    def notices(self, kind: str) -> list[str]:
        """All that is left of one kind."""
        mine = [one for one in self._left if one.kind == kind]
        self._left = [one for one in self._left if one not in mine]
        return list(dict.fromkeys(self._desk.say(one.text) for one in mine))


def _water(desk: Desk) -> Iterator[Block]:
    """Pipe, pump and tank; the wiring says how the pump is joined."""
    numbers = desk.numbers
    for water in desk.plan.water:
        bore = numbers.number(water.pipe.bore_mm, "mm")
        length = numbers.number(water.pipe_length_m, "m")
        yield step(
            phrase("Set up {tank} and lay the pipe:", tank=water.tank),
            phrase(
                "{length}, {bore} inside, on a steady slope without humps where air gathers, "
                "buried or shaded. A strainer before the pump, a valve that lets nothing back "
                "after it, an overflow at the tank that leads the water away.",
                length=length,
                bore=bore,
            ),
        )
        if water.suction_m > 0.0:
            suction = numbers.number(water.suction_m, "m")
            yield step(
                phrase("Set {pump} near the water,", pump=water.pump),
                phrase(
                    "no more than {suction} above its lowest level; fill pump and suction pipe "
                    "with water: run dry, it wears out in minutes.",
                    suction=suction,
                ),
            )
        else:
            yield step(
                phrase("Set {pump} in or beside the water,", pump=water.pump),
                phrase(
                    "on a rope or a firm base, so that it never runs dry: dry, it wears out in "
                    "minutes."
                ),
            )


def _connecting(desk: Desk, wiring: WiringPlan) -> Iterator[Block]:
    for one in wiring.steps:
        if one.startswith(_TAKING_APART):
            continue
        sentence = desk.say(one)
        cut = min(
            (place + 1 for place in (sentence.find(": "), sentence.find(". ")) if place >= 0),
            default=len(sentence),
        )
        yield step(sentence[:cut], sentence[cut:].strip())


def _afterwards(desk: Desk, wiring: WiringPlan | None) -> Iterator[Block]:
    if wiring is not None and wiring.settings:
        setting = phrase("Set the controller")
        if desk.plan.system.inverter is not None:
            setting = phrase("Set the controller and inverter")
        yield step(setting, phrase("as in section 7."))
    yield step(
        phrase("Take the first readings"), phrase("at each point of section 8; write them down.")
    )
    if wiring is not None:
        if any(one.kind == "label" for one in wiring.notices):
            yield step(phrase("Write and fix the labels"), phrase("listed below."))
        hanging = phrase("Hang a copy of the circuit diagram beside the panels")
        if wiring.circuit.of_kind("battery"):
            hanging = phrase("Hang a copy of the circuit diagram beside the battery")
        if wiring.protections:
            yield step(hanging, phrase("with the order of taking apart."))
        if any(one.kind == "local rule" for one in wiring.notices):
            yield step(
                phrase("Have the mains side checked"),
                phrase(
                    "by a licensed electrician, before anything but the inverter's own sockets is "
                    "used."
                ),
            )
