"""From a remedy to a real part on a list."""

from __future__ import annotations

from sunpantry.design.nameplates import AnyNameplate
from sunpantry.match.finding import Need, Remedy
from sunpantry.parts.catalogue import Catalogue

ABOUT = 0.03


def meets(part: AnyNameplate, need: Need) -> bool:
    """Whether a label has a figure that a remedy asks for.

    Parameters
    ----------
    part : nameplate
        The part.
    need : Need
        The figure.

    Returns
    -------
    bool
        False also where the label does not give the figure.
    """
    given = getattr(part, need.field, None)
    if isinstance(given, tuple):
        return need.value in given
    if need.relation == "is" or not _is_number(given) or not _is_number(need.value):
        return bool(given == need.value)
    has, wants = float(given), float(need.value)  # type: ignore[arg-type]
    if need.relation == "at least":
        return has >= wants
    if need.relation == "at most":
        return has <= wants
    return abs(has - wants) <= ABOUT * abs(wants)


def _is_number(value: object) -> bool:
    return isinstance(value, int | float) and not isinstance(value, bool)


def offers(remedy: Remedy, parts: Catalogue) -> tuple[AnyNameplate, ...]:
    """Parts of a list that a remedy could mean, the cheapest first.

    Parameters
    ----------
    remedy : Remedy
        With its needs; all of one role.
    parts : Catalogue
        The list.

    Returns
    -------
    tuple of nameplates
        Empty when the remedy exchanges no part, several kinds of part, or none fits.
    """
    roles = {need.role for need in remedy.needs}
    if len(roles) != 1:
        return ()
    fitting = [
        part for part in parts.of(roles.pop()) if all(meets(part, need) for need in remedy.needs)
    ]
    return tuple(sorted(fitting, key=lambda part: (part.price is None, part.price or 0.0)))
