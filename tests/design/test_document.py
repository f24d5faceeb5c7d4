"""The document: the shortest one, and reading back what was written."""

from __future__ import annotations

import pytest

from sunpantry.design import parse_design, write_design

# As published with the project's description of the document.
SHORTEST = """\
schema = 1
name = "Lamp in the hut"

[site]
latitude = 54.1
longitude = -9.2

[[load]]
name = "Lamp"
power = "8 W"
supply = "12 V"        # "5 V", "12 V", "24 V" or "mains"
hours_per_day = 4      # by default in the evening, after dusk
"""


@pytest.mark.regression
def test_the_shortest_document_is_enough() -> None:
    design = parse_design(SHORTEST)
    lamp = design.loads[0]
    assert design.name == "Lamp in the hut"
    assert (design.site.latitude, design.site.longitude) == (54.1, -9.2)
    assert (lamp.name, lamp.power_w, lamp.supply, lamp.hours_per_day) == ("Lamp", 8.0, "12 V", 4.0)
    assert design.arrays == ()
    assert design.battery is None
    assert (design.winters, design.step_h, design.seed) == (30, 1.0, 1)


@pytest.mark.regression
def test_the_shortest_document_reads_back() -> None:
    design = parse_design(SHORTEST)
    assert parse_design(write_design(design)) == design
