"""Workings of the numbers on the page: those the plan carries, and those the page adds up."""

from __future__ import annotations

import re
from collections.abc import Mapping, Sequence
from functools import cached_property
from typing import TYPE_CHECKING, Any

from sunpantry.figures import Figure, Given
from sunpantry.phrases import phrase

if TYPE_CHECKING:
    from sunpantry.web.answer import Answer
    from sunpantry.web.sections import Section

AnyFigure = Figure | Mapping[str, Any]
RUN = "the run through all the winters, step by step"
PRICES = "prices of the parts list (typical, from memory) or yours"
_ID = re.compile(r"\b([WFQ]\d+)\b")


class Whys:
    """Workings by the place where their number is shown.

    Parameters
    ----------
    answer : Answer or None
        What the page shows; without one there are no numbers.
    """

    def __init__(self, answer: Answer | None) -> None:
        self._answer = answer
        self._plan: Mapping[str, Any] = {} if answer is None else answer.plan
        self._named = {str(one["name"]): one for one in self._plan.get("workings", ())}
        self._by_id: dict[str, list[Figure]] = {}
        for one in () if answer is None else answer.wiring:
            found = _ID.search(str(one.name))
            self._by_id.setdefault(found[1] if found else str(one.name), []).append(one)

    @cached_property
    def sections(self) -> Mapping[str, Section]:
        """Every working that the page has, by what it belongs to: those of the workings' page."""
        from sunpantry.web.sections import sections_of

        return {} if self._answer is None else sections_of(self._answer, self)

    def named(self, *names: str) -> tuple[AnyFigure, ...]:
        """Workings that the plan itself carries."""
        return tuple(self._named[name] for name in names if name in self._named)

    def rest(self, *names: str) -> tuple[AnyFigure, ...]:
        """Every working of the plan but these."""
        return tuple(one for name, one in self._named.items() if name not in names)

    @property
    def winters(self) -> tuple[AnyFigure, ...]:
        """Of the count of winters without a dark hour."""
        proof = self._plan["proof"]
        worst = {one["number"]: one for one in proof["winter_list"]}
        return (
            Figure(
                "winters without a dark hour",
                proof["winters_without_shortfall"],
                "",
                "winters in which nothing that was wanted stood still for a single step",
                (
                    Given("winters run", proof["winters"]),
                    *(
                        Given(
                            phrase("hours without power in winter {number}", number=number),
                            worst[number]["hours_without"],
                            "h",
                        )
                        for number in proof["worst_winters"][:5]
                        if number in worst
                    ),
                ),
                RUN,
            ),
        )

    @property
    def longest(self) -> tuple[AnyFigure, ...]:
        """Of the longest stretch without power."""
        proof = self._plan["proof"]
        return (
            Figure(
                "longest stretch without power",
                proof["longest_gap_h"],
                "h",
                "longest run of steps, one after the other, in which something wanted stood still",
                (
                    Given("winters run", proof["winters"]),
                    Given("the same for what must never fail", proof["longest_must_gap_h"], "h"),
                ),
                RUN,
            ),
        )

    @property
    def worn(self) -> tuple[AnyFigure, ...]:
        """Of the capacity that the proof is made with."""
        left = 100.0 * self._plan["proof"]["battery_capacity_left"]
        return (
            Figure(
                "capacity left in the worn battery",
                left,
                "%",
                "the promise must hold to the end of the battery's life, not only on the first day",
                (),
                "IEC 61427-1: a battery is at its end at 80 % of its rated capacity, from memory",
            ),
        )

    @property
    def months(self) -> tuple[AnyFigure, ...]:
        """How the columns of the table of months are counted, with the figures of December."""
        month = self._plan["proof"]["months"][11]
        delivered, missing = month["served_wh"], month["unserved_wh"]
        return (
            Figure(
                "what the sun offers on a day in December",
                month["offered_wh"],
                "Wh",
                "what the panels could give if every watt were taken, mean of all days and winters",
                (),
                RUN,
            ),
            Figure(
                "gathered on a day in December",
                month["gathered_wh"],
                "Wh",
                "what was taken from the panels: the rest came when the battery was full",
                (Given("the sun offers", month["offered_wh"], "Wh"),),
                RUN,
            ),
            Figure(
                "missing on a day in December",
                missing,
                "Wh",
                "asked for − delivered, mean of all days and winters",
                (
                    Given("asked for", delivered + missing, "Wh"),
                    Given("delivered", delivered, "Wh"),
                ),
                RUN,
            ),
            Figure(
                "without power in December",
                month["hours_without"],
                "h",
                "sum over the steps of the month of the largest share missing × length of the "
                "step, mean of all winters",
                (Given("winters run", self._plan["proof"]["winters"]),),
                RUN,
            ),
            Figure(
                "lowest charge in any December",
                100.0 * month["lowest_charge"],
                "%",
                "lowest charge over capacity in any hour of the month in any winter",
                (Given("charge on average", 100.0 * month["mean_charge"], "%"),),
                RUN,
            ),
        )

    def part(self, part: Mapping[str, Any]) -> tuple[AnyFigure, ...]:
        """Of what a row of the parts list costs."""
        price = part["unit_price"]
        if price is None or part["owned"] >= part["count"]:
            return ()
        to_buy = part["count"] - part["owned"]
        return (
            Figure(
                phrase("what {name} costs", name=part["name"]),
                to_buy * price,
                part["currency"],
                "(how many − how many are yours already) × price of one",
                (
                    Given("how many", part["count"]),
                    Given("yours already", part["owned"]),
                    Given("price of one", price, part["currency"]),
                ),
                PRICES,
            ),
        )

    @property
    def purchase(self) -> tuple[AnyFigure, ...]:
        """Of what is to be bought now."""
        rows = [one for one in self._plan["parts"] if one["unit_price"] is not None]
        currency = self._plan["cost"]["currency"]
        return (
            Figure(
                "to buy now",
                self._plan["cost"]["purchase"],
                currency,
                "sum over the parts that are not yours already",
                tuple(
                    Given(one["name"], (one["count"] - one["owned"]) * one["unit_price"], currency)
                    for one in rows
                    if one["count"] > one["owned"]
                ),
                PRICES,
            ),
        )

    @property
    def replacements(self) -> tuple[AnyFigure, ...]:
        """Of the batteries bought later."""
        cost = self._plan["cost"]
        return (
            Figure(
                "new batteries, in today's money",
                cost["replacements"],
                cost["currency"],
                "sum over the replacements of price / (1 + discount rate) ^ years until then",
                (
                    *(
                        Given("replaced after", years, "years")
                        for years in cost["replaced_after_years"]
                    ),
                    Given("years looked at", cost["years"], "years"),
                    Given("times replaced", len(cost["replaced_after_years"])),
                ),
                "net present value; the life of the battery is worked out above",
            ),
        )

    @property
    def running(self) -> tuple[AnyFigure, ...]:
        """Of fuel and power bought."""
        cost = self._plan["cost"]
        return (
            Figure(
                "fuel and power bought",
                cost["running"],
                cost["currency"],
                "sum over the years of what is bought in a year / (1 + discount rate) ^ years",
                (Given("years looked at", cost["years"], "years"),),
                "net present value; what is bought comes from the run through the winters",
            ),
        )

    @property
    def frontier(self) -> tuple[AnyFigure, ...]:
        """How the neighbours in cost and hours come about."""
        points: Sequence[Mapping[str, Any]] = self._plan["frontier"]
        currency = self._plan["cost"]["currency"]
        return (
            Figure(
                "what more or less money buys",
                len(points),
                "",
                "each is the cheapest system of the search that has fewer hours without power than "
                "every cheaper one; all run through the same winters",
                tuple(
                    Given(
                        phrase(
                            "{hours:.1f} h a year without power",
                            hours=one["hours_without_power_per_year"],
                        ),
                        one["total"],
                        currency,
                    )
                    for one in points
                ),
                "purchase, new batteries, fuel and power, in today's money",
            ),
        )

    @property
    def place(self) -> tuple[AnyFigure, ...]:
        """Where the sun of the place is from."""
        site = self._plan["site"]
        return (
            Figure(
                "distance to the nearest point of the climate table",
                site["data_distance_km"],
                "km",
                "along the surface of the earth, from the place to the point",
                (
                    Given("latitude", site["latitude"], "°"),
                    Given("longitude", site["longitude"], "°"),
                    Given("height above the sea", site["altitude_m"], "m"),
                ),
                site["source"],
            ),
        )

    def run(self, run: Mapping[str, Any]) -> tuple[AnyFigure, ...]:
        """Of a cable: its size, current, drop and capacity."""
        ready = tuple(self._by_id.get(run["id"], ()))
        return (
            Figure(
                phrase("size of {id}", id=run["id"]),
                run["size_mm2"],
                "mm²",
                "smallest standard size that keeps the voltage drop and carries what its fuse "
                "demands",
                _given(
                    run,
                    (phrase("decided by"), "limited_by", ""),
                    (phrase("length, one way"), "length_m", "m"),
                    (phrase("current it is made for"), "design_a", "A"),
                    (phrase("conductors side by side"), "conductors_per_pole", ""),
                    (phrase("voltage lost"), "drop_pct", "%"),
                    (phrase("voltage that may be lost"), "target_pct", "%"),
                    (phrase("current it bears"), "capacity_a", "A"),
                ),
                "IEC 60228 and IEC 60364-5-52; shares of drop are common practice, from memory",
            ),
            *ready,
        )

    def protection(self, one: Mapping[str, Any]) -> tuple[AnyFigure, ...]:
        """Of a fuse or a switch."""
        ready = tuple(self._by_id.get(one["id"], ()))
        if one.get("rating_a") is None or (ready and one.get("prospective_a") is None):
            return ready
        return (
            *ready,
            Figure(
                phrase("what {id} has to break", id=one["id"]),
                one["prospective_a"],
                "A",
                "largest current that a short circuit at its place can draw",
                _given(
                    one,
                    (phrase("voltage at its place"), "voltage_v", "V"),
                    (phrase("voltage it is made for"), "rated_v", "V"),
                    (phrase("fault current it can break"), "breaking_a", "A"),
                ),
                "IEC 60364-4-43",
            )
            if ready
            else Figure(
                phrase("rating of {id}", id=one["id"]),
                one["rating_a"],
                "A",
                "at least the current of its cable, at a voltage it can break",
                _given(
                    one,
                    (phrase("voltage at its place"), "voltage_v", "V"),
                    (phrase("voltage it is made for"), "rated_v", "V"),
                    (phrase("largest fault current at its place"), "prospective_a", "A"),
                    (phrase("fault current it can break"), "breaking_a", "A"),
                ),
                "IEC 60364-4-43",
            ),
        )

    def setting(self, one: Mapping[str, Any]) -> tuple[AnyFigure, ...]:
        """Of a set point."""
        ready = tuple(self._by_id.get(f"{one['name']} in winter", ()))
        if ready or not isinstance(one["value"], int | float):
            return ready
        return (
            Figure(
                one["name"],
                one["value"],
                one["unit"],
                one["note"],
                (Given("part", one["part"]),),
                "the figures of the battery and of the part; the sheet of the maker comes first",
            ),
        )

    def uncertain(self, one: Mapping[str, Any]) -> tuple[AnyFigure, ...]:
        """Of what a typical figure can add."""
        before = self._plan["proof"]["hours_without_power_per_year"]
        return (
            Figure(
                phrase("hours added if {load} takes a fifth more", load=one["load"]),
                one["added_hours"],
                "h",
                "hours without power a year with a fifth more − as designed",
                (Given("as designed", before, "h"),),
                RUN,
            ),
        )


def _given(row: Mapping[str, Any], *asked: tuple[str, str, str]) -> tuple[Given, ...]:
    """What of a row of the plan went into a number: name, key and unit, where the row has it."""
    return tuple(
        Given(name, row[key], unit) for name, key, unit in asked if row.get(key) is not None
    )
