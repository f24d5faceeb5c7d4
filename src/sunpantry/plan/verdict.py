"""The verdict: one sentence that a person can act on."""

from __future__ import annotations

import numpy as np

from sunpantry.design.models import Design
from sunpantry.phrases import phrase, phrases
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
    clear, winters = proof.winters_without_shortfall, proof.winters
    hours = proof.hours_without_power_per_year
    if kept and clear == winters:
        return phrase(
            "Yes: {name} runs through all {winters} winters without a dark hour.",
            name=design.name,
            winters=winters,
        )
    if kept and clear == 0:
        return phrase(
            "Yes: {name} keeps its promise, though no winter passes wholly without a dark hour: "
            "on average something is switched off for {hours} a year, the least important first.",
            name=design.name,
            hours=about_hours(hours),
        )
    if kept:
        return phrase(
            "Yes: {name} keeps its promise; {clear} of {winters} winters pass without a dark hour, "
            "and on average something is switched off for {hours} a year, the least important "
            "first.",
            name=design.name,
            clear=clear,
            winters=winters,
            hours=about_hours(hours),
        )
    must = proof.hours_without_by_class[0]
    return phrase(
        "No: {name} does not keep its promise; only {clear} of {winters} winters pass without a "
        "dark hour, and on average {what} for {hours} a year ({longest} at a stretch in the worst "
        "winter).",
        name=design.name,
        clear=clear,
        winters=winters,
        what=phrase("something that must run stands still")
        if must > DARK_H
        else phrase("something stands still"),
        hours=about_hours(max(must, hours)),
        longest=about_hours(proof.longest_gap_h),
    )


def verdict_if_darker(proof: Proof, *, kept: bool, kept_before: bool, fraction: float) -> str:
    """Say the same for a climate that is darker than the table by a share.

    ``kept_before`` says whether the promise is kept in the climate of the table.
    """
    clear, winters, share = proof.winters_without_shortfall, proof.winters, share_words(fraction)
    if kept and clear == winters:
        return phrase(
            "If your place is {share} darker than the table, it still runs through all {winters} "
            "winters without a dark hour.",
            share=share,
            winters=winters,
        )
    if kept:
        keeps = phrase("still keeps its promise")
    elif kept_before:
        keeps = phrase("no longer keeps its promise")
    else:
        keeps = phrase("keeps still less of its promise")
    return phrase(
        "If your place is {share} darker than the table, it {keeps}: {clear} of {winters} winters "
        "without a dark hour, {hours} a year without power on average.",
        share=share,
        keeps=keeps,
        clear=clear,
        winters=winters,
        hours=about_hours(proof.hours_without_power_per_year),
    )


def share_words(fraction: float) -> str:
    """A share as a person says it."""
    words = {10: phrase("a tenth"), 20: phrase("a fifth")}
    return words.get(round(100.0 * fraction)) or phrase("{share:.0%}", share=fraction)


def about_hours(hours: float) -> str:
    """Hours as a person says them."""
    if hours < 1.0:
        return phrase("less than an hour")
    if hours < 48.0:
        return phrases("{count} hour", "{count} hours", count=round(hours))
    return phrase("{days:.0f} days", days=hours / 24.0)
