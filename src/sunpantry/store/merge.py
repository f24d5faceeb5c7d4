"""Two people changed the same design: put both changes together where that is possible."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from typing import Any

_MISSING = object()


@dataclass(frozen=True, slots=True)
class Clash:
    """One key that both changed, each in another way.

    Parameters
    ----------
    where : str
        The key, dotted; a row of a list by its name.
    base, mine, theirs : object
        Value before, here and there; ``None`` where the key is not there.
    """

    where: str
    base: Any
    mine: Any
    theirs: Any


@dataclass(frozen=True, slots=True)
class Merged:
    """Both changes in one document.

    Parameters
    ----------
    document : dict
        The document; where the two clash, mine.
    clashes : tuple of Clash
        What a person must decide.
    """

    document: dict[str, Any]
    clashes: tuple[Clash, ...]


def merge_documents(
    base: Mapping[str, Any], mine: Mapping[str, Any], theirs: Mapping[str, Any]
) -> Merged:
    """Merge two documents that were changed from the same one.

    Rows of a list of tables (loads, arrays) are matched by their name, or by their
    position where they have none; other lists count as one value.

    Parameters
    ----------
    base : mapping
        What both started from.
    mine, theirs : mapping
        The two changed documents.

    Returns
    -------
    Merged
    """
    clashes: list[Clash] = []
    merged = _tables(base, mine, theirs, "", clashes)
    return Merged(merged, tuple(clashes))


def _tables(
    base: Mapping[str, Any],
    mine: Mapping[str, Any],
    theirs: Mapping[str, Any],
    at: str,
    clashes: list[Clash],
) -> dict[str, Any]:
    keys = [*theirs, *(key for key in mine if key not in theirs)]
    keys += [key for key in base if key not in keys]
    merged = {}
    for key in keys:
        where = f"{at}.{key}" if at else key
        sides = [side.get(key, _MISSING) for side in (base, mine, theirs)]
        value = _value(sides, where, clashes)
        if value is not _MISSING:
            merged[key] = value
    return merged


def _value(sides: list[Any], where: str, clashes: list[Clash]) -> Any:
    base, mine, theirs = sides
    if theirs in (mine, base):
        return mine
    if mine == base:
        return theirs
    if isinstance(mine, Mapping) and isinstance(theirs, Mapping):
        before = base if isinstance(base, Mapping) else {}
        return _tables(before, mine, theirs, where, clashes)
    if _is_rows(mine) and _is_rows(theirs):
        before = base if _is_rows(base) else []
        named = [_by_name(rows) for rows in (before, mine, theirs)]
        return list(_tables(named[0], named[1], named[2], where, clashes).values())
    clashes.append(Clash(where, *(None if side is _MISSING else side for side in sides)))
    return mine


def _is_rows(value: object) -> bool:
    return isinstance(value, list) and bool(value) and all(isinstance(r, Mapping) for r in value)


def _by_name(rows: list[Mapping[str, Any]]) -> dict[str, Mapping[str, Any]]:
    found: dict[str, Mapping[str, Any]] = {}
    for position, row in enumerate(rows, start=1):
        name = str(row.get("name", position))
        found[name if name not in found else f"{name} ({position})"] = row
    return found
