"""What contradicts itself in one table of the document: one small rule a function."""

from __future__ import annotations

from collections.abc import Callable
from typing import Any

from sunpantry.design.keys import by_month
from sunpantry.design.kit import ArrayChoice, BatteryChoice, PartChoice
from sunpantry.design.load_checks import LOAD_RULES
from sunpantry.design.moments import never_opens, parse_moment
from sunpantry.design.problems import MISSING, shown
from sunpantry.design.promise import Backup
from sunpantry.design.rules import Draft, Found, Rule, apply, rule
from sunpantry.design.site import Site
from sunpantry.design.water import Pump, Tank
from sunpantry.errors import Problem
from sunpantry.phrases import phrase


def _site_is_somewhere(site: Site, at: str) -> Found:
    if (site.latitude is None) != (site.longitude is None):
        key = "latitude" if site.latitude is None else "longitude"
        yield Problem(
            f"{at}.{key}",
            MISSING,
            phrase("latitude and longitude together"),
            phrase("add {key}", key=key),
        )
    elif site.latitude is None and site.place is None:
        yield Problem(
            f"{at}.latitude",
            MISSING,
            phrase("coordinates in degrees, or place with a name to look up"),
            phrase("add latitude = 54.1 and longitude = -9.2, or place"),
        )


def _part_or_label(choice: PartChoice, at: str) -> Found:
    if choice.part is not None and choice.label is not None:
        yield Problem(
            f"{at}.part",
            shown(choice.part),
            phrase("a name from the list or figures from a label, not both"),
            phrase("take out part, or the figures"),
        )


def _counts_agree(choice: ArrayChoice | BatteryChoice, at: str) -> Found:
    series, parallel, count = choice.series, choice.parallel, choice.count
    if series and parallel and count and series * parallel != count:
        yield Problem(
            f"{at}.count",
            str(count),
            phrase("series × parallel, which is {series}", series=series * parallel),
            phrase("leave out one of the three"),
        )
    elif count and (series or parallel) and count % (series or parallel or 1):
        yield Problem(
            f"{at}.count",
            str(count),
            phrase("a multiple of {what}", what=series or parallel),
            phrase("change count, or the wiring"),
        )


def _owned_within_count(choice: ArrayChoice | BatteryChoice, at: str) -> Found:
    total = choice.count or (choice.series or 0) * (choice.parallel or 0)
    if total and isinstance(choice.owned, int) and choice.owned > total:
        yield Problem(
            f"{at}.owned",
            str(choice.owned),
            phrase("at most as many as there are, {total}", total=total),
            phrase("lower owned, or raise count"),
        )


def _both_tilts(choice: ArrayChoice, at: str) -> Found:
    if (choice.tilt_winter_deg is None) != (choice.tilt_summer_deg is None):
        key = "tilt_winter" if choice.tilt_winter_deg is None else "tilt_summer"
        yield Problem(
            f"{at}.{key}",
            MISSING,
            phrase("tilt_winter and tilt_summer together"),
            phrase("add {key}", key=key),
        )
    elif choice.tilt_winter_deg is not None and choice.tilt_deg != "best":
        yield Problem(
            f"{at}.tilt",
            shown(choice.tilt_deg) if isinstance(choice.tilt_deg, str) else f"{choice.tilt_deg:g}",
            phrase("either tilt, or tilt_winter and tilt_summer"),
            phrase("take out tilt"),
        )


def _window_of(start: str, end: str) -> Callable[[Any, str], Found]:
    """Rule: a pair of moments comes together and opens."""

    def check(item: Any, at: str) -> Found:
        first, last = getattr(item, start), getattr(item, end)
        if (first is None) != (last is None):
            key = (start if first is None else end).rstrip("_")
            yield Problem(
                f"{at}.{key}",
                MISSING,
                phrase("both ends of the window"),
                phrase("add {key}", key=key),
            )
        elif first is not None and never_opens(parse_moment(first), parse_moment(last)):
            yield Problem(
                f"{at}.{end.rstrip('_')}",
                shown(last),
                phrase("a moment other than {first}: this window never opens", first=first),
                phrase("change one of the two"),
            )

    return check


# --- second source and water ------------------------------------------------------

_BELONGS = {
    "generator": ("fuel_l_per_kwh", "fuel_price", "quiet_from", "quiet_until"),
    "mains": ("transfer", "energy_price"),
    "carried_battery": ("carried_wh", "trip_cost", "max_per_winter"),
}


def _backup_is_whole(backup: Backup, at: str) -> Found:
    needed = {"generator": "power_w", "mains": "power_w", "carried_battery": "carried_wh"}
    name = needed[backup.kind]
    if not getattr(backup, name):
        key = name.rsplit("_", 1)[0]
        example = "500 Wh" if name == "carried_wh" else "800 W"
        yield Problem(
            f"{at}.{key}",
            MISSING,
            phrase("needed for a {kind}", kind=backup.kind),
            phrase('add {key} = "{example}"', key=key, example=example),
        )


def _backup_keys_belong(backup: Backup, at: str) -> Found:
    for kind, names in _BELONGS.items():
        for name in names:
            if kind != backup.kind and name in backup.model_fields_set:
                key = name.removesuffix("_wh").replace("fuel_l_per_kwh", "fuel_per_kwh")
                yield Problem(
                    f"{at}.{key}",
                    shown(getattr(backup, name)),
                    phrase(
                        "only for kind {kind}, this is {written}", kind=kind, written=backup.kind
                    ),
                    phrase("take it out, or change kind"),
                )


def _backup_band(backup: Backup, at: str) -> Found:
    if backup.stop_above_pct <= backup.start_below_pct:
        yield Problem(
            f"{at}.stop_above",
            f"{backup.stop_above_pct:g} %",
            phrase(
                "more than start_below, {start_below_pct:g} %",
                start_below_pct=backup.start_below_pct,
            ),
            phrase("raise stop_above"),
        )


def _tank_is_used(tank: Tank, at: str) -> Found:
    drunk = max(by_month(tank.litres_per_day)) + sum(
        drinker.number * max(by_month(drinker.litres_each)) for drinker in tank.drinkers
    )
    if drunk == 0.0:
        yield Problem(
            f"{at}.litres_per_day",
            "0",
            phrase("water drawn, here or in [[tank.drinker]]"),
            phrase("add litres_per_day, or drinkers"),
        )


def _pump_is_given(pump: Pump, at: str) -> Found:
    rated = {
        "rated_flow": pump.rated_flow_l_min,
        "rated_head": pump.rated_head_m,
        "rated_power": pump.rated_power_w,
    }
    has_power = pump.rated_power_w is not None or (
        pump.curve is not None and len(pump.curve[0]) == 3
    )
    if pump.curve is None:
        for key, value in rated.items():
            if value is None:
                yield Problem(
                    f"{at}.{key}",
                    MISSING,
                    phrase("a rated point (rated_flow, rated_head, rated_power) or a curve"),
                    phrase("add {key}", key=key),
                )
    elif not has_power:
        yield Problem(
            f"{at}.rated_power",
            MISSING,
            phrase("the power that goes with the curve"),
            phrase("add rated_power"),
        )


SITE_RULES = (rule(_site_is_somewhere, "place", "latitude", "longitude"),)
_PART = rule(_part_or_label, "part", "label")
_COUNTS = rule(_counts_agree, "count", "series", "parallel")
_OWNED = rule(_owned_within_count, "owned", "count", "series", "parallel")
RULES: dict[str, tuple[Rule, ...]] = {
    "site": SITE_RULES,
    "loads": LOAD_RULES,
    "arrays": (
        _PART,
        _COUNTS,
        _OWNED,
        rule(_both_tilts, "tilt_deg", "tilt_winter_deg", "tilt_summer_deg"),
    ),
    "battery": (_PART, _COUNTS, _OWNED),
    "controller": (_PART,),
    "inverter": (_PART, rule(_window_of("from_", "until"), "from_", "until")),
    "converters": (_PART,),
    "backup": (
        rule(_backup_is_whole, "kind", "power_w", "carried_wh"),
        rule(_backup_keys_belong, "kind"),
        rule(_backup_band, "start_below_pct", "stop_above_pct"),
        rule(_window_of("quiet_from", "quiet_until"), "quiet_from", "quiet_until"),
    ),
    "tanks": (rule(_tank_is_used, "litres_per_day", "drinkers"),),
    "pumps": (rule(_pump_is_given, "curve", "rated_flow_l_min", "rated_head_m", "rated_power_w"),),
}


def table_problems(draft: Draft) -> list[Problem]:
    """Contradictions inside single tables.

    Parameters
    ----------
    draft : Draft
        What could be read of the document.

    Returns
    -------
    list of Problem
        In the order of the document's tables.
    """
    return [
        problem
        for name, rules in RULES.items()
        for entry in draft.entries.get(name, ())
        for problem in apply(rules, entry)
    ]
