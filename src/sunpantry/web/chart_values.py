"""What a chart tells to a pointer, as tables: for keys, for touch, for whoever cannot see it."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from typing import Any

from sunpantry.report.numbers import Numbers

Rows = list[Mapping[str, Any]]
Told = list[Mapping[str, Any]]
MOST_ROWS, FEW = 1000, 20
_WITHIN = ("layer", "hconcat", "vconcat", "concat")


@dataclass(frozen=True)
class Values:
    """Values of one plot.

    Parameters
    ----------
    caption : str
        Its title; empty where the chart has but one.
    columns : tuple of str
        What they are called.
    rows : tuple of tuple of str
        As the reader writes numbers.
    """

    caption: str
    columns: tuple[str, ...]
    rows: tuple[tuple[str, ...], ...]


def values_of(spec: Mapping[str, Any], numbers: Numbers) -> tuple[Values, ...]:
    """Read the values that a chart tells out of its specification.

    A plot that tells nothing more than another of the same data, and a map of more than
    ``MOST_ROWS`` cells, has no table.

    Parameters
    ----------
    spec : dict
        Of the chart, with its data.
    numbers : Numbers
        How they are written.
    """
    plots = [one for one in _plots(spec, [], "", top=True) if 0 < len(one[1]) <= MOST_ROWS]
    merged: dict[tuple[str, tuple[str, ...]], tuple[Told, list[Mapping[str, Any]]]] = {}
    for caption, rows, told in plots:
        fields = _fields(told)
        if any(rows is other and set(fields) < set(_fields(more)) for _, other, more in plots):
            continue
        found = merged.setdefault((caption, fields), (told, []))[1]
        found += [row for row in rows if row not in found] if len(rows) < FEW else rows
    return tuple(
        _table(caption, told, rows, numbers) for (caption, _), (told, rows) in merged.items()
    )


def _table(caption: str, told: Told, rows: Rows, numbers: Numbers) -> Values:
    return Values(
        caption,
        tuple(str(one.get("title") or one["field"]) for one in told),
        tuple(tuple(_written(row.get(one["field"]), one, numbers) for one in told) for row in rows),
    )


def _fields(told: Told) -> tuple[str, ...]:
    return tuple(str(one["field"]) for one in told)


def _plots(
    part: Mapping[str, Any], rows: Rows, caption: str, *, top: bool = False
) -> Iterator[tuple[str, Rows, Told]]:
    """Every plot that tells something: its title, its data, what it tells."""
    data = part.get("data")
    if isinstance(data, Mapping) and isinstance(data.get("values"), list):
        rows = data["values"]
    title = part.get("title")
    if title and not top:
        text = title.get("text", "") if isinstance(title, Mapping) else title
        caption = " ".join(text) if isinstance(text, list) else str(text)
    told = part.get("encoding", {}).get("tooltip")
    if told:
        yield caption, rows, told if isinstance(told, list) else [told]
    for key in _WITHIN:
        for child in part.get(key, ()):
            yield from _plots(child, rows, caption)


def _written(value: Any, field: Mapping[str, Any], numbers: Numbers) -> str:
    if isinstance(value, int | float) and not isinstance(value, bool):
        if str(field.get("format", "")).endswith("%"):
            return numbers.percent(value)
        return numbers.number(float(value))
    return "" if value is None else str(value)
