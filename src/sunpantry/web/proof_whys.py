"""Workings of the table of months, of a darker place, of the search."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

from sunpantry.figures import Figure, Given
from sunpantry.phrases import phrase

Plan = Mapping[str, Any]
RUN = "the run through all the winters, step by step"


def month_figures(month: Plan) -> tuple[Figure, ...]:
    """Of a row of the table of months, column by column."""
    delivered, missing = month["served_wh"], month["unserved_wh"]
    lacking = phrase("missing on a day")
    asked = (
        Given("asked for", delivered + missing, "Wh"),
        Given("delivered", delivered, "Wh"),
    )
    columns = (
        (phrase("what the sun offers on a day"), month["offered_wh"], "Wh",
         phrase("what the panels could give if every watt were taken, mean of all days and "
                "winters")),
        (phrase("gathered on a day"), month["gathered_wh"], "Wh",
         phrase("what was taken from the panels: the rest came when the battery was full")),
        (phrase("delivered on a day"), delivered, "Wh",
         phrase("what the loads got, mean of all days and winters")),
        (lacking, missing, "Wh",
         phrase("asked for − delivered, mean of all days and winters")),
        (phrase("without power in the month"), month["hours_without"], "h",
         phrase("sum over the steps of the month of the largest share missing × length of the "
         "step, mean of all winters")),
        (phrase("lowest charge in the month"), 100.0 * month["lowest_charge"], "%",
         phrase("lowest charge over capacity in any hour of the month in any winter")),
    )  # fmt: skip
    return tuple(
        Figure(name, value, unit, formula, asked if name == lacking else (), RUN)
        for name, value, unit, formula in columns
    )


def darker_figures(plan: Plan) -> tuple[Figure, ...]:
    """Of the answer for a place that is darker than the table."""
    proof, before = plan["proof_if_darker"], plan["proof"]
    return (
        Figure(
            "winters without a dark hour, if the place is darker",
            proof["winters_without_shortfall"],
            "",
            "the same parts through the same winters with that much less light",
            (
                Given("winters run", proof["winters"]),
                Given("with the light of the table", before["winters_without_shortfall"]),
            ),
            RUN,
        ),
        Figure(
            "hours without power a year, if the place is darker",
            proof["hours_without_power_per_year"],
            "h",
            "the same parts through the same winters with that much less light",
            (Given("with the light of the table", before["hours_without_power_per_year"], "h"),),
            RUN,
        ),
    )


def search_figures(plan: Plan) -> tuple[Figure, ...]:
    """How many systems the choice speaks for."""
    told = plan["search"]
    return (
        Figure(
            "systems the choice speaks for",
            told["spoke_for"],
            "",
            "every combination of the parts list that is allowed, less those that a cheaper "
            "one beats for certain",
            (Given("run through all the winters", told["simulated"]),),
            "branch and bound: a bound on what a system can do at best ends whole groups",
        ),
    )
