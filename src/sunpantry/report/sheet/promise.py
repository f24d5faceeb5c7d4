"""Section 1: the promise on one page, and the proof behind it."""

from __future__ import annotations

from sunpantry.design.moments import MONTHS
from sunpantry.report.sheet.blocks import (
    Block,
    bullets,
    fact,
    facts,
    heading,
    page_break,
    picture,
    section,
    table,
    text,
    verdict,
)
from sunpantry.report.sheet.desk import Desk
from sunpantry.report.sheet.words import IMPORTANCE, counted


def promise(desk: Desk) -> Block:
    """What it runs, where, the verdict and its spread, the cost, the whole picture.

    Parameters
    ----------
    desk : Desk
        The plan and how numbers are written.
    """
    plan = desk.plan
    blocks = [
        text(_where(desk), quiet=True),
        verdict(plan.verdict, plan.verdict_if_darker, kept=plan.search.kept),
        facts(_headline(desk)),
        heading("What it runs"),
        _loads(desk),
    ]
    if plan.wiring is not None:
        drawing = plan.wiring.picture(plan.design.name)
        blocks += [
            heading("The whole system"),
            picture(
                drawing.svg,
                drawing.description,
                height_mm=108.0 if len(plan.demand.loads) <= 6 else 84.0,
            ),
        ]
    return section(1, "The promise", [*blocks, page_break(), *_proof(desk)])


def _where(desk: Desk) -> str:
    place = desk.plan.sky.place
    north = "north" if place.latitude >= 0.0 else "south"
    east = "east" if place.longitude >= 0.0 else "west"
    fixed = desk.numbers.fixed
    words = (
        f"{fixed(abs(place.latitude), '°', places=3)} {north}, "
        f"{fixed(abs(place.longitude), '°', places=3)} {east}, "
        f"{fixed(place.altitude_m, 'm', places=0)} above the sea"
    )
    return f"{place.name}: {words}" if place.name else words


def _headline(desk: Desk) -> list[Block]:
    plan, numbers = desk.plan, desk.numbers
    proof, cost = plan.proof, plan.cost
    dark = numbers.hours(proof.hours_without_power_per_year)
    return [
        fact("To buy now", numbers.money(cost.purchase), _wiring_price(desk)),
        fact(
            "In all",
            numbers.money(cost.total),
            f"over {numbers.number(plan.design.money.years, 'years')}, in today's money",
        ),
        fact(
            "Winters with nothing missing",
            f"{proof.winters_without_shortfall} of {proof.winters}",
            f"in a mean year {dark} without",
        ),
        fact(
            "Panels",
            numbers.number(plan.system.array_power_w, "W"),
            "; ".join(counted(array.count, array.panel.name) for array in plan.system.arrays),
        ),
        _battery(desk),
        fact(
            "Asked for, a mean day",
            numbers.energy(sum(one.energy_wh_per_year for one in proof.loads) / 365.0),
            f"{numbers.percent(1.0 - proof.unserved_fraction, places=1)} of it delivered",
        ),
    ]


def _battery(desk: Desk) -> Block:
    bank, life, numbers = desk.plan.system.bank, desk.plan.proof_new.life, desk.numbers
    if bank is None:
        return fact("Battery", "none", "it runs straight from the sun")
    name = counted(bank.count, bank.battery.name)
    if life is not None:
        years = numbers.span(life.low_years, life.high_years, "years", places=0)
        name += f", good for {years}"
    return fact("Battery", numbers.energy(bank.energy_wh), name)


def _wiring_price(desk: Desk) -> str:
    wiring = desk.plan.wiring
    if wiring is None:
        return "parts; cables and fuses not counted"
    return f"parts; cables and fuses about {desk.materials_numbers.money(wiring.material_price)}"


def _loads(desk: Desk) -> Block:
    plan, numbers = desk.plan, desk.numbers
    by_name = {load.name: load for load in plan.demand.loads}
    rows = []
    for proof in plan.proof.loads:
        # A pump that hangs straight on its panels asks nothing of a battery.
        load = by_name.get(proof.name)
        rows.append(
            [
                proof.name if load is None else counted(load.quantity, load.name),
                "" if load is None else numbers.number(load.peak_w, "W"),
                "its panels" if load is None else load.supply,
                numbers.number(proof.energy_wh_per_year / 365.0, "Wh"),
                IMPORTANCE[proof.importance],
                numbers.hours(proof.hours_without_per_year),
            ]
        )
    heads = ["", "draws", "from", "a mean day", "", "without, a year"]
    return table(heads, rows, align="lrlrlr")


def _proof(desk: Desk) -> list[Block]:
    """Month by month, the winters, where the energy goes."""
    plan = desk.plan
    left = desk.numbers.percent(plan.proof.capacity_left)
    stored = plan.system.bank is not None
    blocks = [
        heading("The proof"),
        text(plan.search.words),
        *desk.chart("year-energy", height_mm=78.0),
        text(
            f"Mean of {plan.proof.winters} winters. Energies in Wh a day; hours in the month."
            + (
                f" The battery is worn to {left} of its capacity; its charge: the lowest in any "
                "winter, and the mean."
                if stored
                else ""
            ),
            quiet=True,
        ),
        _months(desk),
        *desk.chart("charge-all-winters", height_mm=74.0),
        *desk.chart("charge-winters", height_mm=74.0),
        *desk.chart("energy-flow", height_mm=72.0),
        *desk.chart("frontier", height_mm=72.0),
    ]
    return [*blocks, *_water(desk), *_advice(desk)]


def _advice(desk: Desk) -> list[Block]:
    """Other ways, what to measure, what the rules say, what a reader must know."""
    plan = desk.plan
    blocks: list[Block] = []
    if plan.second_source is not None:
        blocks += [heading("The second source"), text(plan.second_source.words)]
    if plan.alternatives:
        blocks += [heading("Other ways"), bullets(one.words for one in plan.alternatives)]
    if plan.uncertain:
        blocks += [heading("Measure these first"), bullets(one.words for one in plan.uncertain)]
    findings = [one for one in plan.findings if one.severity < _FINE]
    if findings:
        blocks.append(heading("Do the parts suit each other"))
        blocks.append(
            bullets(
                f"{one.severity.words.capitalize()}: {one.sentence}"
                + (f" {one.remedy.sentence}" if one.remedy is not None else "")
                for one in findings
            )
        )
    if plan.notes:
        blocks += [heading("What you must know"), bullets(plan.notes)]
    return blocks


def _months(desk: Desk) -> Block:
    """The proof, month by month."""
    plan, numbers = desk.plan, desk.numbers
    stored = plan.system.bank is not None
    rows = [
        [
            MONTHS[one.month - 1],
            numbers.number(one.offered_wh),
            numbers.number(one.gathered_wh),
            numbers.number(one.served_wh),
            numbers.number(one.unserved_wh, digits=2),
            numbers.number(one.hours_without, digits=2),
            *(
                (numbers.percent(one.lowest_charge), numbers.percent(one.mean_charge))
                if stored
                else ()
            ),
        ]
        for one in plan.proof.months
    ]
    heads = ["", "could give", "gathered", "delivered", "missing", "h without"]
    heads += ["lowest", "mean"] if stored else []
    return table(heads, rows, align="l" + "r" * (len(heads) - 1))


def _water(desk: Desk) -> list[Block]:
    """Each tank: the words, the band, the months."""
    numbers = desk.numbers
    blocks: list[Block] = []
    for number, water in enumerate(desk.plan.water, start=1):
        rows = [
            [
                MONTHS[one.month - 1],
                numbers.number(one.asked_l),
                numbers.number(one.delivered_l),
                numbers.number(one.pumping_h, digits=2),
                numbers.number(one.dry_days, digits=2),
                numbers.percent(one.lowest_share),
            ]
            for one in water.proof.months
        ]
        heads = ["", "L a day asked", "delivered", "h pumping", "dry days", "lowest content"]
        blocks += [
            heading(f"Water: {water.tank}"),
            text(water.words),
            *desk.chart(f"tank-{number}", height_mm=70.0),
            table(heads, rows, align="lrrrrr"),
        ]
    return blocks


# Findings from here on need no words on paper.
_FINE = 4
