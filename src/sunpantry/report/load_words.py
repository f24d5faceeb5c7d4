"""A load in a few words."""

from __future__ import annotations

from sunpantry.design.loads import Load


def load_facts(load: Load) -> str:
    """What one draws, and how much it works.

    Parameters
    ----------
    load : Load
        From a document or the library.
    """
    words = []
    if load.power_w:
        words.append(f"{load.power_w:g} W")
    if load.energy_per_use_wh:
        words.append(f"{load.energy_per_use_wh:g} Wh a use")
    if load.uses_per_week is not None:
        words.append(f"{load.uses_per_week:g} uses a week")
    if load.hours_per_day is not None:
        words.append(f"{load.hours_per_day:g} h a day")
    if load.from_ or load.until:
        words.append(f"{load.from_ or 'dusk'} to {load.until or 'later'}")
    if load.duty is not None and not isinstance(load.duty, tuple):
        words.append(f"{load.duty:.0%} of the time")
    elif load.duty is not None:
        words.append(f"{min(load.duty):.0%} to {max(load.duty):.0%} of the time")
    if load.bursts is not None:
        often = load.bursts.per_night or load.bursts.per_day or 0
        words.append(f"{often:g} times for {load.bursts.minutes:g} min")
    if load.surge_w:
        words.append(f"{load.surge_w:g} W at the start")
    words.append(load.supply or "12 V")
    return ", ".join(words)
