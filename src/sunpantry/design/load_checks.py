"""What contradicts itself in one load though each key alone is fine: one rule a function."""

from __future__ import annotations

from sunpantry.design.keys import by_month
from sunpantry.design.loads import Load
from sunpantry.design.moments import WEEKDAY_NAMES, never_opens, parse_moment
from sunpantry.design.problems import MISSING, shown
from sunpantry.design.rules import Entry, Found, apply, rule
from sunpantry.errors import Problem
from sunpantry.phrases import phrase


def _load_draws(load: Load, at: str) -> Found:
    if load.like is not None:
        return
    uses = load.energy_per_use_wh is not None or load.uses_per_week is not None
    if load.power_w is None and not (uses and load.minutes_per_use) and not uses:
        if not load.standby_w:
            yield Problem(
                f"{at}.power", MISSING, phrase("what it draws in W"), phrase('add power = "8 W"')
            )
    elif load.power_w == 0.0 and not load.standby_w and load.energy_per_use_wh is None:
        yield Problem(
            f"{at}.power",
            "0",
            phrase("more than 0 W"),
            phrase("a load with no energy: give what it draws"),
        )


def _load_has_habit(load: Load, at: str) -> Found:
    if load.like is not None or not load.power_w:
        return
    habits = (
        load.hours_per_day,
        load.from_,
        load.until,
        load.duty,
        load.bursts,
        load.uses_per_week,
        load.energy_per_use_wh,
    )
    if all(habit is None for habit in habits):
        yield Problem(
            f"{at}.hours_per_day",
            MISSING,
            phrase(
                "how long it works: hours_per_day, from and until, duty, uses_per_week or bursts"
            ),
            phrase("a load with no energy: add hours_per_day = 4, or 24 for around the clock"),
        )


def _load_energy_is_not_zero(load: Load, at: str) -> Found:
    if load.standby_w:
        return
    zero = {
        "hours_per_day": load.hours_per_day == 0.0,
        "duty": load.duty is not None and max(by_month(load.duty)) == 0.0,
        "uses_per_week": load.uses_per_week == 0.0,
        "energy_per_use": load.energy_per_use_wh == 0.0,
    }
    for key, empty in zero.items():
        if empty:
            yield Problem(
                f"{at}.{key}",
                "0",
                phrase("more than 0"),
                phrase("a load with no energy: take it out"),
            )


def _load_has_supply(load: Load, at: str) -> Found:
    if load.supply is None and load.like is None:
        yield Problem(
            f"{at}.supply",
            MISSING,
            phrase('"5 V", "12 V", "24 V", "48 V" or "mains"'),
            phrase('say what it plugs into: add supply = "12 V"'),
        )


def _load_window_is_whole(load: Load, at: str) -> Found:
    if load.hours_per_day is not None or load.can_wait is not None or _counts_uses(load):
        return
    if load.from_ is not None and load.until is None:
        yield Problem(
            f"{at}.until",
            MISSING,
            phrase("the end of the window"),
            phrase("add until or hours_per_day"),
        )
    if load.until is not None and load.from_ is None:
        yield Problem(
            f"{at}.from",
            MISSING,
            phrase("the start of the window"),
            phrase("add from or hours_per_day"),
        )


def _load_window_opens(load: Load, at: str) -> Found:
    if load.from_ is None or load.until is None:
        return
    if never_opens(parse_moment(load.from_), parse_moment(load.until)):
        yield Problem(
            f"{at}.until",
            shown(load.until),
            phrase("a moment other than from ({from_}): this window never opens", from_=load.from_),
            phrase("for around the clock write hours_per_day = 24 instead of from and until"),
        )


def _load_hours_or_window(load: Load, at: str) -> Found:
    if load.hours_per_day is not None and load.from_ is not None and load.until is not None:
        yield Problem(
            f"{at}.hours_per_day",
            f"{load.hours_per_day:g}",
            phrase("either hours_per_day or a window from … until, not both"),
            phrase("keep one; for part of a window give duty, the share of it that counts"),
        )


def _counts_uses(load: Load) -> bool:
    return load.uses_per_week is not None or load.energy_per_use_wh is not None


def _load_one_habit(load: Load, at: str) -> Found:
    given = []
    if _counts_uses(load):
        given.append("uses_per_week")
    if load.bursts is not None:
        given.append("bursts")
    if load.hours_per_day is not None or (load.duty is not None and given):
        given.append("hours_per_day" if load.hours_per_day is not None else "duty")
    if len(given) > 1:
        yield Problem(
            f"{at}.{given[1]}",
            "given",
            phrase("one way of saying how much it works, not {names}", names=" and ".join(given)),
            phrase("keep {first} or {second}", first=given[0], second=given[1]),
        )


def _load_uses_are_whole(load: Load, at: str) -> Found:
    if load.like is not None or not _counts_uses(load):
        return
    if load.uses_per_week is None:
        yield Problem(
            f"{at}.uses_per_week",
            MISSING,
            phrase("how often it is used"),
            phrase("add uses_per_week = 3"),
        )
    elif load.energy_per_use_wh is None and not (load.power_w and load.minutes_per_use):
        yield Problem(
            f"{at}.energy_per_use",
            MISSING,
            phrase("energy of one use in Wh"),
            phrase('add energy_per_use = "500 Wh", or power with minutes_per_use'),
        )
    elif not load.power_w and load.minutes_per_use is None:
        yield Problem(
            f"{at}.minutes_per_use",
            MISSING,
            phrase("how long one use takes"),
            phrase("add it, or power"),
        )


def use_hours(load: Load) -> float | None:
    """Length of one use [h], from the figures that are given; None when they do not say."""
    if load.minutes_per_use is not None:
        return load.minutes_per_use / 60.0
    if load.energy_per_use_wh is not None and load.power_w:
        return load.energy_per_use_wh / load.power_w
    return None


def _load_uses_fit(load: Load, at: str) -> Found:
    hours = use_hours(load)
    if hours is None or load.uses_per_week is None:
        return
    if hours > 24.0:
        yield Problem(
            f"{at}.energy_per_use",
            shown(load.energy_per_use_wh),
            phrase("one use takes {hours:.3g} h at this power; at most 24 h", hours=hours),
            phrase("raise power, or lower energy_per_use"),
        )
    elif hours * load.uses_per_week > (most_h := 24.0 * len(load.weekdays or WEEKDAY_NAMES)):
        yield Problem(
            f"{at}.uses_per_week",
            f"{load.uses_per_week:g}",
            phrase(
                "at most {most_h:.3g}: one use takes {hours:.3g} h",
                most_h=most_h / hours,
                hours=hours,
            ),
            phrase("lower it, or raise power"),
        )


def _load_power_covers_use(load: Load, at: str) -> Found:
    if load.power_w and load.energy_per_use_wh and load.minutes_per_use:
        mean_w = load.energy_per_use_wh / (load.minutes_per_use / 60.0)
        if mean_w > load.power_w * (1.0 + 1e-9):
            yield Problem(
                f"{at}.power",
                f"{load.power_w:g}",
                phrase(
                    "at least {mean_w:.4g} W, or the energy of a use does not fit in its minutes",
                    mean_w=mean_w,
                ),
                phrase("raise power or minutes_per_use, or lower energy_per_use"),
            )


def _load_surge(load: Load, at: str) -> Found:
    if load.surge_w is not None and load.power_w is not None and load.surge_w < load.power_w:
        yield Problem(
            f"{at}.surge",
            f"{load.surge_w:g}",
            phrase(
                "the highest draw as it starts: at least its power, {power_w:g} W",
                power_w=load.power_w,
            ),
            phrase("raise it, or leave it out where there is no surge"),
        )


def _load_standby(load: Load, at: str) -> Found:
    if load.standby_w and load.power_w and load.standby_w > load.power_w:
        yield Problem(
            f"{at}.standby",
            f"{load.standby_w:g}",
            phrase(
                "what it draws while it does nothing: at most its power, {power_w:g} W",
                power_w=load.power_w,
            ),
            phrase("lower it, or raise power"),
        )


def _load_bursts(load: Load, at: str) -> Found:
    bursts = load.bursts
    if bursts is None:
        return
    if (bursts.per_day is None) == (bursts.per_night is None):
        yield Problem(
            f"{at}.bursts",
            "{…}",
            phrase("either per_day or per_night"),
            phrase("keep one of the two")
            if bursts.per_day is not None
            else phrase("add per_night = 8"),
        )
        return
    number = bursts.per_day if bursts.per_day is not None else bursts.per_night
    if number == 0.0 and not load.standby_w:
        yield Problem(
            f"{at}.bursts",
            "0",
            phrase("more than 0 a day"),
            phrase("a load with no energy: take it out"),
        )
    if (number or 0.0) * bursts.minutes > 24 * 60:
        yield Problem(
            f"{at}.bursts.minutes",
            f"{bursts.minutes:g}",
            phrase("bursts that fit in a day"),
            phrase("lower the number or the minutes"),
        )


def _load_patience(load: Load, at: str) -> Found:
    if load.can_wait is None:
        return
    if load.bursts is not None:
        yield Problem(
            f"{at}.can_wait",
            "{…}",
            phrase("a load that is not in bursts"),
            phrase("take out one of the two"),
        )
    if load.until is not None and not _counts_uses(load) and load.hours_per_day is None:
        yield Problem(
            f"{at}.until",
            shown(load.until),
            phrase("hours_per_day or uses_per_week for a load that can wait: it has no window"),
            phrase("say how much it needs with hours_per_day, and take out until"),
        )


LOAD_RULES = (
    rule(_load_draws, "power_w", "energy_per_use_wh", "uses_per_week", "standby_w", "like"),
    rule(
        _load_has_habit,
        *("power_w", "hours_per_day", "from_", "until", "duty", "bursts", "like"),
        *("uses_per_week", "energy_per_use_wh"),
    ),
    rule(
        _load_energy_is_not_zero,
        *("hours_per_day", "duty", "uses_per_week", "energy_per_use_wh", "standby_w"),
    ),
    rule(_load_has_supply, "supply", "like"),
    rule(
        _load_window_is_whole,
        *("from_", "until", "hours_per_day", "can_wait", "uses_per_week", "energy_per_use_wh"),
    ),
    rule(_load_window_opens, "from_", "until"),
    rule(_load_hours_or_window, "hours_per_day", "from_", "until"),
    rule(
        _load_one_habit,
        *("hours_per_day", "bursts", "uses_per_week", "energy_per_use_wh", "duty"),
    ),
    rule(
        _load_uses_are_whole,
        *("uses_per_week", "energy_per_use_wh", "minutes_per_use", "power_w", "like"),
    ),
    rule(
        _load_uses_fit,
        "uses_per_week",
        "energy_per_use_wh",
        "minutes_per_use",
        "power_w",
        "weekdays",
    ),
    rule(_load_power_covers_use, "power_w", "energy_per_use_wh", "minutes_per_use"),
    rule(_load_surge, "surge_w", "power_w"),
    rule(_load_standby, "standby_w", "power_w"),
    rule(_load_bursts, "bursts", "standby_w"),
    rule(_load_patience, "can_wait", "bursts", "until", "hours_per_day", "uses_per_week"),
)


def load_problems(load: Load, at: str, broken: frozenset[str] = frozenset()) -> list[Problem]:
    """Everything in one load that contradicts itself.

    Parameters
    ----------
    load : Load
        The load; with ``like``, what the library supplies is not asked for here.
    at : str
        Where it stands, ``load[2]``.
    broken : frozenset of str
        Attributes that could not be read.

    Returns
    -------
    list of Problem
        Empty when all is well.
    """
    return apply(LOAD_RULES, Entry(at, load, broken))
