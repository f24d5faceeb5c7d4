"""The verdict: one sentence that a person can act on."""

from __future__ import annotations

import numpy as np

from sunpantry.design.models import Design
from sunpantry.simulate.proof import DARK_H, Proof
from sunpantry.sizing.promise import Demanded


def promise_hours(design: Design) -> tuple[float, float, float]:
    """Acceptable hours a year without power for must, should, may [h]."""
    return Demanded.of(design).by_class_h


def promise_kept(proof: Proof, promise_h: tuple[float, float, float]) -> bool:
    """Whether the mean hours without power of every class are within the promise."""
    hours = np.array(proof.hours_without_by_class)
    return Demanded(promise_h).kept(hours, proof.hours_without_power_per_year)


def verdict_of(design: Design, proof: Proof, *, kept: bool) -> str:
    """Say whether the system lasts, with how much certainty.

    Parameters
    ----------
    design : Design
        For its name and its promise.
    proof : Proof
        What the winters showed.
    kept : bool
        Whether the promise is kept.
    """
    winters = f"{proof.winters_without_shortfall} of {proof.winters} winters"
    hours = proof.hours_without_power_per_year
    if kept and proof.winters_without_shortfall == proof.winters:
        return f"Yes: {design.name} runs through all {proof.winters} winters without a dark hour."
    if kept and proof.winters_without_shortfall == 0:
        return (
            f"Yes: {design.name} keeps its promise, though no winter passes wholly without a dark "
            f"hour: on average something is switched off for {about_hours(hours)} a year, the "
            "least important first."
        )
    if kept:
        dark = about_hours(hours)
        return (
            f"Yes: {design.name} keeps its promise; {winters} pass without a dark hour, and on "
            f"average something is switched off for {dark} a year, the least important first."
        )
    must = proof.hours_without_by_class[0]
    what = f"something{' that must run' if must > DARK_H else ''} stands still"
    return (
        f"No: {design.name} does not keep its promise; only {winters} pass without a dark hour, "
        f"and on average {what} for {about_hours(max(must, hours))} a year "
        f"({about_hours(proof.longest_gap_h)} at a stretch in the worst winter)."
    )


def verdict_if_darker(proof: Proof, *, kept: bool, kept_before: bool, fraction: float) -> str:
    """Say the same for a climate that is darker than the table by a share.

    ``kept_before`` says whether the promise is kept in the climate of the table.
    """
    start = f"If your place is {share_words(fraction)} darker than the table,"
    winters = f"{proof.winters_without_shortfall} of {proof.winters} winters"
    if kept and proof.winters_without_shortfall == proof.winters:
        return f"{start} it still runs through all {proof.winters} winters without a dark hour."
    hours = about_hours(proof.hours_without_power_per_year)
    if kept:
        return (
            f"{start} it still keeps its promise: {winters} without a dark hour, "
            f"{hours} a year without power on average."
        )
    breaks = "no longer keeps" if kept_before else "keeps still less of"
    return (
        f"{start} it {breaks} its promise: {winters} without a dark hour, "
        f"{hours} a year without power on average."
    )


def share_words(fraction: float) -> str:
    """A share as a person says it."""
    words = {10: "a tenth", 20: "a fifth"}
    return words.get(round(100.0 * fraction), f"{fraction:.0%}")


def about_hours(hours: float) -> str:
    """Hours as a person says them."""
    if hours < 1.0:
        return "less than an hour"
    if hours < 48.0:
        rounded = round(hours)
        return "1 hour" if rounded == 1 else f"{rounded} hours"
    return f"{hours / 24.0:.0f} days"
