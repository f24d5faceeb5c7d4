"""What a plan says of water: every tank with its pump and pipe, and what to beware of."""

from __future__ import annotations

from collections.abc import Iterator, Sequence

from sunpantry.demand.water_jobs import FASTEST_M_S, PipeChoice, PumpJob
from sunpantry.design.promise import Wiring
from sunpantry.figures import Given
from sunpantry.match.finding import Finding, Severity, worked
from sunpantry.match.sources import PRACTICE
from sunpantry.parts.system import System
from sunpantry.phrases import phrase
from sunpantry.physics.water import sensible_lift_m
from sunpantry.plan.direct_pump import DirectPump
from sunpantry.plan.types import PlanPart, WaterReport
from sunpantry.simulate.proof import Proof
from sunpantry.simulate.setting import Setting
from sunpantry.simulate.water import TankProof, tank_behind_battery
from sunpantry.timegrid import DAYS_PER_YEAR

# A given pipe is worth a word when the best one saves more than this of the energy.
WORTH_A_WORD = 0.15
LIFT = phrase("handbook rule: 6 to 7 m of suction at sea level, 1.2 m less for each 1000 m")


def water_reports(
    setting: Setting, system: System, proof: Proof, direct: Sequence[DirectPump], runs: Wiring
) -> tuple[WaterReport, ...]:
    """Report every tank of a plan.

    Parameters
    ----------
    setting : Setting
        Sky and demand, with its pumps.
    system : System
        The system that runs the pumps on the battery.
    proof : Proof
        Its proof, with traces.
    direct : sequence of DirectPump
        The pumps straight on panels.
    runs : Wiring
        Lengths of cables.

    Returns
    -------
    tuple of WaterReport
        In the order of the document.
    """
    chosen = {one.job.pump.name: one for one in direct}
    found = []
    for job in setting.demand.pumps:
        one = chosen.get(job.pump.name)
        if one is None:
            tank = tank_behind_battery(setting, system, job, proof.traces)
            found.append(_report(job, tank, None, runs))
        else:
            found.append(_report(one.job, one.run.tank, one, runs))
    return tuple(found)


def _report(job: PumpJob, tank: TankProof, direct: DirectPump | None, runs: Wiring) -> WaterReport:
    return WaterReport(
        tank=job.tank.name,
        pump=job.pump.name,
        volume_l=job.tank.volume_l,
        suction_m=job.pump.suction_m,
        well_yield_l_per_day=job.pump.well_yield_l_per_day,
        pipe_length_m=job.pump.pipe_length_m,
        cable_length_m=runs.run_m("array", job.pump.name),
        pipe=job.pipe,
        pipe_chosen=job.pump.pipe_bore_mm is None,
        offered=job.offered,
        array=None if direct is None else direct.array,
        proof=tank,
        words=_words(job, tank, direct),
    )


def _words(job: PumpJob, tank: TankProof, direct: DirectPump | None) -> str:
    a_day = tank.delivered_l_per_year / DAYS_PER_YEAR
    if tank.years_without_shortfall == tank.years:
        dry = phrase("never runs dry in {years} winters", years=tank.years)
    else:
        dry = phrase(
            "runs dry on {dry_days_per_year:.1f} days a year, at worst {longest_dry_days} days "
            "in a row",
            dry_days_per_year=tank.dry_days_per_year,
            longest_dry_days=tank.longest_dry_days,
        )
    pumping = tank.pumping_h_per_year / DAYS_PER_YEAR
    start = ""
    if direct is not None:
        least_w = job.table(job.pipe.bore_mm).start_power_w
        start = phrase(
            " Straight on its panels it starts at about {least_w:.0f} W.", least_w=least_w
        )
    return phrase(
        "{pump} brings {a_day:.0f} litres a day into {tank} on average, running "
        "{pumping:.1f} hours a day; the tank of {volume_l:.0f} litres {dry}.{start}",
        pump=job.pump.name,
        a_day=a_day,
        tank=job.tank.name,
        pumping=pumping,
        volume_l=job.tank.volume_l,
        dry=dry,
        start=start,
    )


def water_parts(reports: Sequence[WaterReport], currency: str) -> tuple[PlanPart, ...]:
    """Pipes that were chosen, as lines of the parts list."""
    return tuple(
        PlanPart(
            role="pipe",
            name=phrase(
                "{pipe_length_m:g} m of pipe, {pipe_words}",
                pipe_length_m=one.pipe_length_m,
                pipe_words=pipe_words(one.pipe),
            ),
            count=1,
            owned=0,
            unit_price=one.pipe.price,
            currency=currency,
        )
        for one in reports
        if one.pipe_chosen
    )


def pipe_words(pipe: PipeChoice) -> str:
    """A pipe by the size it is sold by."""
    inside = phrase("{bore_mm:g} mm inside", bore_mm=pipe.bore_mm)
    if pipe.outside_mm is None:
        return inside
    return phrase("{outside_mm} mm ({inside})", outside_mm=pipe.outside_mm, inside=inside)


def water_findings(reports: Sequence[WaterReport], altitude_m: float) -> tuple[Finding, ...]:
    """What a person should know of pumps and pipes, the worst first."""
    found = [finding for one in reports for finding in _findings(one, altitude_m)]
    return tuple(sorted(found, key=lambda one: one.severity))


def _findings(one: WaterReport, altitude_m: float) -> Iterator[Finding]:
    lift_m = sensible_lift_m(altitude_m)
    if one.suction_m > lift_m:
        yield Finding(
            Severity.WILL_NOT_WORK,
            phrase(
                "{pump} stands {suction_m:g} m above the water; air pressure lifts it about "
                "{lift_m:.1f} m here. Put the pump lower, or into the water.",
                pump=one.pump,
                suction_m=one.suction_m,
                lift_m=lift_m,
            ),
            (one.pump,),
            rule="pump-suction",
            source=LIFT,
            limit=Given("sensible lift", lift_m, "m"),
        )
    if not one.pipe.is_calm:
        yield Finding(
            Severity.WILL_DISAPPOINT,
            phrase(
                "Water runs {velocity_m_s:.1f} m/s in the pipe of {pump}: it wears the fittings "
                "and hammers when a valve shuts. A wider pipe is calmer.",
                velocity_m_s=one.pipe.velocity_m_s,
                pump=one.pump,
            ),
            (one.pump, "pipe"),
            (
                worked(
                    "speed of the water",
                    one.pipe.velocity_m_s,
                    "m/s",
                    "flow / area of the bore",
                    "continuity",
                    ("flow", one.pipe.flow_l_min, "L/min"),
                    ("bore", one.pipe.bore_mm, "mm"),
                ),
            ),
            Given("calm water", FASTEST_M_S, "m/s"),
            rule="pipe-speed",
            source=PRACTICE,
        )
    thriftiest = min(one.offered, key=lambda pipe: pipe.wh_per_l)
    if not one.pipe_chosen and one.pipe.wh_per_l > (1.0 + WORTH_A_WORD) * thriftiest.wh_per_l:
        more = one.pipe.wh_per_l / thriftiest.wh_per_l - 1.0
        yield Finding(
            Severity.WORTH_KNOWING,
            phrase(
                "{pump} spends {more:.0%} more on each litre in this pipe than in one of "
                "{pipe_words}.",
                pump=one.pump,
                more=more,
                pipe_words=pipe_words(thriftiest),
            ),
            (one.pump, "pipe"),
            rule="pipe-bore",
            source="Darcy-Weisbach, on the pump's curve",
        )
    yield from _well(one)


def _well(one: WaterReport) -> Iterator[Finding]:
    asked_l = max(month.asked_l for month in one.proof.months)
    if one.well_yield_l_per_day and asked_l > one.well_yield_l_per_day:
        yield Finding(
            Severity.WILL_DISAPPOINT,
            phrase(
                "The well gives {well_yield_l_per_day:.0f} litres a day; in the thirstiest month "
                "{asked_l:.0f} are asked of {tank}.",
                well_yield_l_per_day=one.well_yield_l_per_day,
                asked_l=asked_l,
                tank=one.tank,
            ),
            (one.tank,),
            rule="well-yield",
            source="the figures of the document",
            limit=Given("yield of the well", one.well_yield_l_per_day, "L/day"),
        )
