"""The plan in plain words, for a terminal."""

from __future__ import annotations

from collections.abc import Iterable

from sunpantry.design.moments import SHORT_MONTHS
from sunpantry.figures import Figure
from sunpantry.match.finding import Severity
from sunpantry.phrases import phrase
from sunpantry.physics.ageing import BatteryLife
from sunpantry.plan.battery_years import fading_words, water_words
from sunpantry.plan.types import Plan
from sunpantry.report.columns import columns_of
from sunpantry.report.spoken import figure, spoken, titled, wrapped
from sunpantry.report.water_text import water_text

WIDTH = 88


def plan_text(plan: Plan) -> str:
    """Tell a person what the plan is, in the language spoken: verdict first, workings last.

    Parameters
    ----------
    plan : Plan
        The plan.

    Returns
    -------
    str
        Lines of at most 88 columns (lists may be wider), with a final line end.
    """
    sections = [
        _wrapped(plan.verdict),
        _wrapped(plan.verdict_if_darker),
        _second_source(plan),
        _parts(plan),
        _choice(plan),
        _months(plan),
        _winters(plan),
        _fading(plan),
        _loads(plan),
        *[water_text(one) for one in plan.water],
        _frontier(plan),
        _alternatives(plan),
        _findings(plan),
        _uncertain(plan),
        _workings(plan.workings),
        _notes(plan),
    ]
    return "\n\n".join(section for section in sections if section) + "\n"


def _wrapped(text: str, indent: str = "") -> str:
    return wrapped(text, WIDTH, indent)


def _parts(plan: Plan) -> str:
    rows = []
    for part in plan.parts:
        price = "?" if part.unit_price is None else figure(part.unit_price, ".2f")
        if part.owned >= part.count:
            each, total = spoken(phrase("owned")), figure(0.0, ".2f")
        else:
            each, total = price, figure(part.to_pay, ".2f")
        rows.append((spoken(part.role), str(part.count), spoken(part.name), each, total))
    cost = plan.cost
    currency = plan.design.money.currency
    each_head = phrase("{currency} each", currency=currency)
    table = columns_of(rows, ("", "", *map(spoken, (phrase("part"), each_head)), currency))
    buying = phrase(
        "To buy now: {purchase:.0f} {currency}. With battery replacements over {years:g} years: "
        "{total:.0f} {currency}.",
        purchase=cost.purchase,
        currency=currency,
        years=plan.design.money.years,
        total=cost.total,
    )
    lines = [table, "", spoken(buying)]
    for array in plan.system.arrays:
        panels = phrase(
            "Panels: {series} in series × {parallel} in parallel, {tilt}, facing "
            "{azimuth_deg:.0f}° on the compass.",
            series=array.series,
            parallel=array.parallel,
            tilt=_tilt_words(array.tilt_deg),
            azimuth_deg=array.azimuth_deg,
        )
        lines.append(spoken(panels))
    if plan.proof.life is not None:
        lines.append(spoken(_life_words(plan.proof.life)))
    if plan.topping_up is not None:
        lines.append(_wrapped(water_words(plan.topping_up)))
    return titled(phrase("Parts"), "\n".join(lines))


def _life_words(life: BatteryLife) -> str:
    years, low, high = life.years, life.low_years, life.high_years
    if years < 3.0:
        return phrase(
            "Battery life: about {years:.1f} years (probably {low:.1f} to {high:.1f}).",
            years=years,
            low=low,
            high=high,
        )
    return phrase(
        "Battery life: about {years:.0f} years (probably {low:.0f} to {high:.0f}).",
        years=years,
        low=low,
        high=high,
    )


def _tilt_words(tilts: tuple[float, ...]) -> str:
    if len(set(tilts)) == 1:
        return phrase("tilted {tilt_deg:.0f}°", tilt_deg=tilts[0])
    return phrase(
        "tilted {winter_deg:.0f}° in winter and {summer_deg:.0f}° in summer",
        winter_deg=max(tilts),
        summer_deg=min(tilts),
    )


def _choice(plan: Plan) -> str:
    return _wrapped(plan.search.words)


def _months(plan: Plan) -> str:
    proof = plan.proof
    rows: list[tuple[str, ...]] = [
        (
            spoken(SHORT_MONTHS[month.month - 1]),
            figure(month.offered_wh, ".0f"),
            figure(month.gathered_wh, ".0f"),
            figure(month.served_wh, ".0f"),
            figure(month.unserved_wh, ".1f"),
            figure(month.hours_without, ".1f"),
            figure(month.lowest_charge, ".0%"),
            figure(month.mean_charge, ".0%"),
        )
        for month in proof.months
    ]
    heads: tuple[str, ...] = (
        *("", phrase("sun offers"), phrase("gathered"), phrase("delivered"), phrase("missing")),
        *(phrase("h without"), phrase("lowest"), phrase("mean")),
    )
    intro = phrase(
        "Mean of {winters} winters, with the battery worn to {left:.0%} of its capacity. Energies "
        "in Wh a day; hours without power in the month; state of charge of the battery, lowest in "
        "any winter and mean.",
        winters=proof.winters,
        left=proof.capacity_left,
    )
    if plan.system.bank is None and plan.water:
        intro = phrase(
            "Mean of {winters} winters. Energies in Wh a day; hours without in the month; content "
            "of the tank, lowest in any winter and mean.",
            winters=proof.winters,
        )
    elif plan.system.bank is None:
        intro = phrase(
            "Mean of {winters} winters. Energies in Wh a day; hours without in the month.",
            winters=proof.winters,
        )
        rows, heads = [row[:-2] for row in rows], heads[:-2]
    table = columns_of(rows, tuple(map(spoken, heads)))
    return titled(phrase("The proof, month by month"), f"{_wrapped(intro)}\n\n{table}")


def _winters(plan: Plan) -> str:
    proof = plan.proof
    stored = plan.system.bank is not None or bool(plan.water)
    rows = [
        (
            str(winter.number),
            figure(winter.hours_without, ".1f"),
            figure(winter.unserved_wh, ".0f"),
            *((figure(winter.lowest_charge, ".0%"),) if stored else ()),
        )
        for winter in proof.worst_winters
    ]
    if proof.longest_gap_h > 0.0:
        tail = phrase(
            "Longest time until full service came back: {hours:.0f} hours.",
            hours=proof.longest_gap_h,
        )
    elif proof.winters_without_shortfall == proof.winters:
        tail = phrase("At no hour of any winter was anything short of power.")
    else:
        tail = phrase(
            "What could not wait never went short; what could wait was given up at times."
        )
    heads = (
        *(phrase("winter"), phrase("h without"), phrase("Wh missing")),
        phrase("lowest content") if plan.system.bank is None else phrase("lowest charge"),
    )
    body = columns_of(rows, tuple(map(spoken, heads if stored else heads[:-1])))
    return titled(phrase("The darkest winters"), f"{body}\n\n{spoken(tail)}")


def _fading(plan: Plan) -> str:
    fading = plan.fading
    if fading is None:
        return ""
    half = phrase("half its life") if fading.replaced_after else phrase("half-way")
    last = phrase("last year") if fading.replaced_after else phrase("last winter")
    stages = ((phrase("new"), fading.first), (half, fading.middle), (last, fading.last))
    rows = [
        (
            *(spoken(name), f"{stage.year}"),
            *(figure(stage.capacity_left, ".0%"), figure(stage.hours_without, ".1f")),
        )
        for name, stage in stages
    ]
    heads = ("", phrase("in year"), phrase("capacity left"), phrase("h without a year"))
    table = columns_of(rows, tuple(map(spoken, heads)))
    words = phrase("Hours are means over all winters. {rest}", rest=fading_words(fading))
    return titled(phrase("As the battery ages"), f"{table}\n\n{_wrapped(words)}")


def _loads(plan: Plan) -> str:
    rows: list[tuple[str, ...]] = [
        (
            load.name,
            spoken(load.importance),
            figure(load.energy_wh_per_year / 1000.0, ".1f"),
            figure(load.hours_without_per_year, ".1f"),
            figure(load.worst_week_wh, ".0f"),
            "" if load.uses_missed_per_year is None else figure(load.uses_missed_per_year, ".1f"),
            "" if load.uses_waiting is None else str(load.uses_waiting),
        )
        for load in plan.proof.loads
    ]
    heads: tuple[str, ...] = (
        *(phrase("load"), "", phrase("kWh a year"), phrase("h without a year")),
        *(phrase("worst week, Wh"), phrase("uses missed a year"), phrase("waiting at once")),
    )
    if all(load.uses_waiting is None for load in plan.proof.loads):
        rows, heads = [row[:-2] for row in rows], heads[:-2]
    return titled(phrase("What runs"), columns_of(rows, tuple(map(spoken, heads))))


def _frontier(plan: Plan) -> str:
    if not plan.frontier:
        return ""
    weigh = plan.design.search.weigh
    rows = [
        (
            spoken(phrase("this one")) if point.system == plan.system else "",
            figure(point.total, ".0f"),
            figure(point.hours_without, ".1f"),
            f"{point.winters_without_shortfall}",
            *(("?" if point.weight_kg is None else figure(point.weight_kg, ".0f"),) * weigh),
            spoken(point.words),
        )
        for point in plan.frontier
    ]
    currency = plan.design.money.currency
    hours = phrase("h without a year")
    if plan.second_source is not None and plan.second_source.transfer:
        hours = phrase("h on the mains")
    weights = (phrase("kg of panels and batteries"),) if weigh else ()
    heads = (
        *("", phrase("{currency} in all", currency=currency), hours),
        *(phrase("dark-free winters"), *weights, phrase("what it is")),
    )
    intro = phrase("Cheaper and darker, dearer and safer: nothing else is better in both.")
    if weigh:
        intro = phrase("Cheaper, safer or lighter: nothing else is better in all three.")
    told = f"{spoken(intro)}\n\n{columns_of(rows, tuple(map(spoken, heads)))}"
    if not all(point.proven for point in plan.frontier):
        told += "\n\n" + _wrapped(
            phrase(
                "Not all of these are proven: something that was not tried might beat some of them."
            )
        )
    return titled(phrase("What more or less money buys"), told)


def _alternatives(plan: Plan) -> str:
    if not plan.alternatives:
        return ""
    words = "\n".join(_wrapped(one.words) for one in plan.alternatives)
    return titled(phrase("Other ways of doing it"), words)


def _second_source(plan: Plan) -> str:
    return "" if plan.second_source is None else _wrapped(plan.second_source.words)


def _findings(plan: Plan) -> str:
    told = [finding for finding in plan.findings if finding.severity is not Severity.FINE]
    if not told:
        return ""
    lines: list[str] = []
    for finding in told:
        lines.append(_wrapped(f"{spoken(finding.severity.words)}: {spoken(finding.sentence)}"))
        if finding.remedy is not None:
            lines.append(_wrapped(finding.remedy.sentence, "    "))
    return titled(phrase("Do the parts suit each other"), "\n".join(lines))


def _uncertain(plan: Plan) -> str:
    if not plan.uncertain:
        return ""
    words = "\n".join(_wrapped(one.words) for one in plan.uncertain)
    return titled(phrase("Measure these first"), words)


def _workings(workings: Iterable[Figure]) -> str:
    lines: list[str] = []
    for one in workings:
        lines.append(f"{spoken(one.name)}: {_measured(one.value, one.unit)}")
        lines.append(_wrapped(f"= {spoken(one.formula)}", "    "))
        given = "; ".join(
            f"{spoken(each.name)} {_measured(each.value, each.unit)}".rstrip()
            for each in one.inputs
        )
        if given:
            lines.append(_wrapped(phrase("with {inputs}", inputs=given), "    "))
        lines.append(_wrapped(phrase("source: {source}", source=spoken(one.source)), "    "))
    return titled(phrase("Workings"), "\n".join(lines)) if lines else ""


def _measured(value: float | str, unit: str) -> str:
    number = spoken(value) if isinstance(value, str) else figure(value, ".4g")
    return f"{number} {spoken(unit)}".rstrip()


def _notes(plan: Plan) -> str:
    lines = [_wrapped(phrase("Note: {note}", note=spoken(note))) for note in plan.notes]
    seed = phrase("Seed {seed}, Sunpantry {version}.", seed=str(plan.seed), version=plan.version)
    lines.append(spoken(seed))
    return "\n".join(lines)
