"""Sentences and numbers for a terminal.

In English they are printed as the code makes them, so that whoever reads the output with a
program finds plain digits and spaces; another language brings its own way of writing numbers.
"""

from __future__ import annotations

from functools import cache
from textwrap import fill

from sunpantry.language import LOCALES, language
from sunpantry.report.numbers import Numbers


def spoken(text: str) -> str:
    """Say a phrase in the language spoken.

    Parameters
    ----------
    text : str
        A phrase, or a word that the catalogue holds; a name stays as it is.

    Returns
    -------
    str
        A plain text.
    """
    numbers = _numbers(language())
    return str(text) if numbers is None else numbers.told(text)


def figure(value: float, spec: str) -> str:
    """Write a number as a format specification says.

    Parameters
    ----------
    value : float
        The number.
    spec : str
        As of :func:`format`: '.1f', '.0%', 'g'.

    Returns
    -------
    str
        With the signs of the language spoken.
    """
    numbers, plain = _numbers(language()), format(value, spec)
    if numbers is None:
        return plain
    digits, _, power = plain.partition("e")
    if power.startswith("-"):  # all but nothing: not drawn out in zeros
        return f"{numbers.formatted(float(digits), 'g')}e{power}"
    return numbers.formatted(value, spec)


def wrapped(text: str, width: int, indent: str = "") -> str:
    """Say a phrase in lines of some columns.

    Parameters
    ----------
    text : str
        See :func:`spoken`.
    width : int
        Columns.
    indent : str
        Before every line.
    """
    return fill(spoken(text), width, initial_indent=indent, subsequent_indent=indent)


def titled(title: str, body: str) -> str:
    """Put a title over something that is said already, with a line under it.

    Parameters
    ----------
    title : str
        See :func:`spoken`.
    body : str
        What stands under it.
    """
    told = spoken(title)
    return f"{told}\n{'-' * len(told)}\n{body}"


@cache
def _numbers(name: str) -> Numbers | None:
    locale = LOCALES.get(name)
    return None if locale is None else Numbers(locale)
