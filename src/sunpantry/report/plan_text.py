"""The plan in plain words, for a terminal."""

from __future__ import annotations

from collections.abc import Iterable
from textwrap import fill

from sunpantry.design.moments import SHORT_MONTHS
from sunpantry.figures import Figure
from sunpantry.match.finding import Severity
from sunpantry.plan.battery_years import fading_words, water_words
from sunpantry.plan.types import Plan
from sunpantry.report.columns import columns_of
from sunpantry.report.water_text import water_text

WIDTH = 88


def plan_text(plan: Plan) -> str:
    """Tell a person what the plan is: the verdict first, the workings last.

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
    return fill(text, WIDTH, initial_indent=indent, subsequent_indent=indent)


def _titled(title: str, body: str) -> str:
    return f"{title}\n{'-' * len(title)}\n{body}"


def _parts(plan: Plan) -> str:
    rows = []
    for part in plan.parts:
        price = "?" if part.unit_price is None else f"{part.unit_price:.2f}"
        if part.owned >= part.count:
            each, total = "owned", "0.00"
        else:
            each, total = price, f"{part.to_pay:.2f}"
        rows.append((part.role, str(part.count), part.name, each, total))
    cost = plan.cost
    currency = plan.design.money.currency
    table = columns_of(rows, ("", "", "part", f"{currency} each", f"{currency}"))
    years = plan.design.money.years
    lines = [
        table,
        "",
        f"To buy now: {cost.purchase:.0f} {currency}. With battery replacements over "
        f"{years:g} years: {cost.total:.0f} {currency}.",
    ]
    arrays = [
        f"Panels: {array.series} in series × {array.parallel} in parallel, "
        f"{_tilt_words(array.tilt_deg)}, facing {array.azimuth_deg:.0f}° on the compass."
        for array in plan.system.arrays
    ]
    life = plan.proof.life
    if life is not None:
        arrays.append(
            f"Battery life: about {life.years:.1f} years (probably {life.low_years:.1f} to "
            f"{life.high_years:.1f})."
            if life.years < 3.0
            else f"Battery life: about {life.years:.0f} years (probably {life.low_years:.0f} to "
            f"{life.high_years:.0f})."
        )
    if plan.topping_up is not None:
        arrays.append(_wrapped(water_words(plan.topping_up)))
    return _titled("Parts", "\n".join([*lines, *arrays]))


def _tilt_words(tilts: tuple[float, ...]) -> str:
    if len(set(tilts)) == 1:
        return f"tilted {tilts[0]:.0f}°"
    return f"tilted {max(tilts):.0f}° in winter and {min(tilts):.0f}° in summer"


def _choice(plan: Plan) -> str:
    return _wrapped(plan.search.words)


def _months(plan: Plan) -> str:
    proof = plan.proof
    rows: list[tuple[str, ...]] = [
        (
            SHORT_MONTHS[month.month - 1],
            f"{month.offered_wh:.0f}",
            f"{month.gathered_wh:.0f}",
            f"{month.served_wh:.0f}",
            f"{month.unserved_wh:.1f}",
            f"{month.hours_without:.1f}",
            f"{month.lowest_charge:.0%}",
            f"{month.mean_charge:.0%}",
        )
        for month in proof.months
    ]
    heads: tuple[str, ...] = (
        "",
        "sun offers",
        "gathered",
        "delivered",
        "missing",
        "h without",
        "lowest",
        "mean",
    )
    store = (
        f", with the battery worn to {proof.capacity_left:.0%} of its capacity. Energies in Wh a "
        "day; hours without power in the month; state of charge of the battery, lowest in any "
        "winter and mean."
    )
    if plan.system.bank is None:
        store = ". Energies in Wh a day; hours without in the month"
        store += "; content of the tank, lowest in any winter and mean." if plan.water else "."
    intro = _wrapped(f"Mean of {proof.winters} winters{store}")
    if plan.system.bank is None and not plan.water:
        rows, heads = [row[:-2] for row in rows], heads[:-2]
    return _titled("The proof, month by month", f"{intro}\n\n{columns_of(rows, heads)}")


def _winters(plan: Plan) -> str:
    proof = plan.proof
    stored = plan.system.bank is not None or bool(plan.water)
    rows = [
        (
            str(winter.number),
            f"{winter.hours_without:.1f}",
            f"{winter.unserved_wh:.0f}",
            *((f"{winter.lowest_charge:.0%}",) if stored else ()),
        )
        for winter in proof.worst_winters
    ]
    if proof.longest_gap_h > 0.0:
        tail = f"Longest time until full service came back: {proof.longest_gap_h:.0f} hours."
    elif proof.winters_without_shortfall == proof.winters:
        tail = "At no hour of any winter was anything short of power."
    else:
        tail = "What could not wait never went short; what could wait was given up at times."
    heads = (
        "winter",
        "h without",
        "Wh missing",
        "lowest content" if plan.system.bank is None else "lowest charge",
    )
    body = columns_of(rows, heads if stored else heads[:-1])
    return _titled("The darkest winters", f"{body}\n\n{tail}")


def _fading(plan: Plan) -> str:
    fading = plan.fading
    if fading is None:
        return ""
    half = "half its life" if fading.replaced_after else "half-way"
    last = "last year" if fading.replaced_after else "last winter"
    rows = [
        (name, f"{stage.year}", f"{stage.capacity_left:.0%}", f"{stage.hours_without:.1f}")
        for name, stage in (("new", fading.first), (half, fading.middle), (last, fading.last))
    ]
    table = columns_of(rows, ("", "in year", "capacity left", "h without a year"))
    words = _wrapped(f"Hours are means over all winters. {fading_words(fading)}")
    return _titled("As the battery ages", f"{table}\n\n{words}")


def _loads(plan: Plan) -> str:
    rows: list[tuple[str, ...]] = [
        (
            load.name,
            load.importance,
            f"{load.energy_wh_per_year / 1000.0:.1f}",
            f"{load.hours_without_per_year:.1f}",
            f"{load.worst_week_wh:.0f}",
            "" if load.uses_missed_per_year is None else f"{load.uses_missed_per_year:.1f}",
            "" if load.uses_waiting is None else str(load.uses_waiting),
        )
        for load in plan.proof.loads
    ]
    heads: tuple[str, ...] = (
        *("load", "", "kWh a year", "h without a year", "worst week, Wh"),
        *("uses missed a year", "waiting at once"),
    )
    if all(load.uses_waiting is None for load in plan.proof.loads):
        rows, heads = [row[:-2] for row in rows], heads[:-2]
    return _titled("What runs", columns_of(rows, heads))


def _frontier(plan: Plan) -> str:
    if not plan.frontier:
        return ""
    weigh = plan.design.search.weigh
    rows = [
        (
            "this one" if point.system == plan.system else "",
            f"{point.total:.0f}",
            f"{point.hours_without:.1f}",
            f"{point.winters_without_shortfall}",
            *(("?" if point.weight_kg is None else f"{point.weight_kg:.0f}",) if weigh else ()),
            point.words,
        )
        for point in plan.frontier
    ]
    currency = plan.design.money.currency
    hours = "h without a year"
    if plan.second_source is not None and plan.second_source.transfer:
        hours = "h on the mains"
    weights = ("kg of panels and batteries",) if weigh else ()
    heads = ("", f"{currency} in all", hours, "dark-free winters", *weights, "what it is")
    intro = "Cheaper and darker, dearer and safer: nothing else is better in both."
    if weigh:
        intro = "Cheaper, safer or lighter: nothing else is better in all three."
    return _titled("What more or less money buys", f"{intro}\n\n{columns_of(rows, heads)}")


def _alternatives(plan: Plan) -> str:
    if not plan.alternatives:
        return ""
    words = "\n".join(_wrapped(one.words) for one in plan.alternatives)
    return _titled("Other ways of doing it", words)


def _second_source(plan: Plan) -> str:
    return "" if plan.second_source is None else _wrapped(plan.second_source.words)


def _findings(plan: Plan) -> str:
    told = [finding for finding in plan.findings if finding.severity is not Severity.FINE]
    if not told:
        return ""
    lines: list[str] = []
    for finding in told:
        lines.append(_wrapped(f"{finding.severity.words}: {finding.sentence}"))
        if finding.remedy is not None:
            lines.append(_wrapped(finding.remedy.sentence, "    "))
    return _titled("Do the parts suit each other", "\n".join(lines))


def _uncertain(plan: Plan) -> str:
    if not plan.uncertain:
        return ""
    return _titled("Measure these first", "\n".join(_wrapped(one.words) for one in plan.uncertain))


def _workings(workings: Iterable[Figure]) -> str:
    lines: list[str] = []
    for figure in workings:
        lines.append(f"{figure.name}: {figure.value:.4g} {figure.unit}".rstrip())
        lines.append(_wrapped(f"= {figure.formula}", "    "))
        given = "; ".join(
            f"{one.name} {_number(one.value)} {one.unit}".rstrip() for one in figure.inputs
        )
        if given:
            lines.append(_wrapped(f"with {given}", "    "))
        lines.append(_wrapped(f"source: {figure.source}", "    "))
    return _titled("Workings", "\n".join(lines)) if lines else ""


def _number(value: float | str) -> str:
    return value if isinstance(value, str) else f"{value:.4g}"


def _notes(plan: Plan) -> str:
    lines = [_wrapped(f"Note: {note}") for note in plan.notes]
    lines.append(f"Seed {plan.seed}, Sunpantry {plan.version}.")
    return "\n".join(lines)
