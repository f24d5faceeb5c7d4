"""Unlike panels: in series, side by side, facing different ways, old with new."""

from __future__ import annotations

from dataclasses import replace

from sunpantry.design.nameplates import PanelNameplate
from sunpantry.figures import Figure, Given
from sunpantry.match.array_measures import panel_current_a, panel_voltage_v
from sunpantry.match.case import Case, Joined, array_role, numbered_arrays
from sunpantry.match.finding import Finding, Remedy, Said, Severity, rule, worked
from sunpantry.match.sources import EXPLICIT_CURVE, PRACTICE
from sunpantry.parts.system import Array
from sunpantry.phrases import joined, phrase
from sunpantry.physics.array_losses import BYPASS_DIODE_V

# Loss by unlike panels: common practice, no source.
NOTED_LOSS = 0.02
MUCH_LOSS = 0.10
_POINTS = 200
# Directions that differ by more than this are called mixed [°]: common practice, no source.
MIXED_AZIMUTH_DEG = 30.0
MIXED_TILT_DEG = 20.0

Strings = list[tuple[PanelNameplate, int, int]]  # panel, in series, side by side


def parallel_power_w(strings: Strings) -> float:
    """Highest power of strings side by side: one voltage for all.

    Parameters
    ----------
    strings : list of (PanelNameplate, int, int)
        Panel, panels in series, strings side by side.

    Returns
    -------
    float
        Power in full sun at 25 °C [W].
    """
    top_v = max(panel.voc_v * series for panel, series, _ in strings)
    best = 0.0
    for step in range(1, _POINTS):
        volts = top_v * step / _POINTS
        amps = sum(
            parallel * panel_current_a(panel, voltage_v=volts / series)
            for panel, series, parallel in strings
        )
        best = max(best, volts * amps)
    return best


def series_power_w(panels: list[PanelNameplate]) -> float:
    """Highest power of panels one after another: one current for all.

    Parameters
    ----------
    panels : list of PanelNameplate
        The panels.

    Returns
    -------
    float
        Power in full sun at 25 °C [W].
    """
    top_a = max(panel.isc_a for panel in panels)
    best = 0.0
    for step in range(1, _POINTS):
        amps = top_a * step / _POINTS
        each = (panel_voltage_v(panel, current_a=amps) for panel in panels)
        # What is more than a panel's own current goes through its bypass diodes.
        volts = sum(-BYPASS_DIODE_V if one is None else one for one in each)
        best = max(best, volts * amps)
    return best


def joined_loss(case: Case, how: str) -> float:
    """Share of the power lost by joining the further panels to the first array [-]."""
    array, others = case.system.arrays[0], case.joined.panels
    if how == "series":
        panels = [*[array.panel] * array.series, *others]
        alone_w = sum(series_power_w([panel]) for panel in panels)
        return max(0.0, 1.0 - series_power_w(panels) / alone_w)
    strings: Strings = [(array.panel, array.series, array.parallel)]
    strings += [(panel, 1, 1) for panel in others]
    return _parallel_loss(strings)


def _parallel_loss(strings: Strings) -> float:
    alone_w = sum(parallel_power_w([one]) for one in strings)
    return max(0.0, 1.0 - parallel_power_w(strings) / alone_w)


def _graded(loss: float) -> Severity:
    if loss > MUCH_LOSS:
        return Severity.WILL_DISAPPOINT
    return Severity.WORTH_KNOWING if loss > NOTED_LOSS else Severity.FINE


def _loss_figure(name: str, loss: float, how: str) -> Figure:
    return worked(
        name,
        loss,
        "",
        "1 − highest power together / sum of the highest powers alone",
        EXPLICIT_CURVE,
        ("joined", phrase("in series") if how == "series" else phrase("in parallel"), ""),
    )


@rule(
    "unlike-panels",
    asks="What is lost when unlike panels are joined?",
    limit="2 % is worth knowing, 10 % disappoints",
    source=phrase(
        "{explicit_curve}; the limits are {practice}",
        explicit_curve=EXPLICIT_CURVE,
        practice=PRACTICE,
    ),
    worst=Severity.WILL_DISAPPOINT,
)
def unlike_panels(case: Case) -> Said:
    """In series all carry the weakest current, side by side all stand at one voltage."""
    if not case.joined.panels or not case.system.arrays:
        return
    how = case.joined.how
    loss = joined_loss(case, how)
    other = "parallel" if how == "series" else "series"
    words = {
        "series": phrase("one after another (in series)"),
        "parallel": phrase("side by side (in parallel)"),
    }
    names = ", ".join(sorted({panel.name for panel in case.joined.panels}))
    severity = _graded(loss)
    said = phrase(
        "{names} and {name} joined {words} lose {loss:.0%} of their power",
        names=names,
        name=case.system.arrays[0].panel.name,
        words=words[how],
        loss=loss,
    )
    said += "." if severity is Severity.FINE else phrase(" because they are unlike.")
    yield Finding(
        severity,
        said,
        ("array",),
        (_loss_figure(phrase("power lost by joining unlike panels"), loss, how),),
        Given("loss that disappoints", MUCH_LOSS, ""),
        options=()
        if severity is Severity.FINE
        else (
            Remedy(
                phrase("Join them {words}.", words=words[other]),
                replace(case, joined=_joined(case, how=other)),
            ),
            Remedy(
                phrase("Keep unlike panels apart: give the others a controller of their own."),
                replace(case, joined=_joined(case, panels=())),
            ),
        ),
    )


def _joined(case: Case, **fields: object) -> Joined:
    return replace(case.joined, **fields)  # type: ignore[arg-type]


@rule(
    "unlike-strings",
    asks="Do arrays on one controller work at about the same voltage?",
    limit="2 % lost is worth knowing, 10 % disappoints",
    source=phrase(
        "{explicit_curve}; the limits are {practice}",
        explicit_curve=EXPLICIT_CURVE,
        practice=PRACTICE,
    ),
    worst=Severity.WILL_DISAPPOINT,
)
def unlike_strings(case: Case) -> Said:
    """Strings side by side settle on one voltage, which suits at most one of them."""
    arrays = case.system.arrays
    if len(arrays) < 2 or case.system.controller is None or case.choices.arrays_apart:
        return
    loss = _parallel_loss([(array.panel, array.series, array.parallel) for array in arrays])
    severity = _graded(loss)
    volts = joined(
        phrase("{volts:.0f} V", volts=array.series * array.panel.vmp_v) for array in arrays
    )
    yield Finding(
        severity,
        phrase(
            "The arrays work at {volts}; on one controller that costs {loss:.0%} of their power.",
            volts=volts,
            loss=loss,
        ),
        tuple(array_role(case, index) for index in range(len(arrays))),
        (_loss_figure(phrase("power lost by strings of unlike voltage"), loss, "parallel"),),
        Given("loss that disappoints", MUCH_LOSS, ""),
        options=() if severity is Severity.FINE else _alike(case),
    )


def _alike(case: Case) -> tuple[Remedy, ...]:
    """Rewire further arrays to the voltage of the first, as near as whole panels allow."""
    first = case.system.arrays[0]
    wanted_v = first.series * first.panel.vmp_v
    arrays = [first]
    for array in case.system.arrays[1:]:
        series = max(1, round(wanted_v / array.panel.vmp_v))
        arrays.append(replace(array, series=series, parallel=max(1, array.count // series)))
    told = joined(
        (
            phrase("{name}: {series} in each string", name=array.panel.name, series=array.series)
            for array in arrays[1:]
        ),
        "; ",
    )
    apart = case.chosen(arrays_apart=True).changed(controller_count=len(arrays))
    return (
        Remedy(
            phrase("Wire them to the same voltage ({told}).", told=told),
            case.changed(arrays=tuple(arrays)),
        ),
        Remedy(phrase("Give each array a controller of its own."), apart),
    )


def _apart_deg(first: Array, second: Array) -> float:
    turn = abs(first.azimuth_deg - second.azimuth_deg) % 360.0
    return min(turn, 360.0 - turn)


def _faces_apart(first: Array, second: Array) -> bool:
    tilted = max(max(first.tilt_deg, default=0.0), max(second.tilt_deg, default=0.0)) > 5.0
    steeper = max(
        (abs(a - b) for a, b in zip(first.tilt_deg, second.tilt_deg, strict=False)), default=0.0
    )
    return steeper > MIXED_TILT_DEG or (tilted and _apart_deg(first, second) > MIXED_AZIMUTH_DEG)


@rule(
    "mixed-directions",
    asks="Do arrays on one controller face the same way?",
    limit="within 30° of compass direction and 20° of tilt",
    source=PRACTICE,
    worst=Severity.WORTH_KNOWING,
)
def mixed_directions(case: Case) -> Said:
    """Side by side, arrays that face different ways get on well; never in one string."""
    arrays = case.system.arrays
    if len(arrays) < 2 or not any(_faces_apart(arrays[0], other) for other in arrays[1:]):
        return
    together = tuple(
        replace(array, azimuth_deg=arrays[0].azimuth_deg, tilt_deg=arrays[0].tilt_deg)
        for array in arrays
    )
    yield Finding(
        Severity.WORTH_KNOWING,
        phrase(
            "The arrays face different ways. Keep each direction in strings of its own, joined "
            "side by side: the sun spreads over more of the day and the peak is lower. Never put "
            "panels that face different ways into one string."
        ),
        tuple(array_role(case, index) for index in range(len(arrays))),
        options=(
            Remedy(phrase("Let all arrays face the same way."), case.changed(arrays=together)),
        ),
    )


@rule(
    "old-with-new-panels",
    asks="Are old panels in one array with new ones?",
    limit="all panels of an array of one age",
    source=PRACTICE,
    worst=Severity.WORTH_KNOWING,
)
def old_with_new_panels(case: Case) -> Said:
    """An aged panel gives less current and holds back the string it stands in."""
    for role, index, array in numbered_arrays(case):
        if not 0 < array.owned < array.count:
            continue
        yield Finding(
            Severity.WORTH_KNOWING,
            phrase(
                "{owned} panels of the {role} are there already and {count} are new. Old ones "
                "give a little less: put the old ones together into strings of their own, and "
                "measure their open-circuit voltage and current first.",
                owned=array.owned,
                role=role,
                count=array.count - array.owned,
            ),
            (role,),
            options=_by_age(case, index),
        )


def _by_age(case: Case, index: int) -> tuple[Remedy, ...]:
    array = case.system.arrays[index]
    if array.owned % array.series:
        return ()
    old = array.owned // array.series
    split = (
        replace(array, parallel=old, owned=old * array.series),
        replace(array, parallel=array.parallel - old, owned=0),
    )
    arrays = (*case.system.arrays[:index], *split, *case.system.arrays[index + 1 :])
    return (
        Remedy(
            phrase("Put old and new panels into strings of their own."), case.changed(arrays=arrays)
        ),
    )


RULES = (unlike_panels, unlike_strings, mixed_directions, old_with_new_panels)
