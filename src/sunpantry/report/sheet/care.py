"""Section 9: looking after it."""

from __future__ import annotations

from sunpantry.explain.readings import rest_voltages
from sunpantry.phrases import phrase
from sunpantry.plan.battery_years import water_words
from sunpantry.report.sheet.blocks import Block, bullets, heading, section, table, text
from sunpantry.report.sheet.desk import Desk

# What comes round so seldom is done before winter.
_SELDOM_MONTHS = 6


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
    weekly: list[str] = [
        phrase("Look along the panels: shade, leaves, droppings, a cracked glass?")
    ]
    if system.controller is not None:
        weekly.append(
            phrase(
                "Look at the controller: is it charging by day, does it reach full now and then?"
            )
        )
    blocks = [heading(phrase("Weekly")), bullets(weekly)]
    monthly = _monthly(desk, kind)
    if desk.plan.water:
        monthly.append(
            phrase("Clean the strainer of the pump; listen: does it draw air, does it rattle?")
        )
    if monthly:
        blocks += [heading(phrase("Monthly")), bullets(monthly)]
    autumn: list[str] = [
        phrase("Wash the panels with rain water; cut what has grown into the light.")
    ]
    if desk.plan.wiring is not None and desk.plan.wiring.protections:
        autumn.append(
            phrase(
                "Tighten every terminal, its fuse out or its switch open. Warm or brown means "
                "loose."
            )
        )
    if bank is not None:
        autumn.append(
            phrase(
                "Use little for a day or two, so that the battery goes full into the dark weeks."
            )
        )
    if kind == "flooded" and _water_every(desk) >= _SELDOM_MONTHS:
        autumn += _water(desk)
    if desk.plan.water:
        autumn.append(
            phrase("Before frost empty pump, pipe and tank, or bury and wrap what stays full.")
        )
    autumn.append(phrase("Compare a noon reading with section 8."))
    blocks += [heading(phrase("Before winter")), bullets(autumn)]
    if bank is not None:
        blocks += _charge_by_voltage(desk)
        blocks += [heading(phrase("Storage")), text(_storage(kind))]
    blocks += [heading(phrase("At the end")), text(_end(kind))]
    return section(9, phrase("Looking after it"), blocks, room=0.3)


def _water_every(desk: Desk) -> float:
    """Months between two looks at the water of a flooded battery."""
    topping_up = desk.plan.proof_new.topping_up
    return 1.0 if topping_up is None else topping_up.every_months


def _water(desk: Desk) -> list[str]:
    """How much water, how often, and how."""
    topping_up = desk.plan.proof_new.topping_up
    return [
        *([] if topping_up is None else [desk.say(water_words(topping_up))]),
        phrase(
            "Top up every cell to its mark with distilled water only, after charging, never with "
            "acid. Goggles and gloves."
        ),
    ]


def _monthly(desk: Desk, kind: str) -> list[str]:
    items: list[str] = []
    if kind not in ("", "power_bank"):
        items.append(phrase("Feel the terminals after an hour of load: none should be warm."))
    if kind == "flooded":
        if _water_every(desk) < _SELDOM_MONTHS:
            items += _water(desk)
        items.append(
            phrase("Wipe the top dry; wash off white crust with baking soda in water, caps on.")
        )
    elif kind in ("agm", "gel"):
        items.append(
            phrase("Look for bulging, leaking or a smell of bad eggs: stop charging then.")
        )
    elif kind == "lifepo4":
        items.append(
            phrase("Look at the display of the battery, if it has one: cells alike, no alarm.")
        )
    if desk.plan.system.inverter is not None:
        items.append(phrase("Press the test knob of the residual-current device, if there is one."))
    return items


def _charge_by_voltage(desk: Desk) -> list[Block]:
    bank = desk.plan.system.bank
    if bank is None:
        return []
    if bank.battery.chemistry == "power_bank":
        return [heading(phrase("How full is it")), text(phrase("Its own lamps or display tell."))]
    numbers = desk.numbers
    rows = [
        [numbers.percent(one.charge), numbers.fixed(one.volts, "V", places=2)]
        for one in rest_voltages(bank)
    ]
    words = phrase(
        "Measure after some hours without sun and without load, best before sunrise. Under load "
        "it reads lower, while charging higher."
    )
    if bank.battery.chemistry == "lifepo4":
        words += phrase(
            " Between a fifth and nearly full this kind hardly changes its voltage: it tells "
            "empty from full, not half from three quarters."
        )
    return [
        heading(phrase("How full is it")),
        text(words),
        table([phrase("charge"), phrase("volts at rest")], rows, align="rr", widths=(0, 0)),
    ]


def _storage(kind: str) -> str:
    if kind in ("flooded", "agm", "gel"):
        return phrase(
            "Store it full, cool and dry, everything off, and charge it again every two or three "
            "months. A flat one freezes and is ruined."
        )
    return phrase(
        "Store it about half full, cool and dry, everything off. Look at it twice a year. Do not "
        "charge it below freezing."
    )


def _end(kind: str) -> str:
    words = phrase(
        "Panels go to a collection point for electrical goods; they hold lead and glass."
    )
    if kind in ("flooded", "agm", "gel"):
        return words + phrase(" Lead batteries are taken back by whoever sells them, acid and all.")
    if kind:
        return words + phrase(
            " Lithium batteries go to a collection point with their terminals taped; never into "
            "the bin, never into the fire."
        )
    return words
