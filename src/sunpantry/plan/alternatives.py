"""Other ways of doing the same: a smaller system with a helper, or no panel at all."""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from dataclasses import replace

import numpy as np

from sunpantry.demand.series import Demand
from sunpantry.design.kit import voltage_class
from sunpantry.design.loads import SUPPLY_V
from sunpantry.design.models import Design
from sunpantry.design.nameplates import BatteryNameplate
from sunpantry.design.promise import Backup
from sunpantry.parts.catalogue import shipped_catalogue
from sunpantry.parts.system import System
from sunpantry.phrases import phrase
from sunpantry.physics.battery import WORN_OUT
from sunpantry.physics.economics import present_cost
from sunpantry.plan.second import source_words, trips_by_winter
from sunpantry.plan.types import Alternative
from sunpantry.plan.verdict import promise_kept
from sunpantry.simulate.proof import Proof, prove
from sunpantry.simulate.second_source import second_source_of
from sunpantry.simulate.setting import Setting
from sunpantry.sizing.cost import Pricing
from sunpantry.sizing.promise import Demanded
from sunpantry.sizing.trips import quantile
from sunpantry.timegrid import DAYS_PER_YEAR, MONTH_LENGTHS

MOST_TOLD = 2
# More trips in nine winters of ten are no relief, where the document sets no limit.
MOST_TRIPS = 12
# A person carries this much out to a field: common practice, no source.
CARRIED_KG = 25.0
LEAST_WEEKS = 2.0
# Of the capacity that is used between two charges: common practice, no source.
USED_SHARE = {"lifepo4": 0.80}
LEAD_SHARE = 0.50
# Life where the label says nothing [years, cycles]: common practice, no source.
USUAL_LIFE = {"lifepo4": (12.0, 3000)}
LEAD_LIFE = (6.0, 400)


def helped(
    setting: Setting,
    design: Design,
    pricing: Pricing,
    *,
    smaller: Iterable[System],
    main_total: float,
) -> tuple[Alternative, ...]:
    """Smaller systems that keep the promise with the second source, and cost less.

    Parameters
    ----------
    setting : Setting
        Sky and demand.
    design : Design
        The promise and the second source.
    pricing : Pricing
        Prices and terms of the system without it.
    smaller : iterable of System
        Cheaper systems that are too dark alone: those of the frontier.
    main_total : float
        What the system that needs no help costs over the years [currency].
    """
    backup = design.backup or _usual_helper()
    source = second_source_of(backup)
    promise_h = Demanded.of(design).by_class_h
    priced = replace(pricing, backup=backup)
    found = []
    for system in smaller:
        proof = prove(
            setting,
            system,
            promise_h=promise_h,
            capacity_left=WORN_OUT,
            second_source=source,
        )
        told = _helped(
            system,
            proof,
            backup=backup,
            pricing=priced,
            promise_h=promise_h,
            main_total=main_total,
        )
        if told is not None:
            found.append(told)
    return tuple(sorted(found, key=lambda one: one.total)[:MOST_TOLD])


def _helped(
    system: System,
    proof: Proof,
    *,
    backup: Backup,
    pricing: Pricing,
    promise_h: tuple[float, float, float],
    main_total: float,
) -> Alternative | None:
    """Tell of a smaller system with a helper, if it keeps the promise and is worth it."""
    cost = pricing.cost(
        system,
        life_years=None if proof.life is None else proof.life.years,
        backup_wh_per_year=proof.audit.brought_in_wh,
    )
    trips = trips_by_winter(backup, proof.winter_list)
    most = MOST_TRIPS if backup.max_per_winter is None else backup.max_per_winter
    too_often = bool(trips) and quantile(trips, 0.9) > most
    if cost.total >= main_total or too_often or not promise_kept(proof, promise_h):
        return None
    share = cost.total / main_total
    bank = system.bank
    parts = phrase("{array_power_w:.0f} W of panel", array_power_w=system.array_power_w)
    if bank is not None:
        parts += phrase(" and {count} × {name}", count=bank.count, name=bank.battery.name)
    if trips:
        mean = float(np.mean(trips))
        helper = phrase(
            "{mean} carried batteries a winter on average, {most} in nine winters of ten",
            mean=_times(mean),
            most=quantile(trips, 0.9),
        )
    else:
        mean = float(np.mean([one.backup_starts for one in proof.winter_list]))
        hours = float(np.mean([one.backup_h for one in proof.winter_list]))
        helper = phrase(
            "the {kind} for {hours:.0f} hours a year, started {times} times",
            kind=source_words(backup.kind),
            hours=hours,
            times=_times(mean),
        )
    return Alternative(
        name=phrase("smaller, with a {kind}", kind=source_words(backup.kind)),
        words=phrase(
            "{parts}, plus {helper}: {total:.0f} {currency} in all, {share:.0%} of the system "
            "that needs no help.",
            parts=parts,
            helper=helper,
            total=cost.total,
            currency=cost.currency,
            share=share,
        ),
        purchase=cost.purchase,
        total=cost.total,
        trips_per_year=mean,
        hours_without=proof.hours_without_power_per_year,
        system=system,
    )


def _times(mean: float) -> str:
    return f"{mean:.0f}" if mean >= 10.0 else f"{mean:.1f}"


def carried_only(setting: Setting, design: Design, pricing: Pricing) -> tuple[Alternative, ...]:
    """No panel at all: two batteries in rotation, one at work and one being charged at home.

    Parameters
    ----------
    setting : Setting
        The demand.
    design : Design
        For the battery, if it is fixed, and what a trip costs.
    pricing : Pricing
        Prices and terms.

    Returns
    -------
    tuple of Alternative
        Empty where the loads are not all on one low voltage, or no battery that a person
        can carry lasts for half a week.
    """
    demand = setting.demand
    supplies = demand.supplies()
    if len(supplies) != 1 or supplies[0] not in ("12 V", "24 V"):
        return ()
    volts = SUPPLY_V[supplies[0]]
    worst_wh, mean_wh = _daily_wh(demand)
    offers = [
        (battery, _usable_wh(battery) / worst_wh / 7.0)
        for battery in shipped_catalogue().batteries
        if voltage_class(battery.nominal_v) == volts
        and battery.chemistry in ("agm", "gel", "lifepo4")
        and battery.weight_kg is not None
        and battery.weight_kg <= CARRIED_KG
    ]
    offers = [one for one in offers if one[1] >= LEAST_WEEKS / 4.0]
    if not offers:
        return ()
    lasting = [one for one in offers if one[1] >= LEAST_WEEKS]
    if lasting:
        battery, weeks = min(lasting, key=lambda one: (pricing.worth_paying(one[0], 1), -one[1]))
    else:
        battery, weeks = max(offers, key=lambda one: one[1])
    trips = DAYS_PER_YEAR * mean_wh / _usable_wh(battery)
    years, cycles = USUAL_LIFE.get(battery.chemistry, LEAD_LIFE)
    life = min(battery.calendar_life_years or years, (battery.cycles or cycles) / (trips / 2.0))
    purchase = pricing.worth_paying(battery, 2)
    trip_cost = design.backup.trip_cost if design.backup is not None else 0.0
    running = present_cost(
        pricing.rate, first=0.0, yearly=trips * trip_cost, years=max(round(pricing.years), 1),
        later=(),
    )  # fmt: skip
    total = purchase + pricing.battery_again(battery, 2, life) + running
    return (
        Alternative(
            name=phrase("no panel, batteries carried out"),
            words=phrase(
                "Without any panel: a charged {name} lasts {weeks} in the hungriest month "
                "({on_average} on average). Two in rotation, one at work and one on the charger at "
                "home, mean {trips:.0f} trips a year and cost {total:.0f} {currency} in all.",
                name=battery.name,
                weeks=_weeks(weeks),
                on_average=_weeks(_usable_wh(battery) / mean_wh / 7.0),
                trips=trips,
                total=total,
                currency=pricing.currency,
            ),
            purchase=purchase,
            total=total,
            trips_per_year=trips,
            hours_without=0.0,
            system=None,
        ),
    )


def _weeks(weeks: float) -> str:
    if weeks >= 1.0:
        return phrase("{weeks:.1f} weeks", weeks=weeks)
    return phrase("{days:.0f} days", days=7.0 * weeks)


def _usable_wh(battery: BatteryNameplate) -> float:
    share = USED_SHARE.get(battery.chemistry, LEAD_SHARE)
    return battery.nominal_v * battery.capacity_ah * share


def _daily_wh(demand: Demand) -> tuple[float, float]:
    """Energy a day in the hungriest month, and on average [Wh]."""
    monthly = np.sum([demand.monthly_wh(load) for load in demand.loads], axis=0)
    return float((monthly / np.array(MONTH_LENGTHS)).max()), float(monthly.sum()) / DAYS_PER_YEAR


def _usual_helper() -> Backup:
    """The cheapest battery that a person can carry for half a kilowatt-hour."""
    fit = _carryable()
    battery = min(fit, key=lambda one: one.price or 0.0)
    return Backup(
        kind="carried_battery", carried_wh=_usable_wh(battery), price=battery.price or 0.0
    )


def _carryable() -> Iterator[BatteryNameplate]:
    for battery in shipped_catalogue().batteries:
        light = battery.weight_kg is not None and battery.weight_kg <= CARRIED_KG
        if light and _usable_wh(battery) >= 300.0 and battery.chemistry != "power_bank":
            yield battery
