"""Rows in columns, for a terminal."""

from __future__ import annotations

import re
from collections.abc import Sequence

_NUMBER = re.compile(r"[-−]?[\d.,]*\xa0?%?")


def columns_of(rows: Sequence[tuple[str, ...]], heads: tuple[str, ...]) -> str:
    """Lay rows out in columns, numbers to the right.

    Parameters
    ----------
    rows : sequence of tuple of str
        Cells; a column of plain numbers is set to the right.
    heads : tuple of str
        Column heads.
    """
    table = [heads, *rows]
    widths = [max(len(row[i]) for row in table) for i in range(len(heads))]
    numeric = [
        bool(rows) and all(_NUMBER.fullmatch(row[i]) is not None for row in rows)
        for i in range(len(heads))
    ]
    lines = []
    for row in table:
        cells = [
            cell.rjust(width) if right else cell.ljust(width)
            for cell, width, right in zip(row, widths, numeric, strict=True)
        ]
        lines.append("  ".join(cells).rstrip())
    return "\n".join(lines)
