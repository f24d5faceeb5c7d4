"""What the years do to the battery, in words and figures."""

from __future__ import annotations

from sunpantry.figures import Figure, Given
from sunpantry.phrases import Phrase, joined, phrase, phrases
from sunpantry.physics.battery import WORN_OUT
from sunpantry.simulate.fading import Fading
from sunpantry.simulate.life import ToppingUp
from sunpantry.simulate.proof import Proof

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
        "Through the winters in turn the battery is down to {worn:.0%} of its capacity, and due "
        "for replacement, after {count:g} year",
        "Through the winters in turn the battery is down to {worn:.0%} of its capacity, and due "
        "for replacement, after {count:g} years",
        count=first,
        worn=WORN_OUT,
    )
    if not more:
        return joined((when, "."), "")
    years = joined([phrase("{year:g}", year=year) for year in more], last=phrase(" and "))
    return joined((when, phrase("; the next ones after {years}.", years=years)), "")


def water_words(water: ToppingUp) -> Phrase:
    """Distilled water, and how often.

    Parameters
    ----------
    water : ToppingUp
        What a flooded battery loses.
    """
    return phrases(
        "Water for the battery: look at the level every month and top up; about "
        "{litres:.1g} L of distilled water a year.",
        "Water for the battery: look at the level every {count:g} months and top up; about "
        "{litres:.1g} L of distilled water a year, more as it grows old.",
        count=water.every_months,
        litres=water.water_l_per_year,
    )


def battery_figures(new: Proof, fading: Fading | None) -> tuple[Figure, ...]:
    """What the years do to the battery, with what it is made of.

    Parameters
    ----------
    new : Proof
        The run with a new battery.
    fading : Fading or None
        What happens as the battery ages.
    """
    return (*_fading_figures(fading), *_water_figures(new.topping_up, new.gassing_ah_per_year))


def _water_figures(water: ToppingUp | None, gassing_ah_per_year: float) -> tuple[Figure, ...]:
    if water is None:
        return ()
    return (
        Figure(
            name="distilled water for the battery",
            value=water.water_l_per_year,
            unit="L/year",
            formula="charge that made gas × 0.337 mL per Ah and cell × cells in series",
            inputs=(
                Given("charge that made gas", gassing_ah_per_year, "Ah/year"),
                Given("water lost by one cell", water.ml_per_cell_year, "mL/year"),
                Given("look and top up every", float(water.every_months), "months"),
            ),
            source="Faraday's law, EN IEC 62485-2; gassing from the simulation, good to a factor "
            "of two; half of 1 mL per Ah above the plates may go: common practice, no source",
        ),
    )


def _fading_figures(fading: Fading | None) -> tuple[Figure, ...]:
    if fading is None:
        return ()
    until = fading.last.year
    used = sum(one.used for one in fading.years[:until])
    return (
        Figure(
            name="battery capacity left at the end of its first life",
            value=fading.first.capacity_left - (1.0 - WORN_OUT) * used,
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
