"""A battery that fades while the winters go by, and is replaced when it is worn out.

The years are run one after the other, each from where the one before left off. What a year
used of the battery's life (see :mod:`sunpantry.physics.ageing`) is taken off its capacity
before the next, and its resistance grows to match; at 80 % a new one takes its place. So
the deeper cycles of a fading battery make it fade faster.

``capacity = 1 - 0.2 · sum of the shares of life used``, constant within a year. What fades
takes its content with it: the state of charge stays. An owned battery begins with the
capacity that is left to it.

References
----------
End of life at 80 % of the rated capacity: IEC 61427-1, IEEE 1013. Linear loss of capacity
with the share of life used: common practice; real batteries lose little at first and much
at last, so that the middle of the life is told on the dark side.
"""

from __future__ import annotations

from dataclasses import dataclass

from sunpantry.parts.system import Bank, System
from sunpantry.physics.battery import WORN_OUT
from sunpantry.simulate import layout as at
from sunpantry.simulate.course import Course
from sunpantry.simulate.life import life_of
from sunpantry.simulate.run import Rows
from sunpantry.simulate.second_source import SecondSource
from sunpantry.simulate.setting import Setting
from sunpantry.timegrid import FloatArray


@dataclass(frozen=True)
class FadingYear:
    """One year of the run.

    Parameters
    ----------
    year : int
        1 for the first.
    battery : int
        The first battery is 1, that which replaces it 2.
    capacity_left : float
        During the year, of the rated capacity [-].
    hours_without : float
        In the winter of this year [h].
    used : float
        Share of the battery's life used in the year [-].
    """

    year: int
    battery: int
    capacity_left: float
    hours_without: float
    used: float


@dataclass(frozen=True)
class FadingStage:
    """A moment in the life of the first battery, looked at through every winter.

    Parameters
    ----------
    year : int
        1 for the first.
    capacity_left : float
        Of the rated capacity [-].
    hours_without : float
        Mean over all the winters with this capacity [h/year].
    """

    year: int
    capacity_left: float
    hours_without: float


@dataclass(frozen=True)
class Fading:
    """What happens as the battery ages.

    Parameters
    ----------
    years : tuple of FadingYear
        Year by year through the winters in turn.
    first, middle, last : FadingStage
        First year, half of the life, and last year before the battery is replaced, or of
        the run if it never is.
    replaced_after : tuple of int
        Years after which a new battery took the place of a worn one.
    capacity_left_at_end : float
        When all winters are over, before a replacement that may be due then [-].
    """

    years: tuple[FadingYear, ...]
    first: FadingStage
    middle: FadingStage
    last: FadingStage
    replaced_after: tuple[int, ...]
    capacity_left_at_end: float


def fade(
    setting: Setting, system: System, *, second_source: SecondSource | None = None
) -> Fading | None:
    """Run a system through the winters while its battery ages.

    Parameters
    ----------
    setting : Setting
        Sky and demand.
    system : System
        The system.
    second_source : SecondSource, optional
        What helps out.

    Returns
    -------
    Fading or None
        ``None`` without a bank.
    """
    if system.bank is None:
        return None
    life = _Life(setting, system, system.bank, second_source)
    years, replaced_after, left = life.through_the_years()
    end = replaced_after[0] if replaced_after else len(years)
    chosen = [years[place] for place in (0, (end + 1) // 2 - 1, end - 1)]
    hours = life.through_every_winter([one.capacity_left for one in chosen])
    first, middle, last = (
        FadingStage(one.year, one.capacity_left, dark)
        for one, dark in zip(chosen, hours, strict=True)
    )
    return Fading(years, first, middle, last, replaced_after, left)


@dataclass(frozen=True, eq=False)
class _Life:
    """A system with a bank, to be looked at with more or less of its capacity left."""

    setting: Setting
    system: System
    bank: Bank
    second_source: SecondSource | None

    @property
    def _owned(self) -> float:
        """Share of the rated capacity that the battery begins with."""
        return self.bank.battery.worn_pct / 100.0

    def _rows(self, capacities: list[float]) -> Rows:
        """Rows at several capacities, shares of the rated one."""
        rows = Rows(self.setting, second_source=self.second_source)
        for capacity in capacities:
            rows.capacity_left = capacity / self._owned
            rows.add(self.system)
        return rows

    def through_every_winter(self, capacities: list[float]) -> list[float]:
        """Mean hours a year without power at each of some capacities [h/year]."""
        hours = self._rows(capacities).run().yearly[:, :, at.Y_ANY_HOURS]
        return [float(dark) for dark in hours.mean(axis=1)]

    def through_the_years(self) -> tuple[tuple[FadingYear, ...], tuple[int, ...], float]:
        """The years in turn; after which of them it was replaced; what is left at the end."""
        left, anew = self._owned, False
        course = self._rows([left]).lay_out()
        cells_c = self.setting.cells_c(self.bank.housing).reshape(course.years, -1)
        found: list[FadingYear] = []
        replaced: list[int] = []
        for year in range(course.years):
            if year > 0:
                change_bank(course, self._rows([left]).designs[0], anew=anew, year=year)
            before = course.totals[0].copy()
            course.go(year, year + 1)
            life = life_of(
                self.bank,
                course.totals[0] - before,
                cells_c[year],
                years=1.0,
                capacity_left=left / self._owned,
            )
            used = life.used_per_year
            dark = float(course.yearly[0, year, at.Y_ANY_HOURS])
            found.append(FadingYear(year + 1, len(replaced) + 1, left, dark, used))
            left_at_end = left - (1.0 - WORN_OUT) * used
            anew = left_at_end <= WORN_OUT
            if anew:
                replaced.append(year + 1)
            left = 1.0 if anew else left_at_end
        return tuple(found), tuple(replaced), left_at_end


def change_bank(course: Course, row: FloatArray, *, anew: bool, year: int) -> None:
    """Give the first design of a course a bank of another capacity before a year.

    Parameters
    ----------
    course : Course
        Between two years.
    row : numpy.ndarray, shape (DESIGN_COLUMNS,)
        The design with the bank as it is from now on.
    anew : bool
        A new, full bank with everything switched on; else the same bank, at the state of
        charge at which it stands.
    year : int
        The year that comes next.
    """
    state = course.states[0]
    if anew:
        state[at.S_AVAILABLE] = row[at.AVAILABLE] * row[at.FULL_WH]
        state[at.S_BOUND] = row[at.FULL_WH] - state[at.S_AVAILABLE]
        state[at.S_CONNECTED] = 1.0
        off = (at.S_SHED_SHOULD, at.S_SHED_MAY, at.S_BACKUP, at.S_INVERTER_OUT)
        state[list(off)] = 0.0
        state[at.S_LAST_FULL] = year * course.sun_place.size - 1.0
        state[at.S_EQUALISED_H] = 0.0
    else:
        smaller = row[at.FULL_WH] / course.designs[0, at.FULL_WH]
        state[at.S_AVAILABLE] *= smaller
        state[at.S_BOUND] *= smaller
    course.designs[0] = row
