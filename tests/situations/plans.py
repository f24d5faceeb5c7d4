"""Plans of the shipped designs and of documents, each made once."""

from __future__ import annotations

from collections.abc import Callable
from functools import cache

from sunpantry.demand import load_library
from sunpantry.demand.library import library_names
from sunpantry.design import parse_design
from sunpantry.design.models import Design
from sunpantry.examples import example
from sunpantry.parts.catalogue import shipped_catalogue
from sunpantry.plan import Plan, make_plan

WINTERS = 4

PlanOf = Callable[[str], Plan]
DesignOf = Callable[[str], Design]


def read(text: str, *, winters: int = WINTERS) -> Design:
    """A design with few winters, its names checked as the command line does."""
    design = parse_design(
        text,
        part_names=shipped_catalogue().part_names(),
        load_names=library_names(load_library()),
    )
    return design.model_copy(update={"winters": winters})


@cache
def shipped_plan(name: str) -> Plan:
    """Plan of a shipped design over few winters."""
    return make_plan(read(example(name).text))


@cache
def plan_of_text(text: str, winters: int = WINTERS) -> Plan:
    """Plan of a document over few winters."""
    return make_plan(read(text, winters=winters))
