"""The plan as one JSON object; ``docs/plan.schema.json`` describes it."""

from __future__ import annotations

from dataclasses import asdict
from typing import TYPE_CHECKING, Any

from sunpantry.figures import Figure
from sunpantry.match.finding import Finding
from sunpantry.parts.system import Array, System
from sunpantry.plan.battery_years import fading_words
from sunpantry.plan.types import Alternative, Plan, WaterReport
from sunpantry.simulate.proof import Proof

if TYPE_CHECKING:
    from sunpantry.demand.water_jobs import PipeChoice
    from sunpantry.simulate.fading import Fading

# Changes when a key is taken away or its meaning changes; new keys may come at any time.
FORMAT = 1


def plan_json(plan: Plan) -> dict[str, Any]:
    """Everything of a plan that is not a picture, as plain data.

    Parameters
    ----------
    plan : Plan
        The plan.

    Returns
    -------
    dict
        To be written by :func:`sunpantry.report.plain.as_json`.
    """
    place = plan.sky.place
    cost = plan.cost
    return {
        "format": FORMAT,
        "name": plan.design.name,
        "verdict": plan.verdict,
        "verdict_if_darker": plan.verdict_if_darker,
        "promise_kept": plan.search.kept,
        "site": {
            "name": place.name,
            "latitude": place.latitude,
            "longitude": place.longitude,
            "altitude_m": place.altitude_m,
            "timezone": place.timezone,
            "data_distance_km": plan.sky.climate.data_distance_km,
            "source": plan.sky.climate.source,
        },
        "parts": [asdict(part) for part in plan.parts],
        "system": system_json(plan.system),
        "cost": {
            "purchase": cost.purchase,
            "replacements": cost.replacements,
            "running": cost.running,
            "total": cost.total,
            "replaced_after_years": cost.replaced_after_years,
            "currency": cost.currency,
            "years": plan.design.money.years,
            "unpriced": cost.unpriced,
        },
        "proof": proof_json(plan.proof),
        "proof_new": proof_json(plan.proof_new),
        "proof_if_darker": proof_json(plan.proof_darker),
        "topping_up": None if plan.topping_up is None else asdict(plan.topping_up),
        "as_the_battery_ages": fading_json(plan.fading),
        "search": asdict(plan.search),
        "frontier": [
            {
                "total": point.total,
                "hours_without_power_per_year": point.hours_without,
                "winters_without_shortfall": point.winters_without_shortfall,
                "weight_kg": point.weight_kg,
                "proven": point.proven,
                "words": point.words,
                "chosen": point.system == plan.system,
                "system": system_json(point.system),
            }
            for point in plan.frontier
        ],
        "findings": [finding_json(finding) for finding in plan.findings],
        "wiring": None if plan.wiring is None else plan.wiring.to_json(),
        "workings": [figure_json(figure) for figure in plan.workings],
        "uncertain": [asdict(one) for one in plan.uncertain],
        "water": [water_json(one) for one in plan.water],
        "second_source": None if plan.second_source is None else asdict(plan.second_source),
        "alternatives": [alternative_json(one) for one in plan.alternatives],
        "notes": plan.notes,
        "seed": plan.seed,
        "version": plan.version,
    }


def fading_json(fading: Fading | None) -> dict[str, Any] | None:
    """What happens as the battery ages."""
    if fading is None:
        return None
    return {**asdict(fading), "words": fading_words(fading)}


def water_json(water: WaterReport) -> dict[str, Any]:
    """A tank with its pump and pipe, without the hour-by-hour content."""
    proof, array = water.proof, water.array
    return {
        "tank": water.tank,
        "pump": water.pump,
        "volume_l": water.volume_l,
        "words": water.words,
        "pipe": pipe_json(water.pipe),
        "pipe_chosen": water.pipe_chosen,
        "pipes": [pipe_json(one) for one in water.offered],
        "array": None if array is None else array_json(array),
        "asked_l_per_year": proof.asked_l_per_year,
        "delivered_l_per_year": proof.delivered_l_per_year,
        "missing_l_per_year": proof.missing_l_per_year,
        "dry_days_per_year": proof.dry_days_per_year,
        "dry_hours_per_year": proof.dry_hours_per_year,
        "longest_dry_days": proof.longest_dry_days,
        "winters_without_shortfall": proof.years_without_shortfall,
        "pumping_h_per_year": proof.pumping_h_per_year,
        "months": [asdict(month) for month in proof.months],
    }


def pipe_json(pipe: PipeChoice) -> dict[str, Any]:
    """A size of pipe and the pump's operating point on it; no energy where nothing comes."""
    works = pipe.flow_l_min > 0.0
    return {
        **asdict(pipe),
        "wh_per_l": pipe.wh_per_l if works else None,
        "calm": pipe.is_calm,
    }


def alternative_json(other: Alternative) -> dict[str, Any]:
    """Another way of doing the same."""
    return {
        "name": other.name,
        "words": other.words,
        "purchase": other.purchase,
        "total": other.total,
        "trips_per_year": other.trips_per_year,
        "hours_without_power_per_year": other.hours_without,
        "system": None if other.system is None else system_json(other.system),
    }


def figure_json(figure: Figure) -> dict[str, Any]:
    """A number with its working."""
    return asdict(figure)


def finding_json(finding: Finding) -> dict[str, Any]:
    """What a rule says, without the case its remedy leads to."""
    return {
        "rule": finding.rule,
        "severity": finding.severity.words,
        "sentence": finding.sentence,
        "about": finding.about,
        "figures": [figure_json(figure) for figure in finding.figures],
        "limit": None if finding.limit is None else asdict(finding.limit),
        "remedy": None if finding.remedy is None else finding.remedy.sentence,
        "source": finding.source,
    }


def system_json(system: System) -> dict[str, Any]:
    """The parts of a system by name, with their wiring."""
    bank = system.bank
    return {
        "bank_v": system.bank_v,
        "arrays": [array_json(array) for array in system.arrays],
        "battery": None
        if bank is None
        else {
            "name": bank.battery.name,
            "series": bank.series,
            "parallel": bank.parallel,
            "housing": bank.housing,
            "capacity_ah": bank.capacity_ah,
            "nominal_v": bank.nominal_v,
        },
        "controller": None
        if system.controller is None
        else {"name": system.controller.name, "count": system.controller_count},
        "inverter": None if system.inverter is None else system.inverter.name,
        "converters": [one.name for one in system.converters],
    }


def array_json(array: Array) -> dict[str, Any]:
    """Equal panels facing one way."""
    return {
        "panel": array.panel.name,
        "series": array.series,
        "parallel": array.parallel,
        "tilt_deg": array.tilt_deg,
        "azimuth_deg": array.azimuth_deg,
        "shaded_groups": array.shaded_groups,
        "power_w": array.power_w,
    }


def proof_json(proof: Proof) -> dict[str, Any]:
    """What the winters showed, without the hour-by-hour traces."""
    must, should, may = proof.hours_without_by_class
    return {
        "winters": proof.winters,
        "winters_without_shortfall": proof.winters_without_shortfall,
        "winters_within_promise": proof.winters_kept,
        "hours_without_power_per_year": proof.hours_without_power_per_year,
        "hours_without_power_by_importance": {"must": must, "should": should, "may": may},
        "unserved_fraction": proof.unserved_fraction,
        "longest_gap_h": proof.longest_gap_h,
        "longest_must_gap_h": proof.longest_must_gap_h,
        "battery_capacity_left": proof.capacity_left,
        "full_day_share": proof.full_day_share,
        "months": [asdict(month) for month in proof.months],
        "winter_list": [asdict(winter) for winter in proof.winter_list],
        "worst_winters": [winter.number for winter in proof.worst_winters],
        "loads": [asdict(load) for load in proof.loads],
        "battery_life": None if proof.life is None else asdict(proof.life),
        "energy_audit": asdict(proof.audit),
    }
