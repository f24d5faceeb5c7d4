"""What the tests of the sky share."""

from __future__ import annotations

import csv
from dataclasses import dataclass
from pathlib import Path

import numpy as np
import pytest

from sunpantry.design.moments import SHORT_MONTHS
from sunpantry.timegrid import FloatArray


@dataclass(frozen=True)
class Site:
    """A row of data/sites.csv."""

    region: str
    name: str
    latitude: float
    longitude: float
    altitude_m: float
    ghi_kwh_m2_day: FloatArray
    kind: str
    in_table: bool


@pytest.fixture(scope="session")
def sites() -> list[Site]:
    """Reference sites with twelve months of irradiation; the file names their sources."""
    with (Path(__file__).parent / "data" / "sites.csv").open(encoding="utf-8") as lines:
        rows = list(csv.DictReader(line for line in lines if not line.startswith("#")))
    return [
        Site(
            region=row["region"],
            name=row["name"],
            latitude=float(row["latitude"]),
            longitude=float(row["longitude"]),
            altitude_m=float(row["altitude_m"]),
            ghi_kwh_m2_day=np.array([float(row[month]) for month in SHORT_MONTHS]),
            kind=row["kind"],
            in_table=row["in_table"] == "1",
        )
        for row in rows
    ]
