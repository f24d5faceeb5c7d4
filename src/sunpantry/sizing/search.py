"""The cheapest system that keeps the promise, and how far that is proven.

Candidates come in bands of the least they can cost (:mod:`sunpantry.sizing.lanes`). Each
that is tried is held against an ideal store (:mod:`sunpantry.sizing.relaxed`), run through
the darkest years one by one, each begun with a full bank, then through all years
(:mod:`sunpantry.sizing.trials`). The order (:mod:`sunpantry.sizing.rounds`) finds a good
answer soon and then tries everything left that could be cheaper, as far as the effort
allowed reaches. When nothing is left untried (``compared == 0``), the answer is that of
running every system of the space and taking the cheapest that keeps the promise; among
equally dear ones that with fewest hours without power, then the first in the space.

What a proven answer rests on:

* cost bounds and the ideal store hold for every system (see there);
* a year begun with a full bank has no more hours without power than the same year begun
  as the year before left the bank. The switching of loads has a memory, so that this is
  not a theorem of the kernel; a year begins in summer, when every bank that is of use is
  full anyway. ``tests/sizing`` looks for a counter-example and holds the search against
  brute force.

Where more is left than may be tried, the rest was ruled out because a clearly stronger
system had failed clearly (:mod:`sunpantry.sizing.dominance`), or because its battery
should not live long enough. Neither is a theorem: ``compared`` says of how many systems
that is all that is known.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass, field, replace

import numpy as np

from sunpantry.parts.system import System
from sunpantry.phrases import phrase
from sunpantry.physics.battery import WORN_OUT
from sunpantry.simulate.second_source import SecondSource
from sunpantry.simulate.setting import Setting
from sunpantry.sizing.answer import Answer
from sunpantry.sizing.bounds import Bounds
from sunpantry.sizing.cost import Pricing
from sunpantry.sizing.darkest import darkest
from sunpantry.sizing.promise import Demanded
from sunpantry.sizing.rounds import TRIED_AT_ONCE, Progress, Rounds
from sunpantry.sizing.space import Choice, Space
from sunpantry.sizing.trials import Outcome, Trials
from sunpantry.sizing.trips import few_enough, trips_of

MOST_YEARS = 12_000
MOST_YEARS_CHECKED = 3_000
LARGEST_TRIED = 24


@dataclass(frozen=True)
class SearchResult:
    """What a search found.

    Parameters
    ----------
    best : Answer or None
        The cheapest system that keeps the promise; ``None`` when there is none.
    closest : Answer or None
        Where there is none, of the largest systems tried that which comes closest.
    spoke_for : int
        Systems that the answer speaks for.
    bounded : int
        Systems that were looked at one by one.
    simulated : int
        Systems that were run through at least one year.
    compared : int
        Systems that could be cheaper by the bounds and were not tried themselves, mostly
        because stronger ones had failed; 0: the answer is proven.
    stopped_early : bool
        Stopped by the person; the answer is the best so far.
    limited : bool
        So much was left to try that the search ended before all likely ones had been tried.
    rounds : Rounds or None
        What a search for a harder promise goes on from.
    """

    best: Answer | None
    closest: Answer | None
    spoke_for: int
    bounded: int
    simulated: int
    compared: int
    stopped_early: bool
    limited: bool = False
    rounds: Rounds | None = field(default=None, repr=False, compare=False)

    @property
    def words(self) -> str:
        """Say the same in a sentence."""
        run = phrase("{simulated:,} of them run through the years", simulated=self.simulated)
        if self.stopped_early:
            found = phrase("best so far") if self.best else phrase("nothing found so far")
            return phrase(
                "Stopped early: {found} among {spoke_for:,} systems, {run}.",
                found=found,
                spoke_for=self.spoke_for,
                run=run,
            )
        rest = ""
        if not self.proven:
            rest = phrase(
                "; {compared:,} that might be cheaper were set aside untried, because stronger "
                "ones failed or their batteries should wear out too soon",
                compared=self.compared,
            )
        if self.limited:
            rest = phrase(
                "; there was too much to try: {compared:,} that might do better were not looked at",
                compared=self.compared,
            )
        if self.best is not None and self.limited:
            return phrase(
                "The best found among {spoke_for:,} systems, {run}{rest}.",
                spoke_for=self.spoke_for,
                run=run,
                rest=rest,
            )
        if self.best is None and not self.proven:
            return phrase(
                "No system that keeps the promise was found among {spoke_for:,}, {run}{rest}.",
                spoke_for=self.spoke_for,
                run=run,
                rest=rest,
            )
        if self.best is None:
            return phrase(
                "None of {spoke_for:,} systems keeps the promise, {run}{rest}.",
                spoke_for=self.spoke_for,
                run=run,
                rest=rest,
            )
        return phrase(
            "The cheapest of {spoke_for:,} systems that keeps the promise, {run}{rest}.",
            spoke_for=self.spoke_for,
            run=run,
            rest=rest,
        )

    @property
    def proven(self) -> bool:
        """Whether everything that could be cheaper was ruled out by bounds or tried itself."""
        return not self.stopped_early and not self.limited and self.compared == 0


@dataclass(eq=False)
class Searcher:
    """Searches one space, for one promise or several.

    Parameters
    ----------
    setting : Setting
        Sky and demand.
    space : Space
        What can be built.
    pricing : Pricing
        Prices and terms.
    acceptable : callable
        Hard rules from outside: whether a system may be built at all.
    acceptable_fed : callable
        The same for a system without array and controller: what it refuses must be refused
        with any of them.
    sound : callable
        Slower rules from outside, asked only of a system that would be the answer; what they
        refuse is no answer, and the next best is looked for.
    second_source : SecondSource or None
        What helps out.
    most_trips : int or None
        Charged batteries that may be carried out in nine winters of ten; ``None``: any
        number.
    capacity_left : float
        Share of the battery's capacity left while the promise is judged [-].
    most_years : int
        Years to simulate at most until an answer is found, of all systems together.
    most_years_checked : int
        Years to simulate at most to prove the answer once it is found.
    tried_at_once : int
        Systems tried in one go; without influence on the answer.
    """

    setting: Setting
    space: Space
    pricing: Pricing
    acceptable: Callable[[System], bool] = lambda _: True
    acceptable_fed: Callable[[System], bool] = lambda _: True
    sound: Callable[[System], bool] = lambda _: True
    second_source: SecondSource | None = None
    most_trips: int | None = None
    capacity_left: float = WORN_OUT
    most_years: int = MOST_YEARS
    most_years_checked: int = MOST_YEARS_CHECKED
    tried_at_once: int = TRIED_AT_ONCE
    _trials: Trials | None = field(default=None, repr=False)
    _sound: dict[Choice, bool] = field(default_factory=dict, repr=False)

    def find(self, demanded: Demanded, *, progress: Progress | None = None) -> SearchResult:
        """Find the cheapest system that keeps a promise.

        Parameters
        ----------
        demanded : Demanded
            The promise.
        progress : callable, optional
            Told a fraction and a few words now and then.

        Returns
        -------
        SearchResult
            Also after an interrupt from the keyboard, with the best so far.
        """
        run = Rounds(self, demanded, progress, years=(self.most_years, self.most_years_checked))
        return self._go(run, demanded, or_closest=True)

    def find_next(
        self, demanded: Demanded, *, after: SearchResult | None, effort: float, most_cost: float
    ) -> SearchResult:
        """Find the cheapest system for a harder promise, going on where a search has ended.

        Parameters
        ----------
        demanded : Demanded
            A promise that asks for as much and more than that of the search before.
        after : SearchResult or None
            Of this space, or of one that holds it; ``None``: from the beginning.
        effort : float
            Share of the usual effort that may be spent to find it, and again to prove it [-].
        most_cost : float
            What is dearer is not looked for [currency].

        Returns
        -------
        SearchResult
            Without the closest where nothing is found.
        """
        years = effort * self.most_years
        rounds = None if after is None else after.rounds
        run = Rounds(self, demanded, None, years=(years, years), after=rounds, most_cost=most_cost)
        return self._go(run, demanded, or_closest=False)

    def _go(self, run: Rounds, demanded: Demanded, *, or_closest: bool) -> SearchResult:
        before = self.trials().simulated
        stopped = False
        closest = None
        try:
            run.go()
            if run.best is None and or_closest:
                closest = self._closest(demanded)
        except KeyboardInterrupt:
            stopped = True
        return SearchResult(
            best=run.best,
            closest=closest,
            spoke_for=self.space.systems,
            bounded=run.bounded,
            simulated=self.trials().simulated - before,
            compared=run.compared,
            stopped_early=stopped,
            limited=run.over_limit,
            rounds=run,
        )

    def no_heavier_than(self, most_kg: float) -> Searcher:
        """Search of the same space without what weighs more [kg], with the same trials."""
        return replace(self, space=self.space.no_heavier_than(most_kg), _trials=self.trials())

    def trials(self) -> Trials:
        """What all searches of the space share."""
        if self._trials is None:
            first = next((one for g in self.space.groups for one in g.arrays), None)
            azimuth = first.fixed[0].azimuth_deg if first else 180.0
            tilt = (first.fixed[0].tilt_deg if first else ()) or self.space.tilts[0]
            dark = darkest(self.setting, tilt, azimuth)
            bounds = Bounds(
                self.setting.excerpt(dark.years),
                self.setting,
                dark.spans,
                self.capacity_left,
                self.second_source,
            )
            self._trials = Trials(
                setting=self.setting,
                dark=[self.setting.excerpt([year]) for year in dark.years],
                space=self.space,
                bounds=bounds,
                acceptable=self.acceptable,
                acceptable_fed=self.acceptable_fed,
                second_source=self.second_source,
                capacity_left=self.capacity_left,
            )
        return self._trials

    def is_sound(self, choice: Choice) -> bool:
        """Whether a system that keeps a promise may be proposed."""
        if choice not in self._sound:
            self._sound[choice] = self.sound(self.space.system(choice))
        return self._sound[choice]

    def answers(self, choices: Sequence[Choice]) -> list[Answer]:
        """Run systems through all years, whether they keep a promise or not."""
        return [
            self._answer(choice, outcome)
            for choice, outcome in zip(choices, self.trials().all_years(choices), strict=True)
        ]

    def answers_that_keep(self, choices: Sequence[Choice], demanded: Demanded) -> list[Answer]:
        """Run systems through all years, as far as they keep a promise; return those that do."""
        outcomes = self.trials().all_years_while_kept(choices, demanded)
        return self._keeping(outcomes, demanded)

    def known_answers(self, demanded: Demanded) -> list[Answer]:
        """Systems run through all years for any promise so far that keep this one."""
        return self._keeping(self.trials().outcomes, demanded)

    def _keeping(self, outcomes: Mapping[Choice, Outcome], demanded: Demanded) -> list[Answer]:
        return [
            self._answer(choice, outcome)
            for choice, outcome in outcomes.items()
            if demanded.kept(np.array(outcome.hours_by_class), outcome.any_hours)
            and self._few_trips(outcome)
            and self.space.holds(choice)
        ]

    def _few_trips(self, outcome: Outcome) -> bool:
        source = self.second_source
        if source is None or not source.carried_wh:
            return True
        trips = trips_of(outcome.backup_wh_by_winter, source.carried_wh)
        return few_enough(trips, self.most_trips)

    def _answer(self, choice: Choice, outcome: Outcome) -> Answer:
        system = self.space.system(choice)
        return Answer(
            choice=choice,
            system=system,
            cost=self.pricing.cost(
                system,
                life_years=None if outcome.life is None else outcome.life.years,
                backup_wh_per_year=outcome.backup_wh_per_year,
            ),
            hours_by_class=outcome.hours_by_class,
            hours_without_power=outcome.any_hours,
            winters_without_shortfall=outcome.winters_without_shortfall,
            winters=self.setting.years,
            life=outcome.life,
        )

    def _closest(self, demanded: Demanded) -> Answer | None:
        """Of the largest systems that the rules allow, the one that breaks the promise least."""
        found = sorted(
            self.answers(self.largest()),
            key=lambda one: (
                demanded.excess_h(np.array(one.hours_by_class), one.hours_without_power),
                one.rank,
            ),
        )
        sound = (one for one in found if self.is_sound(one.choice))
        return next(sound, found[0] if found else None)

    def largest(self) -> list[Choice]:
        """Systems with the most battery and, for each bank, the most array."""
        sizes: list[tuple[float, float, Choice]] = []
        trials = self.trials()
        for number, group in enumerate(self.space.groups):
            for position, bank in enumerate(group.banks):
                pairs = np.nonzero(group.suits(bank))[0]
                feeds = range(len(group.feeds))
                feed = next((one for one in feeds if trials.may_feed(number, one, position)), None)
                if pairs.size and feed is not None:
                    order = np.argsort(-group.power_w[pairs], kind="stable")
                    for pair in pairs[order].tolist():
                        choice = Choice(number, feed, position, pair, 0)
                        if self.acceptable(self.space.system(choice)):
                            energy = 0.0 if bank is None else bank.energy_wh
                            sizes.append((-energy, -float(group.power_w[pair]), choice))
                            break
        sizes.sort()
        return [choice for _, _, choice in sizes[:LARGEST_TRIED]]
