"""Section 1: the promise on one page, and the proof behind it."""

from __future__ import annotations

from sunpantry.design.moments import MONTHS
from sunpantry.phrases import joined, phrase
from sunpantry.plan.battery_years import fading_words
from sunpantry.report.sheet.blocks import (
    Block,
    bullets,
    fact,
    facts,
    heading,
    page_break,
    section,
    table,
    text,
    verdict,
)
from sunpantry.report.sheet.desk import Desk
from sunpantry.report.sheet.overview import overview
from sunpantry.report.sheet.words import IMPORTANCE, capital, counted, supply_words
from sunpantry.report.written import column


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
        verdict(desk.say(plan.verdict), desk.say(plan.verdict_if_darker), kept=plan.search.kept),
        facts(_headline(desk)),
        heading(phrase("What it runs")),
        _loads(desk),
    ]
    blocks += [heading(phrase("The whole system")), overview(desk)]
    return section(1, phrase("The promise"), [*blocks, page_break(), *_proof(desk)])


def _where(desk: Desk) -> str:
    place = desk.plan.sky.place
    fixed = desk.numbers.fixed
    words = phrase(
        "{latitude} {north}, {longitude} {east}, {height} above the sea",
        latitude=fixed(abs(place.latitude), "°", places=3),
        north=phrase("north") if place.latitude >= 0.0 else phrase("south"),
        longitude=fixed(abs(place.longitude), "°", places=3),
        east=phrase("east") if place.longitude >= 0.0 else phrase("west"),
        height=fixed(place.altitude_m, "m", places=0),
    )
    return joined((place.name, words), ": ") if place.name else words


def _headline(desk: Desk) -> list[Block]:
    plan, numbers = desk.plan, desk.numbers
    proof, cost = plan.proof, plan.cost
    dark = numbers.hours(proof.hours_without_power_per_year)
    return [
        fact(phrase("To buy now"), numbers.money(cost.purchase), _wiring_price(desk)),
        fact(
            phrase("In all"),
            numbers.money(cost.total),
            phrase(
                "over {years}, in today's money",
                years=numbers.number(plan.design.money.years, "years"),
            ),
        ),
        fact(
            phrase("Winters with nothing missing"),
            phrase(
                "{kept} of {winters}",
                kept=proof.winters_without_shortfall,
                winters=proof.winters,
            ),
            phrase("in a mean year {hours} without", hours=dark),
        ),
        fact(
            phrase("Panels"),
            numbers.number(plan.system.array_power_w, "W"),
            "; ".join(_panels(desk)),
        ),
        _battery(desk),
        fact(
            phrase("Asked for, a mean day"),
            numbers.energy(sum(one.energy_wh_per_year for one in proof.loads) / 365.0),
            phrase(
                "{share} of it delivered",
                share=numbers.percent(1.0 - proof.unserved_fraction, places=1),
            ),
        ),
    ]


def _panels(desk: Desk) -> list[str]:
    """Each model with how many of it, however many arrays they stand in."""
    counts: dict[str, int] = {}
    for array in desk.plan.system.arrays:
        counts[array.panel.name] = counts.get(array.panel.name, 0) + array.count
    return [counted(count, desk.say(name)) for name, count in counts.items()]


def _battery(desk: Desk) -> Block:
    bank, life, numbers = desk.plan.system.bank, desk.plan.proof.life, desk.numbers
    if bank is None:
        # No battery, not the bare word: the empty value sets it apart for other languages.
        none = phrase("none{battery}", battery="")
        return fact(phrase("Battery"), none, phrase("it runs straight from the sun"))
    name: str = counted(bank.count, desk.say(bank.battery.name))
    if life is not None:
        years = numbers.span(life.low_years, life.high_years, "years", places=0)
        name = joined((name, phrase("good for {years}", years=years)), "\n")
    return fact(phrase("Battery"), numbers.energy(bank.energy_wh), name)


def _wiring_price(desk: Desk) -> str:
    wiring = desk.plan.wiring
    if wiring is None:
        return phrase("parts; cables and fuses not counted")
    return phrase(
        "parts; cables and fuses about {money}",
        money=desk.materials_numbers.money(wiring.material_price),
    )


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
                phrase("its panels") if load is None else supply_words(load.supply),
                numbers.number(proof.energy_wh_per_year / 365.0, "Wh"),
                IMPORTANCE[proof.importance],
                numbers.hours(proof.hours_without_per_year),
            ]
        )
    heads = [
        *("", phrase("draws"), phrase("from"), phrase("a mean day"), ""),
        phrase("without, a year"),
    ]
    return table(heads, rows, align="lrlrlr", widths=(1.6, 1, 0.8, 1, 1, 1))


def _proof(desk: Desk) -> list[Block]:
    """Month by month, the winters, where the energy goes."""
    plan = desk.plan
    left = desk.numbers.percent(plan.proof.capacity_left)
    stored = plan.system.bank is not None
    means = phrase(
        "The mean of {winters} winters. Energies in Wh a day; hours in the month.",
        winters=plan.proof.winters,
    )
    if stored:
        means += phrase(
            " The battery is worn to {left} of its capacity; its charge: the lowest in any "
            "winter, and the mean.",
            left=left,
        )
    blocks = [
        heading(phrase("The proof")),
        text(desk.say(plan.search.words)),
        *desk.chart("year-energy", height_mm=78.0),
        text(means, quiet=True),
        _months(desk),
        *desk.chart("charge-all-winters", height_mm=74.0),
        *desk.chart("charge-winters", height_mm=74.0),
        *_ageing(desk),
        *desk.chart("energy-flow", height_mm=72.0),
        *desk.chart("frontier", height_mm=72.0),
    ]
    return [*blocks, *_water(desk), *_advice(desk)]


def _ageing(desk: Desk) -> list[Block]:
    """What the years do to the battery."""
    fading, numbers = desk.plan.fading, desk.numbers
    if fading is None:
        return []
    last = phrase("last year") if fading.replaced_after else phrase("last winter")
    stages = (
        (phrase("new"), fading.first),
        (phrase("half-way"), fading.middle),
        (last, fading.last),
    )
    hours = column([stage.hours_without for _, stage in stages], numbers, digits=2)
    rows = [
        [name, numbers.number(stage.year), numbers.percent(stage.capacity_left), without]
        for (name, stage), without in zip(stages, hours, strict=True)
    ]
    heads = ["", phrase("in year"), phrase("capacity left"), phrase("hours a year without")]
    return [
        heading(phrase("As the battery ages")),
        text(desk.say(fading_words(fading))),
        table(heads, rows, align="lrrr", widths=(1, 1, 1, 1)),
    ]


def _advice(desk: Desk) -> list[Block]:
    """Other ways, what to measure, what the rules say, what a reader must know."""
    plan = desk.plan
    blocks: list[Block] = []
    if plan.second_source is not None:
        blocks += [heading(phrase("The second source")), text(desk.say(plan.second_source.words))]
    if plan.alternatives:
        blocks += [
            heading(phrase("Other ways")),
            bullets(desk.say(one.words) for one in plan.alternatives),
        ]
    if plan.uncertain:
        blocks += [
            heading(phrase("Measure these first")),
            bullets(desk.say(one.words) for one in plan.uncertain),
        ]
    findings = [one for one in plan.findings if one.severity < _FINE]
    if findings:
        told = (
            f"{capital(desk.told(one.severity.words))}: {desk.say(one.sentence)}"
            + (f" {desk.say(one.remedy.sentence)}" if one.remedy is not None else "")
            for one in findings
        )
        # Two arrays of one kind are told the same.
        blocks += [heading(phrase("Do the parts suit each other")), bullets(dict.fromkeys(told))]
    if plan.notes:
        blocks += [heading(phrase("What you must know")), bullets(map(desk.say, plan.notes))]
    return blocks


def _months(desk: Desk) -> Block:
    """The proof, month by month."""
    plan, numbers = desk.plan, desk.numbers
    months = plan.proof.months
    columns = [
        [MONTHS[one.month - 1] for one in months],
        column([one.offered_wh for one in months], numbers),
        column([one.gathered_wh for one in months], numbers),
        column([one.served_wh for one in months], numbers),
        column([one.unserved_wh for one in months], numbers, digits=2),
        column([one.hours_without for one in months], numbers, digits=2),
    ]
    heads = [
        *("", phrase("could give"), phrase("gathered"), phrase("delivered"), phrase("missing")),
        phrase("h without"),
    ]
    if plan.system.bank is not None:
        columns.append([numbers.percent(one.lowest_charge) for one in months])
        columns.append([numbers.percent(one.mean_charge) for one in months])
        heads += [phrase("lowest"), phrase("mean")]
    return _by_month(heads, columns)


def _by_month(heads: list[str], columns: list[list[str]]) -> Block:
    rows = list(zip(*columns, strict=True))
    return table(heads, rows, align="l" + "r" * (len(heads) - 1), widths=(1.0,) * len(heads))


def _water(desk: Desk) -> list[Block]:
    """Each tank: the words, the band, the months."""
    numbers = desk.numbers
    blocks: list[Block] = []
    for number, water in enumerate(desk.plan.water, start=1):
        months = water.proof.months
        columns = [
            [MONTHS[one.month - 1] for one in months],
            column([one.asked_l for one in months], numbers),
            column([one.delivered_l for one in months], numbers),
            column([one.pumping_h for one in months], numbers, digits=2),
            column([one.dry_days for one in months], numbers, digits=2),
            [numbers.percent(one.lowest_share) for one in months],
        ]
        heads = [
            *("", phrase("L a day asked"), phrase("delivered"), phrase("h pumping")),
            *(phrase("dry days"), phrase("lowest content")),
        ]
        blocks += [
            heading(phrase("Water: {tank}", tank=water.tank)),
            text(desk.say(water.words)),
            *desk.chart(f"tank-{number}", height_mm=70.0),
            _by_month(heads, columns),
        ]
    return blocks


# Findings from here on need no words on paper.
_FINE = 4
