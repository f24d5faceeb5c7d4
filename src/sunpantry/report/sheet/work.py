"""Sections 6 and 9: the order of work with its cautions, and looking after it."""

from __future__ import annotations

from collections.abc import Iterator
from typing import TYPE_CHECKING

from sunpantry.explain.readings import rest_voltages
from sunpantry.report.sheet.blocks import (
    Block,
    bullets,
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
        text("Tick each step. Do not go on past one that does not come out as it should."),
        heading("Building, everything dead"),
        steps(building),
    ]
    first = len(building) + 1
    if wiring is not None:
        connecting = list(_connecting(wiring))
        blocks += [heading("Connecting, in this order"), text(_why(desk)),
                   steps(connecting, first=first)]  # fmt: skip
        first += len(connecting)
    blocks += [heading("Afterwards"), steps(list(_afterwards(wiring)), first=first)]
    if wiring is not None:
        labels = _labels(wiring)
        if labels:
            blocks += [
                heading("Labels to write"),
                table(["at", "what it says"], labels, widths=(0.35, 1)),
            ]
    return section(6, "Order of work", blocks)


def _labels(wiring: WiringPlan) -> list[list[str]]:
    """What each label says, and everywhere it belongs."""
    places: dict[str, list[str]] = {}
    for one in wiring.notices:
        if one.kind == "label":
            places.setdefault(one.text, []).append(one.where)
    return [[", ".join(where), words] for words, where in places.items()]


def _why(desk: Desk) -> str:
    if desk.plan.system.controller is None:
        return "First what stores, then what uses, then what gives."
    return (
        "Battery first, because the controller finds its voltage from it and has nowhere to put "
        "the sun's power without it; panels last, because they cannot be switched off."
    )


def _building(desk: Desk, wiring: WiringPlan | None) -> Iterator[Block]:
    said = _Said(wiring)
    bank = desk.plan.system.bank
    yield step(
        "Read the sheet through, lay out the parts, check them against the shopping list.",
        "If a label differs, see the limits in section 2.",
    )
    if not is_carried(desk.plan.design):
        yield step("Set up the frame", "at the tilt and direction of section 5.")
        yield step(
            "Fix the panels and cover their faces",
            "with a blanket or card, tied down.",
            *said.about("G"),
        )
    if bank is not None:
        yield step(
            "Put the battery in its place",
            f"{HOUSING[bank.housing]}, dry, off the floor, where nobody can drop a tool on it.",
            *said.about("B"),
        )
    fixed = desk.plan.system.controller is not None or (
        wiring is not None and any(part.id.startswith("X") for part in wiring.circuit.parts)
    )
    if fixed:
        yield step(
            "Screw controller, boards and boxes to the wall",
            "beside the battery but not above it, with a hand's breadth of air around them.",
            *said.about("U", "X"),
        )
    if wiring is None or (is_carried(desk.plan.design) and not wiring.protections):
        return
    yield step(
        "Lay every cable and write its letter and number on both ends.",
        "Fix it every half arm's length; lead it through sleeves where it passes wood or metal.",
        *said.about("W", kinds=("warning", "local rule")),
    )
    earth = said.notices("earthing")
    if earth:
        yield step("Earth:", " ".join(earth))
    terminal = said.notices("terminal")
    if terminal:
        yield step("Ends and terminals:", " ".join(terminal))
    yield step(
        "Measure every run before anything is closed.",
        "Both cores through from end to end, no path between them; + arrives at +, − at −.",
    )
    if desk.plan.system.inverter is not None:
        yield step(
            "Place the inverter, switched off",
            "close to the battery, with air around it.",
            *said.about("T"),
        )


class _Said:
    """Hands out each notice once, at the first step it belongs to."""

    def __init__(self, wiring: WiringPlan | None) -> None:
        self._left = [] if wiring is None else list(wiring.notices)

    def about(
        self, *letters: str, kinds: tuple[str, ...] = ("warning", "local rule")
    ) -> list[Block]:
        """Cautions about parts or cables whose identity begins with a letter."""
        mine = [
            one
            for one in self._left
            if one.kind in kinds and one.where.rstrip("0123456789") in letters
        ]
        self._left = [one for one in self._left if one not in mine]
        sentences = dict.fromkeys(one.text for one in mine)
        return [caution(sentence, danger="kill" in sentence) for sentence in sentences]

    def notices(self, kind: str) -> list[str]:
        """All that is left of one kind."""
        mine = [one for one in self._left if one.kind == kind]
        self._left = [one for one in self._left if one not in mine]
        return list(dict.fromkeys(one.text for one in mine))


def _connecting(wiring: WiringPlan) -> Iterator[Block]:
    for sentence in wiring.steps:
        cut = min(
            (place + 1 for place in (sentence.find(": "), sentence.find(". ")) if place >= 0),
            default=len(sentence),
        )
        yield step(sentence[:cut], sentence[cut:].strip())


def _afterwards(wiring: WiringPlan | None) -> Iterator[Block]:
    if wiring is None or wiring.settings:
        yield step("Set controller and inverter", "as in section 7.")
    yield step("Take the first readings", "at each point of section 8; write them down.")
    if wiring is not None:
        if any(one.kind == "label" for one in wiring.notices):
            yield step("Write and fix the labels", "listed below.")
        place = "battery" if wiring.circuit.of_kind("battery") else "panels"
        if wiring.protections:
            yield step(
                f"Hang a copy of the circuit diagram beside the {place}",
                "with the order of taking apart.",
            )
        if any(one.kind == "local rule" for one in wiring.notices):
            yield step(
                "Have the mains side checked",
                "by a licensed electrician, before anything but the inverter's own sockets is "
                "used.",
            )


def looking_after(desk: Desk) -> Block:
    """Weekly, monthly, before winter; the charge by rest voltage; storage and the end.

    Parameters
    ----------
    desk : Desk
        The plan and how numbers are written.
    """
    system = desk.plan.system
    bank = system.bank
    kind = "" if bank is None else bank.battery.chemistry
    weekly = ["Look along the panels: shade, leaves, droppings, a cracked glass?"]
    if system.controller is not None:
        weekly.append(
            "Look at the controller: is it charging by day, does it reach full now and then?"
        )
    blocks = [heading("Weekly"), bullets(weekly)]
    monthly = _monthly(kind, mains=system.inverter is not None)
    if monthly:
        blocks += [heading("Monthly"), bullets(monthly)]
    autumn = ["Wash the panels with rain water; cut what has grown into the light."]
    if desk.plan.wiring is not None and desk.plan.wiring.protections:
        autumn.append("Tighten every terminal, with its fuse out. Warm or brown means loose.")
    if bank is not None:
        autumn.append("Fill the battery for a day with little use before the dark weeks begin.")
    autumn.append("Compare a noon reading with section 8.")
    blocks += [heading("Before winter"), bullets(autumn)]
    if bank is not None:
        blocks += _charge_by_voltage(desk)
        blocks += [heading("Storage"), text(_storage(kind))]
    blocks += [heading("At the end"), text(_end(kind))]
    return section(9, "Looking after it", blocks, new_page=False)


def _monthly(kind: str, *, mains: bool) -> list[str]:
    items = []
    if kind not in ("", "power_bank"):
        items.append("Feel the terminals after an hour of load: none should be warm.")
    if kind == "flooded":
        items += [
            "Check the level in every cell; top up with distilled water only, after charging, "
            "never with acid. Goggles and gloves.",
            "Wipe the top dry; wash off white crust with baking soda in water, caps on.",
        ]
    elif kind in ("agm", "gel"):
        items.append("Look for bulging, leaking or a smell of bad eggs: stop charging then.")
    elif kind == "lifepo4":
        items.append("Look at the display of the battery, if it has one: cells alike, no alarm.")
    if mains:
        items.append("Press the test knob of the residual-current device, if there is one.")
    return items


def _charge_by_voltage(desk: Desk) -> list[Block]:
    bank = desk.plan.system.bank
    if bank is None:
        return []
    if bank.battery.chemistry == "power_bank":
        return [heading("How full is it"), text("Its own lamps or display tell.")]
    numbers = desk.numbers
    rows = [
        [numbers.percent(one.charge), numbers.fixed(one.volts, "V", places=2)]
        for one in rest_voltages(bank)
    ]
    words = (
        "Measure after some hours without sun and without load, best before sunrise. Under load "
        "it reads lower, while charging higher."
    )
    if bank.battery.chemistry == "lifepo4":
        words += (
            " Between a fifth and nearly full this kind hardly changes its voltage: it tells "
            "empty from full, not half from three quarters."
        )
    return [
        heading("How full is it"),
        text(words),
        table(["charge", "volts at rest"], rows, align="rr", widths=(0, 0)),
    ]


def _storage(kind: str) -> str:
    if kind in ("flooded", "agm", "gel"):
        return (
            "Store it full, cool and dry, everything off, and charge it again every two or three "
            "months. A flat one freezes and is ruined."
        )
    return (
        "Store it about half full, cool and dry, everything off. Look at it twice a year. Do not "
        "charge it below freezing."
    )


def _end(kind: str) -> str:
    words = "Panels go to a collection point for electrical goods; they hold lead and glass."
    if kind in ("flooded", "agm", "gel"):
        return f"{words} Lead batteries are taken back by whoever sells them, acid and all."
    if kind:
        return (
            f"{words} Lithium batteries go to a collection point with their terminals taped; "
            "never into the bin, never into the fire."
        )
    return words
