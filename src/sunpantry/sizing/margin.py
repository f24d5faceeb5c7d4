"""Of one set of parts at all tilts that cost the same, the tilt with the most margin.

A search takes the first of the systems that are equally dear. Two tilts that both keep the
promise need not be equally safe: what tells them apart is a sky that is darker than the table.
"""

from __future__ import annotations

from collections.abc import Sequence

from sunpantry.simulate import layout as at
from sunpantry.simulate.run import run_systems
from sunpantry.simulate.setting import Setting
from sunpantry.sizing.answer import SAME_COST, Answer
from sunpantry.sizing.promise import ROOM_H, Demanded
from sunpantry.sizing.search import Searcher

# Differences below these are none: tenths of a second in a year, and per mille of charge.
HOURS_DIGITS = 4
CHARGE_DIGITS = 3


def safest_tilt(
    searcher: Searcher, demanded: Demanded, chosen: Answer, *, darker: Setting
) -> Answer:
    """The same parts at the tilt with the most margin, for the same money.

    Parameters
    ----------
    searcher : Searcher
        That found the choice.
    demanded : Demanded
        The promise that it keeps.
    chosen : Answer
        The choice.
    darker : Setting
        The same place and loads under a darker sky.

    Returns
    -------
    Answer
        Keeps the promise and the rules, is no dearer than the choice and has no more hours
        without power: the one with the fewest under the darker sky, then under the table's,
        then with the highest lowest charge under the darker one, then the steepest. The
        choice itself where its tilt was given.
    """
    place = chosen.choice
    tilts = searcher.space.tilts_of(place.group, place.pair)
    siblings = [
        one
        for one in (place._replace(tilt=tilt) for tilt in range(tilts))
        if one == place or searcher.acceptable(searcher.space.system(one))
    ]
    if len(siblings) < 2:
        return chosen
    others = [one for one in siblings if one != place]
    rivals = [
        answer
        for answer in searcher.answers_that_keep(others, demanded)
        if answer.cost.total <= chosen.cost.total + SAME_COST
        and answer.hours_without_power <= chosen.hours_without_power + ROOM_H
    ]
    if not rivals:
        return chosen
    rivals.append(chosen)
    for _, answer in sorted(_ranked(searcher, rivals, darker), key=lambda pair: pair[0]):
        if answer.choice == place or searcher.is_sound(answer.choice):
            return answer
    return chosen


def _ranked(
    searcher: Searcher, rivals: Sequence[Answer], darker: Setting
) -> list[tuple[tuple[float, ...], Answer]]:
    runs = run_systems(
        darker,
        [one.system for one in rivals],
        capacity_left=searcher.capacity_left,
        second_source=searcher.second_source,
    )
    dark_h = runs.yearly[:, :, at.Y_ANY_HOURS].mean(axis=1)
    lowest = runs.yearly[:, :, at.Y_LOWEST].min(axis=1)
    return [
        (
            (
                round(float(dark_h[number]), HOURS_DIGITS),
                round(one.hours_without_power, HOURS_DIGITS),
                -round(float(lowest[number]), CHARGE_DIGITS),
                -sum(searcher.space.tilts[one.choice.tilt]),
                float(one.choice.tilt),
            ),
            one,
        )
        for number, one in enumerate(rivals)
    ]
