"""Write docs/plan.schema.json: the shape of what ``sunpantry plan FILE --json`` prints.

Usage: python tools/build_plan_schema.py [--check]
"""

from __future__ import annotations

import json
import sys
from pathlib import Path
from typing import Any

TARGET = Path(__file__).resolve().parent.parent / "docs" / "plan.schema.json"

NUMBER: dict[str, Any] = {"type": "number"}
COUNT: dict[str, Any] = {"type": "integer", "minimum": 0}
TEXT: dict[str, Any] = {"type": "string"}
YES_NO: dict[str, Any] = {"type": "boolean"}
SHARE: dict[str, Any] = {"type": "number", "minimum": 0, "maximum": 1}


def closed(**properties: Any) -> dict[str, Any]:
    """Object with exactly these keys."""
    return {
        "type": "object",
        "properties": properties,
        "required": list(properties),
        "additionalProperties": False,
    }


def or_null(schema: dict[str, Any]) -> dict[str, Any]:
    """The same, or null."""
    return {"anyOf": [schema, {"type": "null"}]}


def listed(schema: dict[str, Any], **limits: int) -> dict[str, Any]:
    """List of such."""
    return {"type": "array", "items": schema, **limits}


def ref(name: str) -> dict[str, Any]:
    """A shared definition."""
    return {"$ref": f"#/$defs/{name}"}


GIVEN = closed(name=TEXT, value={"type": ["number", "string"]}, unit=TEXT)
FIGURE = closed(
    name=TEXT,
    value={"type": ["number", "null"]},
    unit=TEXT,
    formula=TEXT,
    inputs=listed(ref("given")),
    source=TEXT,
)
ARRAY = closed(
    panel=TEXT,
    series=COUNT,
    parallel=COUNT,
    tilt_deg=listed(NUMBER, minItems=12, maxItems=12),
    azimuth_deg=NUMBER,
    shaded_groups=COUNT,
    power_w=NUMBER,
)
PIPE = closed(
    outside_mm=or_null(COUNT),
    bore_mm=NUMBER,
    price=or_null(NUMBER),
    flow_l_min=NUMBER,
    head_m=NUMBER,
    power_w=NUMBER,
    velocity_m_s=NUMBER,
    wh_per_l=or_null(NUMBER),
    calm=YES_NO,
)
WATER = closed(
    tank=TEXT,
    pump=TEXT,
    volume_l=NUMBER,
    words=TEXT,
    pipe=ref("pipe"),
    pipe_chosen=YES_NO,
    pipes=listed(ref("pipe")),
    array=or_null(ref("array")),
    asked_l_per_year=NUMBER,
    delivered_l_per_year=NUMBER,
    missing_l_per_year=NUMBER,
    dry_days_per_year=NUMBER,
    dry_hours_per_year=NUMBER,
    longest_dry_days=COUNT,
    winters_without_shortfall=COUNT,
    pumping_h_per_year=NUMBER,
    months=listed(
        closed(
            month={"type": "integer", "minimum": 1, "maximum": 12},
            asked_l=NUMBER,
            delivered_l=NUMBER,
            pumped_l=NUMBER,
            pumping_h=NUMBER,
            dry_days=NUMBER,
            lowest_share=SHARE,
        ),
        minItems=12,
        maxItems=12,
    ),
)
SECOND_SOURCE = closed(
    kind={"enum": ["generator", "mains", "carried_battery"]},
    transfer=YES_NO,
    brought_in_wh_per_year=NUMBER,
    sun_share=SHARE,
    hours_per_year=NUMBER,
    starts_per_year=NUMBER,
    fuel_l_per_year=or_null(NUMBER),
    trips_half=or_null(COUNT),
    trips_nine_in_ten=or_null(COUNT),
    most_trips=or_null(COUNT),
    words=TEXT,
)
SYSTEM = closed(
    bank_v=NUMBER,
    arrays=listed(ref("array")),
    battery=or_null(
        closed(
            name=TEXT,
            series=COUNT,
            parallel=COUNT,
            housing=TEXT,
            capacity_ah=NUMBER,
            nominal_v=NUMBER,
        )
    ),
    controller=or_null(closed(name=TEXT, count=COUNT)),
    inverter=or_null(TEXT),
    converters=listed(TEXT),
)
AUDIT = closed(
    **{
        f"{name}_wh": NUMBER
        for name in (
            "gathered", "brought_in", "conversion", "own", "served", "inverter", "ohmic",
            "side_reactions", "gassing", "self_discharge", "stored", "residual", "spilled",
        )
    }
)  # fmt: skip
PROOF = closed(
    winters=COUNT,
    winters_without_shortfall=COUNT,
    winters_within_promise=COUNT,
    hours_without_power_per_year=NUMBER,
    hours_without_power_by_importance=closed(must=NUMBER, should=NUMBER, may=NUMBER),
    unserved_fraction=SHARE,
    longest_gap_h=NUMBER,
    longest_must_gap_h=NUMBER,
    battery_capacity_left=SHARE,
    full_day_share=SHARE,
    months=listed(
        closed(
            month={"type": "integer", "minimum": 1, "maximum": 12},
            offered_wh=NUMBER,
            gathered_wh=NUMBER,
            served_wh=NUMBER,
            unserved_wh=NUMBER,
            hours_without=NUMBER,
            lowest_charge=SHARE,
            mean_charge=SHARE,
        ),
        minItems=12,
        maxItems=12,
    ),
    winter_list=listed(
        closed(
            number=COUNT,
            hours_without=NUMBER,
            unserved_wh=NUMBER,
            lowest_charge=SHARE,
            backup_h=NUMBER,
            backup_starts=NUMBER,
            backup_wh=NUMBER,
        )
    ),
    worst_winters=listed(COUNT),
    loads=listed(
        closed(
            name=TEXT,
            importance={"enum": ["must", "should", "may"]},
            energy_wh_per_year=NUMBER,
            delivered_wh_per_year=NUMBER,
            drawn_wh_per_year=NUMBER,
            unserved_wh_per_year=NUMBER,
            hours_without_per_year=NUMBER,
            worst_week_wh=NUMBER,
            uses_missed_per_year=or_null(NUMBER),
            uses_waiting=or_null(COUNT),
        )
    ),
    battery_life=or_null(
        closed(
            years=NUMBER,
            low_years=NUMBER,
            high_years=NUMBER,
            cycling=NUMBER,
            calendar=NUMBER,
            sulphation=NUMBER,
            overcharge=NUMBER,
        )
    ),
    energy_audit=AUDIT,
)
STAGE = closed(year=COUNT, capacity_left=SHARE, hours_without=NUMBER)
FADING = closed(
    years=listed(
        closed(year=COUNT, battery=COUNT, capacity_left=SHARE, hours_without=NUMBER, used=NUMBER)
    ),
    first=STAGE,
    middle=STAGE,
    last=STAGE,
    replaced_after=listed(COUNT),
    capacity_left_at_end=NUMBER,
    words=TEXT,
)
PLAN = closed(
    format={"const": 1},
    name=TEXT,
    verdict=TEXT,
    verdict_if_darker=TEXT,
    promise_kept=YES_NO,
    site=closed(
        name=or_null(TEXT),
        latitude=NUMBER,
        longitude=NUMBER,
        altitude_m=NUMBER,
        timezone=TEXT,
        data_distance_km=NUMBER,
        source=TEXT,
    ),
    parts=listed(
        closed(
            role=TEXT,
            name=TEXT,
            count=COUNT,
            owned=COUNT,
            unit_price=or_null(NUMBER),
            currency=TEXT,
        )
    ),
    system=ref("system"),
    cost=closed(
        purchase=NUMBER,
        replacements=NUMBER,
        running=NUMBER,
        total=NUMBER,
        replaced_after_years=listed(NUMBER),
        currency=TEXT,
        years=NUMBER,
        unpriced=listed(TEXT),
    ),
    proof=ref("proof"),
    proof_new=ref("proof"),
    proof_if_darker=ref("proof"),
    topping_up=or_null(
        closed(water_l_per_year=NUMBER, ml_per_cell_year=NUMBER, every_months=COUNT)
    ),
    as_the_battery_ages=or_null(FADING),
    search=closed(
        spoke_for=COUNT,
        simulated=COUNT,
        chosen=YES_NO,
        kept=YES_NO,
        stopped_early=YES_NO,
        words=TEXT,
    ),
    frontier=listed(
        closed(
            total=NUMBER,
            hours_without_power_per_year=NUMBER,
            winters_without_shortfall=COUNT,
            weight_kg=or_null(NUMBER),
            proven=YES_NO,
            words=TEXT,
            chosen=YES_NO,
            system=ref("system"),
        )
    ),
    findings=listed(
        closed(
            rule=TEXT,
            severity={
                "enum": ["danger", "will not work", "will disappoint", "worth knowing", "fine"]
            },
            sentence=TEXT,
            about=listed(TEXT),
            figures=listed(ref("figure")),
            limit=or_null(ref("given")),
            remedy=or_null(TEXT),
            source=TEXT,
        )
    ),
    wiring={"type": ["object", "null"]},
    workings=listed(ref("figure")),
    uncertain=listed(closed(load=TEXT, added_hours=NUMBER, words=TEXT)),
    water=listed(ref("water")),
    second_source=or_null(SECOND_SOURCE),
    alternatives=listed(
        closed(
            name=TEXT,
            words=TEXT,
            purchase=NUMBER,
            total=NUMBER,
            trips_per_year=NUMBER,
            hours_without_power_per_year=NUMBER,
            system=or_null(ref("system")),
        )
    ),
    notes=listed(TEXT),
    seed=COUNT,
    version=TEXT,
)


def schema() -> dict[str, Any]:
    """The whole schema."""
    return {
        "$schema": "https://json-schema.org/draft/2020-12/schema",
        "title": "Sunpantry plan",
        "description": "One object as printed by `sunpantry plan FILE --json`. Energies are "
        "means of a year (energy_audit) or of a day (months) in Wh; state of charge and shares "
        "are fractions; unknown numbers are null.",
        **PLAN,
        "$defs": {
            "given": GIVEN,
            "figure": FIGURE,
            "array": ARRAY,
            "system": SYSTEM,
            "proof": PROOF,
            "pipe": PIPE,
            "water": WATER,
        },
    }


def main(arguments: list[str]) -> int:
    """Write the schema, or say whether the file is up to date."""
    text = json.dumps(schema(), indent=2, ensure_ascii=False) + "\n"
    if "--check" in arguments:
        if TARGET.read_text("utf-8") != text:
            print(f"{TARGET.name} is out of date: run this tool", file=sys.stderr)
            return 1
        return 0
    TARGET.write_text(text, "utf-8")
    return 0


if __name__ == "__main__":
    raise SystemExit(main(sys.argv[1:]))
