"""Making the changes that remedies are made of."""

from __future__ import annotations

import math
from collections.abc import Callable, Iterator, Sequence
from typing import Any, Literal, TypeVar

from sunpantry.design.nameplates import Nameplate
from sunpantry.match.case import Case
from sunpantry.match.finding import Need, Remedy
from sunpantry.phrases import phrase, phrases

Label = TypeVar("Label", bound=Nameplate)

# Ratings that controllers are commonly sold in: common practice, no source.
CONTROLLER_V = (25.0, 50.0, 75.0, 100.0, 150.0, 250.0, 450.0, 600.0)
CONTROLLER_A = (5.0, 10.0, 15.0, 20.0, 30.0, 40.0, 50.0, 60.0, 80.0, 100.0)
HIGHEST_V = 1500.0  # no label gives more
MOST_CHANGED = 64  # panels or controllers tried in a row or side by side


def next_rating(least: float, ratings: Sequence[float]) -> float:
    """Smallest rating that is at least as large; beyond the list the figure rounded up.

    Parameters
    ----------
    least : float
        What is needed.
    ratings : sequence of float
        Usual ratings, rising.

    Returns
    -------
    float
        The rating.
    """
    return next((one for one in ratings if one >= least), float(math.ceil(least)))


def relabel(part: Label, **fields: Any) -> Label:
    """Return a part like this one but for some figures, with a name that says so."""
    name = part.name.removesuffix(_CHANGED) + _CHANGED
    return part.model_copy(update={**fields, "name": name[:120]})


_CHANGED = ", other rating"


def needs_of(role: str, relation: str, **fields: Any) -> tuple[Need, ...]:
    """What another part must have: numbers by the relation, words and flags just so."""
    return tuple(
        Need(role, key, relation if type(value) in (int, float, tuple) else "is", _single(value))
        for key, value in fields.items()
    )


def _single(value: Any) -> float | str | bool:
    return value[-1] if isinstance(value, tuple) else value  # type: ignore[no-any-return]


def other_controller(
    case: Case, sentence: str, *, relation: str = "at least", **fields: Any
) -> Iterator[Remedy]:
    """Option: a controller with other figures on its label."""
    controller = case.system.controller
    if controller is not None:
        yield Remedy(
            sentence,
            case.changed(controller=relabel(controller, **fields)),
            needs_of("controller", relation, **fields),
        )


def other_inverter(
    case: Case, sentence: str, *, relation: str = "at least", **fields: Any
) -> Iterator[Remedy]:
    """Option: an inverter with other figures on its label."""
    inverter = case.system.inverter
    if inverter is not None:
        yield Remedy(
            sentence,
            case.changed(inverter=relabel(inverter, **fields)),
            needs_of("inverter", relation, **fields),
        )


def other_panel(case: Case, index: int, *, least_vmp_v: float) -> Iterator[Remedy]:
    """Option: panels of the same power with more volts."""
    array = case.system.arrays[index]
    panel = array.panel
    times = least_vmp_v / panel.vmp_v
    if times <= 1.0 and panel.regulated_output_v is None:
        return
    times = max(times, 1.0)
    suited = relabel(
        panel,
        vmp_v=panel.vmp_v * times,
        voc_v=panel.voc_v * times,
        imp_a=panel.imp_a / times,
        isc_a=panel.isc_a / times,
        cells=round(panel.cells * times),
        regulated_output_v=None,
        regulated_max_a=None,
    )
    yield Remedy(
        phrase("Take panels that work at {least_vmp_v:.0f} V or more.", least_vmp_v=least_vmp_v),
        case.with_array(index, panel=suited, owned=0),
        needs_of("panel", "at least", vmp_v=least_vmp_v),
    )


def more_controllers(case: Case, holds: Callable[[Case], bool]) -> Iterator[Remedy]:
    """Option: as many equal controllers as it takes."""
    count = case.system.controller_count
    for more in range(count + 1, count + 5):
        changed = case.changed(controller_count=more)
        if holds(changed):
            yield Remedy(
                phrase(
                    "Share the array between {more} such controllers, each on its own panels.",
                    more=more,
                ),
                changed,
            )
            return


def wirings(count: int) -> Iterator[tuple[int, int]]:
    """Every way of wiring panels in equal strings, few in series first."""
    for series in range(1, count + 1):
        if count % series == 0:
            yield series, count // series


def words_for(count: int, noun: Literal["panel", "string", "battery"]) -> str:
    """Count with its noun: '1 panel', '3 panels', '2 batteries'."""
    if noun == "battery":
        return phrases("{count} battery", "{count} batteries", count=count)
    if noun == "string":
        return phrases("{count} string", "{count} strings", count=count)
    return phrases("{count} panel", "{count} panels", count=count)


def rewired(
    case: Case, index: int, holds: Callable[[Case], bool], *, shorter: bool
) -> Iterator[Remedy]:
    """Option: the same panels in shorter or longer strings; costs nothing.

    Parameters
    ----------
    case : Case
        The case.
    index : int
        The array.
    holds : callable
        Whether a case is cured.
    shorter : bool
        Look for shorter strings, the nearest first; else for longer ones.

    Yields
    ------
    Remedy
        At most one.
    """
    array = case.system.arrays[index]
    ways = [way for way in wirings(array.count) if (way[0] < array.series) == shorter]
    for series, parallel in reversed(ways) if shorter else ways:
        if series == array.series:
            continue
        changed = case.with_array(index, series=series, parallel=parallel)
        if holds(changed):
            yield Remedy(
                phrase(
                    "Wire the {panels} differently: {series} in each string, {parallel} side "
                    "by side.",
                    panels=words_for(array.count, "panel"),
                    series=words_for(series, "panel"),
                    parallel=words_for(parallel, "string"),
                ),
                changed,
            )
            return


def fewer(case: Case, index: int, holds: Callable[[Case], bool]) -> Iterator[Remedy]:
    """Option: take as few panels away as it needs, strings no longer than they are."""
    array = case.system.arrays[index]
    for count in range(array.count - 1, 0, -1):
        for series, parallel in reversed(list(wirings(count))):
            if series > array.series or parallel > array.parallel:
                continue
            owned = min(array.owned, count)
            changed = case.with_array(index, series=series, parallel=parallel, owned=owned)
            if holds(changed):
                yield Remedy(
                    phrase(
                        "Use {panels} instead of {count}: {series} in each string, {strings}.",
                        panels=words_for(count, "panel"),
                        count=array.count,
                        series=series,
                        strings=words_for(parallel, "string"),
                    ),
                    changed,
                )
                return


def more(case: Case, index: int, holds: Callable[[Case], bool], *, key: str) -> Iterator[Remedy]:
    """Option: add panels, to the strings (``series``) or whole strings (``parallel``)."""
    array = case.system.arrays[index]
    for count in range(getattr(array, key) + 1, MOST_CHANGED + 1):
        changed = case.with_array(index, **{key: count})
        if holds(changed):
            total = changed.system.arrays[index].count
            how = (
                phrase("one after another in each string")
                if key == "series"
                else phrase("side by side")
            )
            yield Remedy(
                phrase(
                    "Use {panels} instead of {count}, {wired} {how}.",
                    panels=words_for(total, "panel"),
                    count=array.count,
                    wired=count,
                    how=how,
                ),
                changed,
            )
            return


def beside(case: Case, holds: Callable[[Case], bool]) -> Iterator[Remedy]:
    """Option: more batteries side by side, as few as it takes."""
    bank = case.system.bank
    if bank is None:
        return
    for count in range(bank.parallel + 1, bank.parallel + MOST_CHANGED):
        larger = case.with_bank(parallel=count)
        if holds(larger):
            total = words_for(count * bank.series, "battery")
            yield Remedy(
                phrase("Use {total} instead of {count}.", total=total, count=bank.count), larger
            )
            return
