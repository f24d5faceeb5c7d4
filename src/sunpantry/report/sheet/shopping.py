"""Section 2: what to buy, what it costs, what may stand in for it."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import replace
from typing import TYPE_CHECKING

from sunpantry.explain.limits import pipe_limits, replacement_limits
from sunpantry.phrases import joined, phrase
from sunpantry.report.sheet.blocks import Block, heading, section, table, text
from sunpantry.report.sheet.desk import Desk
from sunpantry.report.sheet.words import SECOND_SOURCES, limit_words

if TYPE_CHECKING:
    from sunpantry.plan.types import PlanPart


# A longer list stands closer together, so that it keeps to a page with what belongs to it.
_MANY_LINES = 18
# Of a panel, not of a cable: the empty value sets it apart for other languages.
_SIZE = phrase("size{panel}", panel="")


def shopping(desk: Desk) -> Block:
    """Parts, wiring, mounting, each with a price; and limits for another model.

    Parameters
    ----------
    desk : Desk
        The plan and how numbers are written.
    """
    plan, numbers = desk.plan, desk.numbers
    blocks = [
        heading(phrase("Parts")),
        _parts(desk),
        text(
            phrase(
                "Prices are typical ones unless you gave your own; a shop decides. Parts marked "
                "'you have it' are counted as nothing."
            ),
            quiet=True,
        ),
    ]
    if plan.cost.unpriced:
        names = ", ".join(map(desk.say, plan.cost.unpriced))
        blocks.append(
            text(phrase("Without a known price, and not in the sum: {names}.", names=names))
        )
    if plan.wiring is not None:
        blocks += [heading(phrase("Cables, fuses and small things")), _materials(desk)]
        blocks.append(text(_materials_words(desk), quiet=True))
    blocks += [heading(phrase("Mounting")), _mounting(desk)]
    blocks += [
        heading(phrase("If the shop has another model")),
        text(
            phrase(
                "It may stand in if its label meets every limit in the line. Beyond that, put its "
                "figures into the design and plan again."
            )
        ),
        _limits(desk),
    ]
    if plan.cost.replaced_after_years:
        after = [numbers.fixed(one, places=0) for one in plan.cost.replaced_after_years]
        blocks.append(
            text(
                phrase(
                    "Later: new batteries after about {years} years, together worth {money} of "
                    "today's money.",
                    years=joined(after, last=phrase(" and ")),
                    money=numbers.money(plan.cost.replacements),
                )
            )
        )
    return section(2, phrase("Shopping list"), blocks, room=0.65)


def _parts(desk: Desk) -> Block:
    plan, numbers = desk.plan, desk.numbers
    rows = []
    for part in _alike(plan.parts):
        buying = part.count - part.owned
        each: str
        total: str
        if buying <= 0:
            each, total = "", phrase("you have it")
        elif part.unit_price is None:
            each, total = "–", "–"
        elif part.role == "second source" and part.unit_price == 0.0:
            each, total = "", phrase("is there")
        else:
            each = numbers.money(part.unit_price, exact=True)
            total = numbers.money(part.to_pay, exact=True)
        count: str = str(part.count)
        if 0 < part.owned < part.count:
            count = phrase("{count} ({owned} you have)", count=part.count, owned=part.owned)
        name = part.name
        if plan.second_source is not None and part.role == name:
            name = SECOND_SOURCES[plan.second_source.kind]
        rows.append([desk.say(part.role), desk.say(name), count, each, total])
    rows.append(["", phrase("To buy"), "", "", numbers.money(plan.cost.purchase, exact=True)])
    return table(
        ["", phrase("part"), phrase("how many"), phrase("each"), phrase("in all")],
        rows,
        align="llrrr",
        widths=(0, 1, 0, 0, 0),
        strong=(len(rows) - 1,),
    )


def _alike(parts: Iterable[PlanPart]) -> list[PlanPart]:
    """One line for a model, however many arrays it stands in."""
    lines: dict[tuple[str, str, float | None], PlanPart] = {}
    for part in parts:
        key = (part.role, part.name, part.unit_price)
        same = lines.get(key)
        lines[key] = (
            part
            if same is None
            else replace(part, count=same.count + part.count, owned=same.owned + part.owned)
        )
    return list(lines.values())


def _materials_words(desk: Desk) -> str:
    """What prices and lengths mean, and what everything comes to."""
    wiring, numbers = desk.plan.wiring, desk.materials_numbers
    words = phrase("Typical prices in {currency}.", currency=numbers.currency)
    if wiring is None:
        return words
    if any(line.unit == "m" for line in wiring.materials):
        words += phrase(" Lengths hold a tenth more than the runs measure, for ends and bends.")
    if any(line.item.startswith("spare") for line in wiring.materials):
        words += phrase(" One spare of each fuse lies in the box.")
    if numbers.currency == desk.numbers.currency:
        whole = numbers.money(desk.plan.cost.purchase + wiring.material_price)
        words += phrase(" With the parts above, {money} in all.", money=whole)
    return words


def _materials(desk: Desk) -> Block:
    wiring = desk.plan.wiring
    if wiring is None:
        return table([phrase("item")], [])
    numbers = desk.materials_numbers
    rows = [
        [
            desk.say(line.item),
            numbers.number(line.quantity, "m" if line.unit == "m" else ""),
            numbers.money(line.price, exact=True),
            ", ".join(line.used_in),
        ]
        for line in wiring.materials
    ]
    total = numbers.money(wiring.material_price, exact=True)
    rows.append([phrase("Cables, fuses and small things"), "", total, ""])
    return table(
        [phrase("item"), phrase("how much"), phrase("in all"), phrase("for")],
        rows,
        align="lrrl",
        widths=(1, 0, 0, 0.45),
        strong=(len(rows) - 1,),
        tight=len(rows) > _MANY_LINES,
    )


def _mounting(desk: Desk) -> Block:
    numbers = desk.numbers
    found: dict[tuple[str, str], int] = {}
    for place, array in enumerate(desk.plan.system.arrays):
        panel = array.panel
        if panel.length_m is None or panel.width_m is None:
            size = phrase("measure the panel")
        else:
            size = phrase(
                "each {length} by {width}",
                length=numbers.fixed(panel.length_m, "m", places=2),
                width=numbers.fixed(panel.width_m, "m", places=2),
            )
        if panel.weight_kg is not None:
            size = joined((size, numbers.number(panel.weight_kg, "kg")))
        where = (_mount_words(desk, place), size)
        found[where] = found.get(where, 0) + array.count
    rows = [[where, str(count), size] for (where, size), count in found.items()]
    heads = [phrase("frame or rails, with bolts and clamps"), phrase("panels"), _SIZE]
    return table(heads, rows, align="lrl")


def _mount_words(desk: Desk, place: int) -> str:
    arrays = desk.plan.design.arrays
    kind = arrays[place].mounting if place < len(arrays) else "ground"
    return {
        "ground": phrase("ground frame, with anchors against wind"),
        "roof": phrase("roof hooks and rails for your roof covering"),
        "wall": phrase("wall brackets"),
        "pole": phrase("pole and pole clamp"),
        "carried": phrase("nothing fixed: stands or straps"),
    }[kind]


def _limits(desk: Desk) -> Block:
    plan = desk.plan
    found = [*replacement_limits(plan.setting, plan.system), *pipe_limits(plan.water)]
    rows = [
        [
            one.role,
            desk.say(one.name),
            joined((limit_words(limit, desk.numbers) for limit in one.limits), "; "),
        ]
        for one in dict.fromkeys(found)
    ]
    heads = ["", phrase("in place of"), phrase("its label must say")]
    return table(heads, rows, align="lll", widths=(0, 0.6, 1.4))
