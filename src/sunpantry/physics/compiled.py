"""How the pieces of a compiled loop are declared.

A loop that allocates nothing needs no count of who holds its arrays; counting them in
every step would take most of the time, so it is switched off. No array may be made, and
none returned, inside such a piece. Pieces are not cached one by one: the entry point of
the loop is, together with all that it draws in.
"""

from __future__ import annotations

from collections.abc import Callable
from typing import Any, TypeVar, cast

from numba import njit

_Piece = TypeVar("_Piece", bound=Callable[..., Any])

# The last of these is numba's own name for it and stands in none of its signatures.
_OPTIONS: dict[str, Any] = {"error_model": "numpy", "_nrt": False}
_drawn_in = njit(forceinline=True, **_OPTIONS)
_called = njit(**_OPTIONS)


def part(piece: _Piece) -> _Piece:
    """Compile a piece that is drawn into its caller, so that numbers stay in registers."""
    return cast("_Piece", _drawn_in(piece))


def rare_part(piece: _Piece) -> _Piece:
    """Compile a piece that is needed rarely, or once a day: an ordinary call."""
    return cast("_Piece", _called(piece))
