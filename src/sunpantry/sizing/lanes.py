"""Candidates in bands of the least they can cost.

A lane is one bank. Its candidates are every way of feeding the loads times every pair of
array and controllers that suits the bank times every tilt, without those whose array is
too small for even an ideal store under the easiest feed. Lanes are opened only when the
band reaches the cheapest thing they can hold.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass, field

import numpy as np

from sunpantry.design.nameplates import ControllerNameplate
from sunpantry.parts.system import Bank, System
from sunpantry.sizing import relaxed as rx
from sunpantry.sizing.bounds import Bounds
from sunpantry.sizing.cost import Pricing
from sunpantry.sizing.light import Face
from sunpantry.sizing.promise import Demanded
from sunpantry.sizing.space import Group, Space
from sunpantry.timegrid import FloatArray, IntArray

OPENED_AT_ONCE = 32
# Array power at which the first bisection begins [W].
FIRST_GUESS_W = 200.0
# Ratings are printed rounded: an array counts as this much larger than its label says.
LABEL_ROOM = 1.001


@dataclass(frozen=True, eq=False)
class Block:
    """Candidates of one lane, feed and tilt.

    Parameters
    ----------
    group, feed, bank, tilt : int
        See :class:`sunpantry.sizing.space.Choice`.
    pairs : numpy.ndarray of int
        Pairs of array and controllers.
    costs : numpy.ndarray
        What each candidate costs at least [currency].
    again : float
        Part of it for batteries bought again [currency].
    """

    group: int
    feed: int
    bank: int
    tilt: int
    pairs: IntArray
    costs: FloatArray
    again: float


@dataclass(slots=True)
class _Lane:
    group: int
    bank: int
    least_cost: float  # of the bank alone
    opens_at: float
    again: float = 0.0  # for batteries bought again
    feeds: tuple[int, ...] = ()  # that the rules let it have
    pairs: tuple[IntArray, ...] = ()  # by tilt, cheapest first
    costs: tuple[FloatArray, ...] = ()  # of bank, array and controllers


@dataclass(eq=False)
class Lanes:
    """All lanes of a space under one promise.

    Parameters
    ----------
    space : Space
        The space.
    bounds : Bounds
        Bounds on its systems.
    pricing : Pricing
        Prices and terms.
    demanded : Demanded
        The promise. A harder one may take its place: what is opened then is bounded by that.
    may_feed : callable
        Whether a group, a feed and a bank go together.
    """

    space: Space
    bounds: Bounds
    pricing: Pricing
    demanded: Demanded
    may_feed: Callable[[int, int, int], bool] = lambda _group, _feed, _bank: True
    _guess_w: float = FIRST_GUESS_W
    _closed: list[_Lane] = field(default_factory=list)
    _open: list[_Lane] = field(default_factory=list)
    _envelopes: dict[tuple[int, int], int] = field(default_factory=dict)

    def __post_init__(self) -> None:
        groups = self.space.groups
        self._pair_costs = [pair_costs(group, self.pricing) for group in groups]
        self._orders = [np.argsort(costs, kind="stable") for costs in self._pair_costs]
        self._feed_costs = [
            np.array([feed_cost(group, feed, self.pricing) for feed in range(len(group.feeds))])
            for group in groups
        ]
        for number, group in enumerate(groups):
            rest = float(self._pair_costs[number].min(initial=np.inf))
            rest += float(self._feed_costs[number].min())
            for position, bank in enumerate(group.banks):
                cost = self._bank_cost(bank)
                self._closed.append(_Lane(number, position, cost, cost + rest))
        self._closed.sort(key=lambda lane: lane.opens_at)

    def _bank_cost(self, bank: Bank | None) -> float:
        if bank is None:
            return 0.0
        return self.pricing.worth_paying(bank.battery, bank.count - bank.owned)

    @property
    def least_cost(self) -> float:
        """Bound on the cost of everything that is left; infinite when nothing is."""
        open_ones = (
            float(costs[0]) + float(self._feed_costs[lane.group][list(lane.feeds)].min())
            for lane in self._open
            for costs in lane.costs
            if costs.size
        )
        closed = self._closed[0].opens_at if self._closed else np.inf
        return min(closed, min(open_ones, default=np.inf))

    def next_above(self, cost: float) -> float:
        """Least bound that is not below a cost; infinite when there is none."""
        best = min((one.opens_at for one in self._closed), default=np.inf)
        for lane in self._open:
            for costs in lane.costs:
                for extra in self._feed_costs[lane.group][list(lane.feeds)]:
                    place = int(np.searchsorted(costs, cost - extra))
                    if place < costs.size:
                        best = min(best, float(costs[place] + extra))
        return best

    def band(self, low: float, high: float) -> list[Block]:
        """Candidates whose bound lies from ``low`` to below ``high`` [currency]."""
        while self._closed and self._closed[0].opens_at < high:
            self._open_some(high)
        blocks = []
        for lane in self._open:
            for feed in lane.feeds:
                extra = self._feed_costs[lane.group][feed]
                for tilt, (pairs, costs) in enumerate(zip(lane.pairs, lane.costs, strict=True)):
                    first, last = np.searchsorted(costs, (low - extra, high - extra))
                    if last > first:
                        blocks.append(
                            Block(
                                lane.group,
                                feed,
                                lane.bank,
                                tilt,
                                pairs[first:last],
                                costs[first:last] + extra,
                                lane.again,
                            )
                        )
        return blocks

    def _open_some(self, below: float) -> None:
        """Open the next lanes: bound the life of the bank and the power of its array."""
        some = [lane for lane in self._closed[:OPENED_AT_ONCE] if lane.opens_at < below]
        del self._closed[: len(some)]
        for number in sorted({lane.group for lane in some}):
            self._open_group(number, [lane for lane in some if lane.group == number])

    def _open_group(self, number: int, lanes: list[_Lane]) -> None:
        group = self.space.groups[number]
        order = self._orders[number]
        suited, cases, kept = [], [], []
        for lane in lanes:
            bank = group.banks[lane.bank]
            pairs = order[group.suits(bank)[order]]
            lane.feeds = tuple(
                feed for feed in range(len(group.feeds)) if self.may_feed(number, feed, lane.bank)
            )
            if not pairs.size or not lane.feeds:
                continue
            draw = self._draw(group, bank, lane.feeds)
            case = self._easiest_case(group, bank, pairs, draw)
            if bank is not None:
                life = self.bounds.longest_life.years(
                    bank,
                    draw,
                    float(case[rx.C_OWN_W]),
                    self.demanded,
                    helped=self.bounds.second_source is not None,
                )
                lane.again = self.pricing.battery_again(bank.battery, bank.count, life)
                lane.least_cost += lane.again
            suited.append(pairs)
            cases.append(case)
            kept.append(lane)
        if not kept:
            return
        most_w = np.array([group.power_w[pairs].max() for pairs in suited]) * LABEL_ROOM
        guess_w, by_tilt = np.full(len(kept), self._guess_w), []
        for tilt in range(max(len(self.space.tilts), 1)):
            least_w = self.bounds.least_power_w(
                cases, envelope=self._envelope(number, tilt), guess_w=guess_w, most_w=most_w
            )
            # under the next tilt a bank needs about as much as under this one
            guess_w = np.maximum(np.where(np.isfinite(least_w), least_w, most_w), 1.0)
            if np.isfinite(least_w).any():
                self._guess_w = float(np.median(guess_w[np.isfinite(least_w)]))
            by_tilt.append(least_w)
        for position, lane in enumerate(kept):
            self._fill(lane, suited[position], [least_w[position] for least_w in by_tilt])

    def _fill(self, lane: _Lane, pairs: IntArray, least_w: list[float]) -> None:
        group = self.space.groups[lane.group]
        tilts = group.tilt_open[pairs]
        power_w = group.power_w[pairs] * LABEL_ROOM
        chosen = []
        for tilt, least in enumerate(least_w):
            enough = power_w > least
            chosen.append(pairs[enough & tilts] if tilt else pairs[enough])
        lane.pairs = tuple(chosen)
        lane.costs = tuple(lane.least_cost + self._pair_costs[lane.group][one] for one in chosen)
        if any(one.size for one in chosen):
            self._open.append(lane)

    def _draw(self, group: Group, bank: Bank | None, feeds: Sequence[int]) -> int:
        """Row of the least that any of some feeds of the group draws."""
        some = [group.feeds[feed] for feed in feeds]
        return self.bounds.draws.least_row(
            [System(group.bank_v, (), bank, None, feed.inverter, feed.converters) for feed in some]
        )

    def _easiest_case(
        self, group: Group, bank: Bank | None, pairs: IntArray, draw: int
    ) -> FloatArray:
        cases = [
            self.bounds.case(System(group.bank_v, (), bank, one), self.demanded, draw=draw)
            for one in _kinds(group, pairs)
        ]
        return self.bounds.easiest(cases)

    def _envelope(self, number: int, tilt: int) -> int:
        """Row of the best light on the panels of a group, with one tilt where it is open."""
        key = (number, tilt)
        if key not in self._envelopes:
            faces: dict[Face, None] = {}
            for arrays in self.space.groups[number].arrays:
                for array in arrays.fixed:
                    slope = array.tilt_deg or self.space.tilts[tilt]
                    faces[Face(array.panel, slope, array.azimuth_deg)] = None
            self._envelopes[key] = self.bounds.light.envelope_row(tuple(faces))
        return self._envelopes[key]


def _kinds(group: Group, pairs: IntArray) -> Sequence[ControllerNameplate | None]:
    """For each kind of set points among suited controllers, one with the least losses.

    Where there are no controllers, none.
    """
    kinds: dict[tuple[bool, float], list[ControllerNameplate]] = {}
    for number in np.unique(group.pairs[1][pairs]).tolist():
        one = group.controls[number].controller
        if one is not None:
            kinds.setdefault((one.adjustable, one.disconnect_v), []).append(one)
    if not kinds:
        return (None,)
    return [
        each[0].model_copy(
            update={
                "self_consumption_a": min(one.self_consumption_a for one in each),
                "efficiency_pct": max(one.efficiency_pct for one in each),
                "kind": "pwm",
            }
        )
        for each in kinds.values()
    ]


def pair_costs(group: Group, pricing: Pricing) -> FloatArray:
    """Price of array and controllers of each pair of a group [currency]."""
    arrays = np.array(
        [
            sum(pricing.worth_paying(one.panel, one.count - one.owned) for one in whole.fixed)
            for whole in group.arrays
        ]
    )
    controls = np.array(
        [
            0.0
            if one.controller is None or one.owned
            else pricing.worth_paying(one.controller, one.count)
            for one in group.controls
        ]
    )
    first, second = group.pairs
    costs: FloatArray = arrays[first] + controls[second]
    return costs


def feed_cost(group: Group, number: int, pricing: Pricing) -> float:
    """Price of inverter and converters of a feed, and of the second source [currency]."""
    feed = group.feeds[number]
    cost = sum(pricing.worth_paying(one, 1) for one in feed.bought)
    if feed.inverter is not None and not feed.inverter_owned:
        cost += pricing.worth_paying(feed.inverter, 1)
    if pricing.backup is not None and not pricing.backup.owned:
        cost += pricing.backup.price
    return cost
