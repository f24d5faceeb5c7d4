"""How often a charged battery must be carried out in a winter."""

from __future__ import annotations

import math
from collections.abc import Iterable, Sequence

# A document's limit of trips is kept when this share of the winters keeps it.
WINTERS_SHARE = 0.9


def trips_of(brought_wh: Iterable[float], carried_wh: float) -> tuple[int, ...]:
    """Charged batteries carried out in each winter.

    Parameters
    ----------
    brought_wh : iterable of float
        Energy brought in each winter [Wh].
    carried_wh : float
        Energy of one battery [Wh].
    """
    return tuple(math.ceil(one / carried_wh - 1e-6) for one in brought_wh)


def quantile(counts: Sequence[int], share: float) -> int:
    """Count that is not exceeded in this share of the winters."""
    return sorted(counts)[math.ceil(share * len(counts)) - 1]


def few_enough(trips: Sequence[int], most: int | None) -> bool:
    """Whether nine winters in ten need no more trips than the document allows."""
    return most is None or not trips or quantile(trips, WINTERS_SHARE) <= most
