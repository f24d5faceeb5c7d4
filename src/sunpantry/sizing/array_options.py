"""Ways of putting panels together that a search tries."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from itertools import islice

from sunpantry.design.nameplates import PanelNameplate
from sunpantry.design.promise import Search
from sunpantry.errors import InputError
from sunpantry.parts.catalogue import Catalogue
from sunpantry.parts.resolve import ArrayKit, Kit
from sunpantry.parts.system import Array
from sunpantry.phrases import phrase
from sunpantry.physics.array_losses import bypass_groups

SOCKET_V = 5.0  # system class of travel panels and power banks
# Panels in a string beyond which no small controller's voltage reaches.
MOST_SERIES = 16
MOST_ARRAYS = 600_000  # ways of putting panels together that are tried at most


@dataclass(frozen=True)
class Arrays:
    """Arrays with all counts and wirings decided, tilts perhaps not.

    Parameters
    ----------
    fixed : tuple of Array
        Open tilts hold an empty tuple.
    """

    fixed: tuple[Array, ...]

    @property
    def tilt_open(self) -> bool:
        """Whether a tilt is still to be chosen."""
        return any(not array.tilt_deg for array in self.fixed)

    @property
    def power_w(self) -> float:
        """Rated power of all [W]."""
        return sum(array.power_w for array in self.fixed)


def arrays(
    kit: Kit, catalogue: Catalogue, limits: Search, *, bank_v: float, equator_deg: float
) -> tuple[Arrays, ...]:
    """Arrays with counts and wirings, at most ``limits.max_panels`` panels where open.

    Further open arrays take the panel of the first open one.

    Raises
    ------
    InputError
        When so many arrays are open that there are too many ways to try.
    """
    kits = kit.arrays or (ArrayKit(None, None, None, None, 0, None, None, "ground"),)
    lists: list[list[Array]] = []
    for one in kits:
        offers = catalogue.panels if one.panel is None else (one.panel,)
        lists.append(
            [
                array
                for panel in offers
                if one.panel is not None or _panel_class(panel, bank_v)
                for array in _wired(one, panel, limits, equator_deg)
            ]
        )
    found = [
        Arrays(together) for together in islice(_put_together(kits, lists, limits), MOST_ARRAYS + 1)
    ]
    if len(found) > MOST_ARRAYS:
        raise InputError.one(
            "array",
            phrase("{count} arrays left open", count=sum(map(_is_open, kits))),
            phrase("at most {most:,} ways of putting panels together", most=MOST_ARRAYS),
            phrase("say how many panels some of them have, or set a smaller max_panels"),
        )
    return tuple(found)


def _put_together(
    kits: Sequence[ArrayKit], lists: Sequence[Sequence[Array]], limits: Search
) -> Iterator[tuple[Array, ...]]:
    """One of each list, as far as the open ones agree with each other and with the limits.

    What is already too much is left at once: of several open arrays nearly everything is.
    """
    still_open = [sum(map(_is_open, kits[place:])) for place in range(len(kits) + 1)]
    most_w = limits.max_panel_power_w if still_open[0] else None

    def go_on(
        before: tuple[Array, ...], panel: str, open_count: int
    ) -> Iterator[tuple[Array, ...]]:
        place = len(before)
        if place == len(kits):
            yield before
            return
        one = kits[place]
        for array in lists[place]:
            if one.panel is None and panel not in ("", array.panel.name):
                continue
            count = open_count + (array.count if _is_open(one) else 0)
            # each further open array has at least one panel
            if count + still_open[place + 1] > limits.max_panels and still_open[0]:
                continue
            together = (*before, array)
            if most_w and Arrays(together).power_w > most_w:
                continue
            named = array.panel.name if one.panel is None else panel
            yield from go_on(together, named, count)

    yield from go_on((), "", 0)


def _is_open(one: ArrayKit) -> bool:
    return one.panel is None or one.count is None


def _panel_class(panel: PanelNameplate, bank_v: float) -> bool:
    """Panels with a regulator of their own belong to their own voltage only."""
    if panel.regulated_output_v is not None:
        return panel.regulated_output_v == bank_v
    return bank_v != SOCKET_V


def _wired(
    one: ArrayKit, panel: PanelNameplate, limits: Search, equator_deg: float
) -> Iterator[Array]:
    azimuth_deg = equator_deg if one.azimuth_deg is None else one.azimuth_deg
    count = one.count
    if count is None and one.owned is None:
        count = 1
    for series, parallel in wirings(count, one.series, one.parallel, limits.max_panels):
        if panel.regulated_output_v is not None and (series > 1 or parallel > (one.count or 1)):
            continue
        if series > MOST_SERIES or one.shaded_groups >= bypass_groups(panel.cells):
            continue
        total = series * parallel
        owned = total if one.owned is None else min(one.owned, total)
        tilt_deg = one.tilt_deg or ()
        yield Array(panel, series, parallel, tilt_deg, azimuth_deg, owned, one.shaded_groups)


def wirings(
    count: int | None, series: int | None, parallel: int | None, most: int
) -> Iterator[tuple[int, int]]:
    """Series × parallel that agree with what is fixed."""
    most = max(most, count or 0, (series or 1) * (parallel or 1))
    for s in range(1, most + 1):
        for p in range(1, most // s + 1):
            if (
                (count is None or s * p == count)
                and (series is None or s == series)
                and (parallel is None or p == parallel)
            ):
                yield s, p
