"""A first answer while the search for the best parts goes on."""

from __future__ import annotations

from sunpantry.web.tasks import FIRST_TRY, Bench, Found, Refused, design_of, tell, told

FEW_WINTERS = 3
QUICK = Refused("the search itself is as quick")


def first_try(text: str) -> Found | Refused:
    """Choose parts by a few winters only: work of a process that would otherwise wait.

    Parameters
    ----------
    text : str
        The document (TOML).

    Returns
    -------
    Found or Refused
        What was found, to be run through all the winters; or that there is no need.
    """
    return told(lambda: _first_try(text))


def _first_try(text: str) -> Found | Refused:
    from sunpantry.plan import make_plan

    design = design_of(text)
    if design.winters <= 2 * FEW_WINTERS or design.site.weather_file is not None:
        return QUICK
    few = design.model_copy(update={"winters": FEW_WINTERS})
    try:
        plan = make_plan(few, folder=Bench.folder, progress=tell)
    except KeyboardInterrupt:
        return QUICK
    return Found(FIRST_TRY, plan.system, plan.search, (), ())
