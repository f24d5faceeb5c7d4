"""What the years do to the battery, in words and figures."""

from __future__ import annotations

from sunpantry.figures import Figure, Given
from sunpantry.phrases import Phrase, joined, phrase, phrases
from sunpantry.simulate.fading import Fading

SIMULATION = "hour-by-hour simulation, year after year, docs/model.md"


def fading_words(fading: Fading) -> Phrase:
    """When the battery has to be replaced.

    Parameters
    ----------
    fading : Fading
        What happens as the battery ages.
    """
    winters = len(fading.years)
    if not fading.replaced_after:
        return phrases(
            "After {count:g} winter the battery still has {left:.0%} of its capacity.",
            "After {count:g} winters in turn the battery still has {left:.0%} of its capacity: "
            "it need not be replaced in that time.",
            count=winters,
            left=fading.capacity_left_at_end,
        )
    first, *more = fading.replaced_after
    when = phrases(
        "Through the winters in turn the battery is down to 80 % of its capacity, and due for "
        "replacement, after {count:g} year",
        "Through the winters in turn the battery is down to 80 % of its capacity, and due for "
        "replacement, after {count:g} years",
        count=first,
    )
    if not more:
        return joined((when, "."), "")
    years = joined([phrase("{year:g}", year=year) for year in more], last=phrase(" and "))
    return joined((when, phrase("; the next ones after {years}.", years=years)), "")


def fading_figures(fading: Fading | None) -> tuple[Figure, ...]:
    """The fading battery with what it is made of.

    Parameters
    ----------
    fading : Fading or None
        What happens as the battery ages.
    """
    if fading is None:
        return ()
    until = fading.last.year
    used = sum(one.used for one in fading.years[:until])
    return (
        Figure(
            name="battery capacity left at the end of its first life",
            value=fading.first.capacity_left - 0.2 * used,
            unit="",
            formula="capacity at first − 0.2 × sum of the shares of its life used year by year; "
            "each year is run with what the years before have left; a new one at 80 %",
            inputs=(
                Given("capacity at first", fading.first.capacity_left),
                Given("years", float(until), "years"),
                Given("shares of its life used", used),
                Given("hours without in the first year", fading.first.hours_without, "h/year"),
                Given("hours without at half its life", fading.middle.hours_without, "h/year"),
                Given("hours without in its last year", fading.last.hours_without, "h/year"),
            ),
            source=SIMULATION,
        ),
    )
