"""A number that carries its working: formula, inputs with units, and source."""

from __future__ import annotations

from dataclasses import dataclass


@dataclass(frozen=True, slots=True)
class Given:
    """One input of a working.

    Parameters
    ----------
    name : str
        Plain words ('energy asked for each day').
    value : float or str
        The number, or a word where the input is a choice.
    unit : str
        Unit as printed; empty for a plain number or a word.
    """

    name: str
    value: float | str
    unit: str = ""


@dataclass(frozen=True, slots=True)
class Figure:
    """A headline number with everything needed to check it by hand.

    Parameters
    ----------
    name : str
        Plain words, unique within a plan.
    value : float
        The number, unrounded.
    unit : str
        Unit as printed; empty for a plain number.
    formula : str
        The relation in words or symbols, on one line.
    inputs : tuple of Given
        Every input of the formula.
    source : str
        Where the relation or the constants come from; 'common practice, no source'
        or 'from memory' where that is the truth.
    """

    name: str
    value: float
    unit: str
    formula: str
    inputs: tuple[Given, ...]
    source: str
