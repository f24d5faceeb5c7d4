"""The headline numbers of a plan with what they are made of."""

from __future__ import annotations

from sunpantry.figures import Figure, Given
from sunpantry.parts.system import System
from sunpantry.phrases import phrase
from sunpantry.simulate import doubt
from sunpantry.simulate.proof import Proof
from sunpantry.simulate.setting import Setting
from sunpantry.sizing.cost import Cost
from sunpantry.sizing.workings import hand_method

SIMULATION = phrase("hour-by-hour simulation, docs/model.md")


def workings_of(
    setting: Setting, system: System, proof: Proof, cost: Cost, *, years: float
) -> tuple[Figure, ...]:
    """Headline numbers first, then the hand method.

    Parameters
    ----------
    setting : Setting
        Sky and demand.
    system : System
        The system planned.
    proof : Proof
        What the promise rests on.
    cost : Cost
        What it costs.
    years : float
        Time looked at for the cost [years].
    """
    return (
        *_proof_figures(proof),
        *_doubt_figures(setting, system, proof),
        *_life_figures(proof),
        _cost_figure(cost, years),
        *hand_method(setting, system),
    )


def _proof_figures(proof: Proof) -> tuple[Figure, ...]:
    must, should, may = proof.hours_without_by_class
    audit = proof.audit
    asked = audit.served_wh / max(1.0 - proof.unserved_fraction, 1e-12)
    return (
        Figure(
            name="hours without power a year",
            value=proof.hours_without_power_per_year,
            unit="h/year",
            formula="sum over all steps of largest share missing × length of step / winters",
            inputs=(
                Given("winters", float(proof.winters)),
                Given("must", must, "h/year"),
                Given("should", should, "h/year"),
                Given("may", may, "h/year"),
                Given("battery capacity left", proof.capacity_left),
            ),
            source=SIMULATION,
        ),
        Figure(
            name="share of the energy not delivered",
            value=proof.unserved_fraction,
            unit="",
            formula="(energy asked for − energy delivered) / energy asked for",
            inputs=(
                Given("energy asked for", asked, "Wh/year"),
                Given("energy delivered", audit.served_wh, "Wh/year"),
            ),
            source=SIMULATION,
        ),
        Figure(
            name="energy balance left over",
            value=round(audit.residual_wh, 6) + 0.0,  # what rounding leaves is nothing
            unit="Wh/year",
            formula="gathered + brought in − delivered − losses − gain of the store",
            inputs=(
                Given("gathered", audit.gathered_wh, "Wh/year"),
                Given("brought in", audit.brought_in_wh, "Wh/year"),
                Given("delivered", audit.served_wh, "Wh/year"),
                Given("lost in the controller", audit.conversion_wh, "Wh/year"),
                Given("drawn by the controller itself", audit.own_wh, "Wh/year"),
                Given("lost in the inverter", audit.inverter_wh, "Wh/year"),
                Given("lost in the battery's resistance", audit.ohmic_wh, "Wh/year"),
                Given("lost in the battery's chemistry", audit.side_reactions_wh, "Wh/year"),
                Given("spent on gassing", audit.gassing_wh, "Wh/year"),
                Given("lost by standing", audit.self_discharge_wh, "Wh/year"),
                Given("gain of the store", audit.stored_wh, "Wh/year"),
            ),
            source=SIMULATION,
        ),
    )


def _doubt_figures(setting: Setting, system: System, proof: Proof) -> tuple[Figure, ...]:
    """What the typical figures of the battery may hide; a second source would cover it up."""
    if proof.audit.brought_in_wh > 0.0:
        return ()
    poorer = doubt.run_poorer(setting, system, capacity_left=proof.capacity_left)
    if poorer is None:
        return ()
    return (
        Figure(
            name="hours without power a year, were the battery poorer than typical",
            value=poorer.hours_without_power_per_year,
            unit="h/year",
            formula=(
                "run again with what no label tells on its dark side: capacity, resistance, loss "
                "in the cold, by standing, by gassing and in the chemistry"
            ),
            inputs=(
                Given("capacity, times", doubt.CAPACITY_FACTOR),
                Given("resistance, times", doubt.RESISTANCE_FACTOR),
                Given("loss in the cold, times", doubt.COLD_FACTOR),
                Given("self-discharge, times", doubt.LEAK_FACTOR),
                Given("gassing, times", doubt.GAS_FACTOR),
                Given("charge efficiency, less", doubt.COULOMBIC_LESS),
                Given("lowest state of charge then", poorer.lowest_charge),
                Given(
                    "hours without power as planned", proof.hours_without_power_per_year, "h/year"
                ),
            ),
            source="docs/model.md; how far typical figures may err: common practice, from memory",
        ),
    )


def _life_figures(proof: Proof) -> tuple[Figure, ...]:
    life = proof.life
    if life is None:
        return ()
    return (
        Figure(
            name="battery life",
            value=life.years,
            unit="years",
            formula="1 / (cycling + calendar + standing empty + charged too high), each a share of "
            "a life a year",
            inputs=(
                Given("cycling", life.cycling, "1/year"),
                Given("calendar", life.calendar, "1/year"),
                Given("standing empty", life.sulphation, "1/year"),
                Given("charged too high", life.overcharge, "1/year"),
                Given("probably at least", life.low_years, "years"),
                Given("probably at most", life.high_years, "years"),
            ),
            source="added-up wear, constants from the label or typical (common practice)",
        ),
    )


def _cost_figure(cost: Cost, years: float) -> Figure:
    return Figure(
        name="cost over the years looked at",
        value=cost.total,
        unit=cost.currency,
        formula="purchase + replacements + running cost, all in today's money",
        inputs=(
            Given("purchase", cost.purchase, cost.currency),
            Given("replacements", cost.replacements, cost.currency),
            Given("running cost", cost.running, cost.currency),
            Given("years looked at", years, "years"),
        ),
        source="net present value; prices typical, from memory, or your own",
    )
