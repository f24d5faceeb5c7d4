"""Trials of systems: against the ideal store, in the dark years, in all years."""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass, field
from enum import Enum

import numpy as np

from sunpantry.parts.system import System
from sunpantry.physics.ageing import BatteryLife, arrhenius_factor, battery_life
from sunpantry.simulate import layout as at
from sunpantry.simulate.columns import bank_model
from sunpantry.simulate.proof import DARK_H
from sunpantry.simulate.run import NO_LIMITS, Runs, run_systems
from sunpantry.simulate.second_source import SecondSource
from sunpantry.simulate.setting import Setting
from sunpantry.sizing.bounds import Bounds
from sunpantry.sizing.dominance import FAILED_FACTOR, FAILED_H
from sunpantry.sizing.promise import ROOM_H, Demanded, mean_hours
from sunpantry.sizing.space import Choice, Space
from sunpantry.timegrid import FloatArray

# Judging a system without a run takes about this share of the time that a year of it takes.
JUDGED_AS_YEARS = 0.4
# Sun arrays kept at most, of all years together [bytes].
MOST_KEPT_BYTES = 70_000_000


class Verdict(Enum):
    """What a trial in the dark years said."""

    BARRED = "may not be built"
    FAILED = "breaks the promise"
    FAILED_CLEARLY = "breaks it by far, or for certain"
    PASSED = "may keep it"


@dataclass(frozen=True, slots=True)
class Outcome:
    """What all years showed of one system.

    Parameters
    ----------
    hours_by_class : tuple of float
        Mean hours a year without power: must, should, may [h].
    any_hours : float
        Anything at all [h/year].
    winters_without_shortfall : int
        Years without any.
    life : BatteryLife or None
        Of the batteries.
    backup_wh_per_year : float
        Brought in by the second source [Wh/year].
    backup_wh_by_winter : tuple of float
        The same year by year [Wh].
    """

    hours_by_class: tuple[float, float, float]
    any_hours: float
    winters_without_shortfall: int
    life: BatteryLife | None
    backup_wh_per_year: float
    backup_wh_by_winter: tuple[float, ...]


@dataclass(eq=False)
class Trials:
    """Everything that several searches of one space share.

    Parameters
    ----------
    setting : Setting
        All years.
    dark : list of Setting
        The darkest years, each alone, the worst first.
    space : Space
        What can be built.
    bounds : Bounds
        Bounds on the dark years.
    acceptable : callable
        Hard rules from outside.
    acceptable_fed : callable
        The same for a system without array and controller.
    second_source : SecondSource or None
        What helps out.
    capacity_left : float
        Of the batteries [-].
    years_run : int
        Years simulated so far, of all systems together.
    judged : int
        Systems judged so far, each as often as it was for a promise it was not known to break.
    """

    setting: Setting
    dark: list[Setting]
    space: Space
    bounds: Bounds
    acceptable: Callable[[System], bool]
    acceptable_fed: Callable[[System], bool]
    second_source: SecondSource | None
    capacity_left: float
    years_run: int = 0
    judged: int = 0
    _fed: dict[tuple[int, int, int], bool] = field(default_factory=dict)
    _outcomes: dict[Choice, Outcome] = field(default_factory=dict)
    _seen: set[Choice] = field(default_factory=set)
    _dark_h: dict[Choice, FloatArray] = field(default_factory=dict)
    _broke: dict[Choice, tuple[Demanded, Verdict]] = field(default_factory=dict)
    _accepted: dict[Choice, bool] = field(default_factory=dict)
    _cases: dict[tuple[object, ...], FloatArray] = field(default_factory=dict)
    _parts: dict[tuple[object, ...], tuple[tuple[int, float], ...]] = field(default_factory=dict)
    _warmth: dict[str, float] = field(default_factory=dict)

    @property
    def simulated(self) -> int:
        """Systems that were run through at least one year."""
        return len(self._seen)

    @property
    def effort(self) -> float:
        """Work done so far, in years simulated."""
        return self.years_run + JUDGED_AS_YEARS * self.judged

    def may_feed(self, group: int, feed: int, bank: int) -> bool:
        """Whether the rules let a bank feed the loads in this way, whatever charges it."""
        key = (group, feed, bank)
        if key not in self._fed:
            one = self.space.groups[group]
            fed = one.feeds[feed]
            system = System(one.bank_v, (), one.banks[bank], None, fed.inverter, fed.converters)
            self._fed[key] = self.acceptable_fed(system)
        return self._fed[key]

    def judge(self, choices: Sequence[Choice], demanded: Demanded) -> list[Verdict]:
        """Hold systems against the ideal store and run them through the dark years.

        Parameters
        ----------
        choices : sequence of Choice
            The systems.
        demanded : Demanded
            The promise.

        Returns
        -------
        list of Verdict
            One for each.
        """
        found = self._known_to_break(choices, demanded)
        choices, asked = [choice for choice in choices if choice not in found], choices
        self.judged += len(choices)
        found.update(dict.fromkeys(choices, Verdict.BARRED))
        systems = {choice: self.space.system(choice) for choice in choices}
        left = [choice for choice in choices if self._accepted.get(choice, True)]
        possible = self._against_ideal(left, systems, demanded, pwm_exact=False)
        # the rules take longer than the ideal store, so that they are asked of fewer
        barred = {one for one in possible if not self._may_be_built(one, systems[one])}
        left = [choice for choice in left if choice not in barred]
        possible = [choice for choice in possible if choice not in barred]
        pwm = [choice for choice in possible if _is_pwm(systems[choice])]
        if pwm:
            broken = set(pwm) - set(self._against_ideal(pwm, systems, demanded, pwm_exact=True))
            possible = [choice for choice in possible if choice not in broken]
        found.update(dict.fromkeys(left, Verdict.FAILED_CLEARLY))
        found.update(self._through_dark(possible, systems, demanded))
        for choice in left:
            self._remember(choice, demanded, found[choice])
        return [found[choice] for choice in asked]

    def _known_to_break(
        self, choices: Sequence[Choice], demanded: Demanded
    ) -> dict[Choice, Verdict]:
        """Systems that broke a promise which asks for no more, or this one in all years."""
        found = {}
        for choice in choices:
            known = self._outcomes.get(choice)
            if known is not None and not demanded.kept(
                np.array(known.hours_by_class), known.any_hours
            ):
                found[choice] = Verdict.FAILED
                continue
            before = self._broke.get(choice)
            if before is not None and demanded.asks_as_much_as(before[0]):
                found[choice] = before[1]
        return found

    def _remember(self, choice: Choice, demanded: Demanded, verdict: Verdict) -> None:
        if verdict not in (Verdict.FAILED, Verdict.FAILED_CLEARLY):
            return
        before = self._broke.get(choice)
        if before is None or before[0].asks_as_much_as(demanded):
            self._broke[choice] = (demanded, verdict)

    def _may_be_built(self, choice: Choice, system: System) -> bool:
        if choice not in self._accepted:
            self._accepted[choice] = self.acceptable(system)
        return self._accepted[choice]

    def _against_ideal(
        self,
        choices: Sequence[Choice],
        systems: dict[Choice, System],
        demanded: Demanded,
        *,
        pwm_exact: bool,
    ) -> list[Choice]:
        cases, parts = [], []
        for choice in choices:
            group = self.space.groups[choice.group]
            array, control = (int(one[choice.pair]) for one in group.pairs)
            system = systems[choice]
            regulated = array if system.controller is None else -1
            case_key = (choice.group, choice.feed, choice.bank, control, regulated, demanded)
            if case_key not in self._cases:
                self._cases[case_key] = self.bounds.case(system, demanded)
            part_key: tuple[object, ...] = (choice.group, array, choice.tilt)
            if pwm_exact:
                part_key = (*part_key, choice.bank, control)
            if part_key not in self._parts:
                self._parts[part_key] = self.bounds.light.parts(system, pwm_exact=pwm_exact)
            cases.append(self._cases[case_key])
            parts.append(self._parts[part_key])
        broken = self.bounds.broken(cases, parts)
        return [choice for choice, bad in zip(choices, broken, strict=True) if not bad]

    def _through_dark(
        self, choices: list[Choice], systems: dict[Choice, System], demanded: Demanded
    ) -> dict[Choice, Verdict]:
        """Run the darkest years one by one, each from a full bank, and add the hours up."""
        years = self.setting.years
        limits = np.append(demanded.class_limits_h, demanded.any_h) * years + ROOM_H * years
        clearly = FAILED_FACTOR * limits + np.array(FAILED_H)
        allowed = np.where(np.isfinite(clearly), clearly, -1.0)[: at.CLASSES]
        found = dict.fromkeys(choices, Verdict.PASSED)
        left = [choice for choice in choices if choice not in self._outcomes]
        for choice in left:
            if choice in self._dark_h and np.any(self._dark_h[choice] > limits):
                far = np.any(self._dark_h[choice] > clearly)
                found[choice] = Verdict.FAILED_CLEARLY if far else Verdict.FAILED
        left = [choice for choice in left if choice not in self._dark_h]
        spent = np.zeros((len(left), at.CLASSES + 1))
        for setting in self.dark:
            if not left:
                break
            runs = run_systems(
                setting,
                [systems[choice] for choice in left],
                capacity_left=self.capacity_left,
                allowed_h=allowed,
                second_source=self.second_source,
            )
            self._seen.update(left)
            self.years_run += len(left)
            spent += runs.yearly[:, 0, [at.Y_HOURS, at.Y_HOURS + 1, at.Y_HOURS + 2, at.Y_ANY_HOURS]]
            failed = np.any(spent > limits, axis=1)
            failed_clearly = np.any(spent > clearly, axis=1) | (runs.kept() == 0.0)
            for choice, bad, very_bad in zip(left, failed, failed_clearly, strict=True):
                if very_bad:
                    found[choice] = Verdict.FAILED_CLEARLY
                elif bad:
                    found[choice] = Verdict.FAILED
            left = [choice for choice, bad in zip(left, failed, strict=True) if not bad]
            spent = spent[~failed]
            _forget_if_many(setting)
        self._dark_h.update(zip(left, spent, strict=True))
        return found

    def all_years(self, choices: Sequence[Choice]) -> list[Outcome]:
        """Run systems through all years; those known already are not run again."""
        self._run(choices, NO_LIMITS)
        return [self._outcomes[choice] for choice in choices]

    def all_years_while_kept(
        self, choices: Sequence[Choice], demanded: Demanded
    ) -> dict[Choice, Outcome]:
        """Run systems through all years and leave out those that break the promise on the way."""
        known = self._known_to_break(choices, demanded)
        choices = [choice for choice in choices if choice not in known]
        self._run(choices, demanded.allowed_h(self.setting.years))
        for choice in choices:
            if choice not in self._outcomes:
                self._remember(choice, demanded, Verdict.FAILED)
        return {choice: self._outcomes[choice] for choice in choices if choice in self._outcomes}

    @property
    def outcomes(self) -> Mapping[Choice, Outcome]:
        """Every system that was run through all years so far."""
        return self._outcomes

    def _run(self, choices: Sequence[Choice], allowed_h: FloatArray) -> None:
        new = [choice for choice in dict.fromkeys(choices) if choice not in self._outcomes]
        if not new:
            return
        _forget_if_many(self.setting)
        systems = [self.space.system(choice) for choice in new]
        runs = run_systems(
            self.setting,
            systems,
            capacity_left=self.capacity_left,
            allowed_h=allowed_h,
            second_source=self.second_source,
        )
        self._seen.update(new)
        self.years_run += len(new) * self.setting.years
        for number, (choice, kept) in enumerate(zip(new, runs.kept(), strict=True)):
            if kept:
                self._outcomes[choice] = self._outcome(systems[number], runs, number)

    def _outcome(self, system: System, runs: Runs, number: int) -> Outcome:
        years = runs.years
        hours, any_hours = mean_hours(runs)
        yearly, totals = runs.yearly[number], runs.totals[number]
        by_class = yearly[:, at.Y_HOURS : at.Y_HOURS + at.CLASSES]
        life = None
        if system.bank is not None:
            housing = system.bank.housing
            if housing not in self._warmth:
                self._warmth[housing] = arrhenius_factor(self.setting.cells_c(housing))
            life = battery_life(
                bank_model(system.bank),
                wear_per_year=float(totals[at.T_WEAR]) / years,
                low_h_per_year=float(totals[at.T_LOW_H]) / years,
                unfilled_h_per_year=float(totals[at.T_UNFILLED_H]) / years,
                warmth=self._warmth[housing],
                gassing_ah_per_year=float(totals[at.T_GAS_AH]) / years / self.capacity_left,
            )
        return Outcome(
            hours_by_class=(
                float(hours[number, 0]),
                float(hours[number, 1]),
                float(hours[number, 2]),
            ),
            any_hours=float(any_hours[number]),
            winters_without_shortfall=int((by_class.max(axis=1) <= DARK_H).sum()),
            life=life,
            backup_wh_per_year=float(totals[at.T_BACKUP]) / years,
            backup_wh_by_winter=tuple(yearly[:, at.Y_BACKUP_WH].tolist()),
        )


def _is_pwm(system: System) -> bool:
    return system.controller is not None and system.controller.kind == "pwm"


def _forget_if_many(setting: Setting) -> None:
    if setting.sources_bytes > MOST_KEPT_BYTES:
        setting.forget_sources()
