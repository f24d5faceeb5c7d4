"""Memory that is free goes back to the system.

Decades of hourly weather are arrays of megabytes that come and go; between them the allocator
of the C library keeps what it might need again, and a long search grows by a hundred megabytes
that nothing holds. Where the library can be asked to let go (glibc, ``malloc_trim(3)``), it is;
elsewhere this does nothing.
"""

from __future__ import annotations

import ctypes
from collections.abc import Callable
from functools import cache


def give_back() -> None:
    """Ask the allocator to return what nothing holds any more; takes a few milliseconds."""
    trim = _trim()
    if trim is not None:
        trim(0)


@cache
def _trim() -> Callable[[int], int] | None:
    """The function of the C library that does it, if it has one."""
    try:
        library = ctypes.CDLL(None)
    except (OSError, TypeError):  # no library of the process to be had on this system
        return None
    found: Callable[[int], int] | None = getattr(library, "malloc_trim", None)
    return found
