"""A load in a few words."""

from __future__ import annotations

from sunpantry.design.loads import Load
from sunpantry.phrases import Phrase, joined, phrase


def load_facts(load: Load) -> Phrase:
    """What one draws, and how much it works.

    Parameters
    ----------
    load : Load
        From a document or the library.
    """
    words: list[str] = []
    if load.power_w:
        words.append(phrase("{power_w:g} W", power_w=load.power_w))
    if load.energy_per_use_wh:
        words.append(phrase("{energy_wh:g} Wh a use", energy_wh=load.energy_per_use_wh))
    if load.uses_per_week is not None:
        words.append(phrase("{uses:g} uses a week", uses=load.uses_per_week))
    if load.hours_per_day is not None:
        words.append(phrase("{hours:g} h a day", hours=load.hours_per_day))
    if load.from_ or load.until:
        # Words of the document, as they are typed.
        begin, end = load.from_ or "dusk", load.until or phrase("later")
        words.append(phrase("{begin} to {end}", begin=begin, end=end))
    if load.duty is not None and not isinstance(load.duty, tuple):
        words.append(phrase("{share:.0%} of the time", share=load.duty))
    elif load.duty is not None:
        words.append(
            phrase(
                "{least:.0%} to {most:.0%} of the time", least=min(load.duty), most=max(load.duty)
            )
        )
    if load.bursts is not None:
        often = load.bursts.per_night or load.bursts.per_day or 0
        words.append(
            phrase("{often:g} times for {minutes:g} min", often=often, minutes=load.bursts.minutes)
        )
    if load.surge_w:
        words.append(phrase("{surge_w:g} W at the start", surge_w=load.surge_w))
    words.append(phrase("mains") if load.supply == "mains" else load.supply or "12 V")
    return joined(words)
