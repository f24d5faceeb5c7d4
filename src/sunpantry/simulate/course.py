"""Systems on their way through the years: what the kernel reads and writes."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from sunpantry.simulate import layout as at
from sunpantry.simulate.bus import BusLoads
from sunpantry.timegrid import FloatArray, IntArray


@dataclass(eq=False)
class Course:
    """Arrays of a run, which may be made year by year.

    Shapes and meanings: :func:`sunpantry.simulate.kernel.run_group`. Between two years a
    design may be changed; what depends on it is worked out anew.
    """

    designs: FloatArray
    sun: FloatArray
    sun_place: IntArray
    month_of: IntArray
    curves: FloatArray
    cells_c: FloatArray
    loads: FloatArray
    flexible: FloatArray
    arrived: FloatArray
    allowed_h: FloatArray
    step_h: float
    states: FloatArray
    served: FloatArray
    totals: FloatArray
    yearly: FloatArray
    monthly: FloatArray
    traces: FloatArray

    @property
    def years(self) -> int:
        """Years there are."""
        return int(self.yearly.shape[1])

    def go(self, from_year: int, until_year: int) -> None:
        """Run years in turn: the first of them must follow the last that was run.

        Parameters
        ----------
        from_year, until_year : int
            The second is not among them; 0 begins anew.
        """
        import numba

        from sunpantry.simulate.kernel import GROUP

        threads = numba.get_num_threads()
        if self.designs.shape[0] <= GROUP:
            # one group is one thread's work: do not wait for the others to wake and sleep
            numba.set_num_threads(1)
        try:
            self._run(from_year, until_year)
        finally:
            numba.set_num_threads(threads)

    def _run(self, from_year: int, until_year: int) -> None:
        from sunpantry.simulate.kernel import run_designs

        run_designs(
            self.designs,
            self.states,
            self.sun,
            self.sun_place,
            self.month_of,
            self.curves,
            self.cells_c,
            self.loads,
            self.flexible,
            self.arrived,
            self.served,
            self.allowed_h,
            self.step_h,
            from_year,
            until_year,
            self.totals,
            self.yearly,
            self.monthly,
            self.traces,
        )


def stack_loads(
    sets: Sequence[BusLoads], years: IntArray, all_years: int
) -> tuple[FloatArray, FloatArray, FloatArray]:
    """Bring the load sets to one shape and cut them to the years wanted.

    Parameters
    ----------
    sets : sequence of BusLoads
        Of the systems in a run.
    years : numpy.ndarray
        Those wanted, 0 for the first.
    all_years : int
        There are.

    Returns
    -------
    loads, flexible, arrived : numpy.ndarray
        As the kernel takes them.
    """
    queues = max((one.flexible.shape[0] for one in sets), default=0)
    loads = np.stack([one.steps for one in sets])
    if loads.shape[1] > sets[0].steps_per_year:
        shaped = loads.reshape(len(sets), all_years, -1, at.LOAD_COLUMNS)[:, years]
        loads = np.ascontiguousarray(shaped).reshape(len(sets), -1, at.LOAD_COLUMNS)
    flexible = np.zeros((len(sets), queues, at.FLEX_COLUMNS))
    length = years.size * sets[0].steps_per_year if queues else 0
    arrived = np.zeros((len(sets), queues, length))
    for number, one in enumerate(sets):
        for queue in range(one.flexible.shape[0]):
            flexible[number, queue] = one.flexible[queue]
            arrived[number, queue] = np.cumsum(np.tile(one.arrivals_wh[queue], years.size))
    return loads, flexible, arrived
