"""What the design document fixes of the system, with every name looked up.

Each part is a nameplate, or ``None`` where the search is to choose. That a part shall
be absent (``part = "none"``) is said beside it.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from typing import TypeVar

from sunpantry.design.kit import ArrayChoice, BatteryChoice, PartChoice
from sunpantry.design.models import Design
from sunpantry.design.nameplates import (
    BatteryNameplate,
    ControllerNameplate,
    ConverterNameplate,
    InverterNameplate,
    Nameplate,
    PanelNameplate,
)
from sunpantry.errors import PartError, Problem
from sunpantry.parts.catalogue import Catalogue
from sunpantry.parts.curves import panel_model
from sunpantry.parts.label_checks import label_problems
from sunpantry.phrases import phrase, phrases
from sunpantry.physics.array_losses import bypass_groups

Label = TypeVar("Label", bound=Nameplate)

BEST_FOR = "best for the "
# April to September, by position in the year.
_APRIL_TO_SEPTEMBER = range(3, 9)


@dataclass(frozen=True)
class ArrayKit:
    """One array as far as the document fixes it.

    Parameters
    ----------
    panel : PanelNameplate or None
        ``None``: to be chosen.
    count, series, parallel : int or None
        ``None``: to be chosen, or following from the others.
    owned : int or None
        Panels already there; ``None``: all of them.
    tilt_deg : tuple of float or None
        Tilt for each month [°]; ``None``: the best.
    azimuth_deg : float or None
        Compass direction faced [°]; ``None``: the best.
    mounting : str
        'ground', 'roof', 'wall', 'pole' or 'carried'.
    tilt_aim, azimuth_aim : str
        What an open tilt and azimuth shall be best for: 'promise', 'year', 'darkest month'.
    shaded_groups : int
        Groups of cells of each panel that stand in shade.
    """

    panel: PanelNameplate | None
    count: int | None
    series: int | None
    parallel: int | None
    owned: int | None
    tilt_deg: tuple[float, ...] | None
    azimuth_deg: float | None
    mounting: str
    tilt_aim: str = "promise"
    azimuth_aim: str = "promise"
    shaded_groups: int = 0


@dataclass(frozen=True)
class BankKit:
    """The battery bank as far as the document fixes it.

    Parameters
    ----------
    battery : BatteryNameplate or None
        ``None``: to be chosen.
    count, series, parallel : int or None
        ``None``: to be chosen, or following from the others.
    owned : int or None
        Batteries already there; ``None``: all of them.
    housing : str
        'shed', 'house', 'buried' or 'outdoors'.
    absent : bool
        There shall be no battery.
    """

    battery: BatteryNameplate | None = None
    count: int | None = None
    series: int | None = None
    parallel: int | None = None
    owned: int | None = 0
    housing: str = "shed"
    absent: bool = False


@dataclass(frozen=True)
class ControllerKit:
    """The charge controller as far as the document fixes it.

    Parameters
    ----------
    controller : ControllerNameplate or None
        ``None``: to be chosen.
    count : int or None
        Equal controllers; ``None``: to be chosen.
    owned : bool
        Already there.
    absent : bool
        There shall be none.
    """

    controller: ControllerNameplate | None = None
    count: int | None = None
    owned: bool = False
    absent: bool = False


@dataclass(frozen=True)
class InverterKit:
    """The inverter as far as the document fixes it.

    Parameters
    ----------
    inverter : InverterNameplate or None
        ``None``: to be chosen, where something needs it.
    owned : bool
        Already there.
    absent : bool
        There shall be none.
    """

    inverter: InverterNameplate | None = None
    owned: bool = False
    absent: bool = False


@dataclass(frozen=True)
class ConverterKit:
    """One kind of DC converter that is part of the system.

    Parameters
    ----------
    converter : ConverterNameplate
        The part.
    count : int
        How many.
    owned : bool
        Already there.
    """

    converter: ConverterNameplate
    count: int
    owned: bool


@dataclass(frozen=True)
class Kit:
    """Everything the document says about the parts.

    Parameters
    ----------
    bank_v : float or None
        System class [V]; ``None``: to be chosen.
    arrays : tuple of ArrayKit
        Empty: one array, to be chosen.
    bank, controller, inverter
        See their classes.
    converters : tuple of ConverterKit
        The ones fixed; others may be added where a load needs them, unless
        ``no_converters``.
    no_converters : bool
        There shall be none.
    """

    bank_v: float | None
    arrays: tuple[ArrayKit, ...]
    bank: BankKit
    controller: ControllerKit
    inverter: InverterKit
    converters: tuple[ConverterKit, ...]
    no_converters: bool = False


def resolve_kit(design: Design, catalogue: Catalogue, *, south: bool = False) -> Kit:
    """Look up every part that a design fixes.

    Parameters
    ----------
    design : Design
        The document.
    catalogue : Catalogue
        The parts list.
    south : bool
        South of the equator, where the winter tilt is that of April to September.

    Returns
    -------
    Kit
        Nameplates where something is fixed, ``None`` where it is open.

    Raises
    ------
    PartError
        One problem for each unknown name and each contradiction on a label.
    """
    problems: list[Problem] = []

    def look_up(
        choice: PartChoice | None,
        label: Label | None,
        finder: Callable[..., Label],
        where: str,
    ) -> Label | None:
        if choice is None or choice.is_none:
            return None
        if choice.part is None:
            if label is not None:
                problems.extend(label_problems(label, where))
            return label
        try:
            return finder(choice.part, where=f"{where}.part")
        except PartError as error:
            problems.extend(error.problems)
            return None

    arrays = []
    for position, choice in enumerate(design.arrays, start=1):
        where = f"array[{position}]"
        panel = look_up(choice, choice.label, catalogue.panel, where)
        if panel is not None:
            problems.extend(_curve_problems(panel, where))
            problems.extend(_shade_problems(choice, panel, where))
        arrays.append(_array_kit(choice, panel, south=south))
    battery, control, inverter = design.battery, design.controller, design.inverter
    bank = _bank_kit(
        battery, look_up(battery, battery.label if battery else None, catalogue.battery, "battery")
    )
    controller = ControllerKit(
        look_up(control, control.label if control else None, catalogue.controller, "controller"),
        count=control.count if control else None,
        owned=bool(control and control.owned),
        absent=bool(control and control.is_none),
    )
    inverter_kit = InverterKit(
        look_up(inverter, inverter.label if inverter else None, catalogue.inverter, "inverter"),
        owned=bool(inverter and inverter.owned),
        absent=bool(inverter and inverter.is_none),
    )
    converters = []
    for position, each in enumerate(design.converters, start=1):
        found = look_up(each, each.label, catalogue.converter, f"converter[{position}]")
        if found is not None:
            converters.append(ConverterKit(found, count=each.count, owned=each.owned))
    if problems:
        raise PartError(problems)
    return Kit(
        bank_v=design.bank_voltage_v,
        arrays=tuple(arrays),
        bank=bank,
        controller=controller,
        inverter=inverter_kit,
        converters=tuple(converters),
        no_converters=any(each.is_none for each in design.converters),
    )


def _curve_problems(panel: PanelNameplate, where: str) -> tuple[Problem, ...]:
    try:
        panel_model(panel, where=where)
    except PartError as error:
        return error.problems
    return ()


def _shade_problems(choice: ArrayChoice, panel: PanelNameplate, where: str) -> tuple[Problem, ...]:
    """Something of the panel must see the sun."""
    groups = bypass_groups(panel.cells)
    if choice.shaded_groups < groups:
        return ()
    return (
        Problem(
            f"{where}.shaded_groups",
            str(choice.shaded_groups),
            phrases(
                "0: this panel has a single group of cells",
                "fewer than the {count:g} groups of cells of this panel",
                count=groups,
            ),
            phrase("move the panel into the sun, or leave the array out"),
        ),
    )


def _array_kit(choice: ArrayChoice, panel: PanelNameplate | None, *, south: bool) -> ArrayKit:
    count, series, parallel = _counts(choice)
    tilt: tuple[float, ...] | None = None
    if choice.tilt_winter_deg is not None and choice.tilt_summer_deg is not None:
        warm = choice.tilt_winter_deg if south else choice.tilt_summer_deg
        cold = choice.tilt_summer_deg if south else choice.tilt_winter_deg
        tilt = tuple(warm if month in _APRIL_TO_SEPTEMBER else cold for month in range(12))
    elif not isinstance(choice.tilt_deg, str):
        tilt = (choice.tilt_deg,) * 12
    return ArrayKit(
        panel=panel,
        count=count,
        series=series,
        parallel=parallel,
        owned=None if isinstance(choice.owned, str) else choice.owned,
        tilt_deg=tilt,
        azimuth_deg=None if isinstance(choice.azimuth_deg, str) else choice.azimuth_deg,
        mounting=choice.mounting,
        tilt_aim=_aim(choice.tilt_deg),
        azimuth_aim=_aim(choice.azimuth_deg),
        shaded_groups=choice.shaded_groups,
    )


def _aim(written: float | str) -> str:
    """What 'best for the …' names; plain 'best' and degrees are left to the promise."""
    if isinstance(written, str) and written.startswith(BEST_FOR):
        return written.removeprefix(BEST_FOR)
    return "promise"


def _bank_kit(choice: BatteryChoice | None, battery: BatteryNameplate | None) -> BankKit:
    if choice is None:
        return BankKit()
    count, series, parallel = _counts(choice)
    return BankKit(
        battery=battery,
        count=count,
        series=series,
        parallel=parallel,
        owned=None if isinstance(choice.owned, str) else choice.owned,
        housing=choice.housing,
        absent=choice.is_none,
    )


def _counts(choice: ArrayChoice | BatteryChoice) -> tuple[int | None, int | None, int | None]:
    """Count, series and parallel, each worked out from the other two where possible."""
    count, series, parallel = choice.count, choice.series, choice.parallel
    if series is not None and parallel is not None:
        count = series * parallel
    elif count is not None and series is not None:
        parallel = count // series
    elif count is not None and parallel is not None:
        series = count // parallel
    elif count == 1:
        series, parallel = 1, 1
    return count, series, parallel
