"""What a person asks about: names of parts and loads, or what a design says of them."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass, replace

from sunpantry.demand.habits import mean_use_w
from sunpantry.demand.library import complete_loads, find_load, library_names, load_library
from sunpantry.design.loads import Load
from sunpantry.design.models import Design
from sunpantry.design.nameplates import AnyNameplate
from sunpantry.design.problems import unknown_name
from sunpantry.errors import InputError
from sunpantry.match.case import USUAL_CHOICES, Choices, LoadFacts, choices_of
from sunpantry.parts.catalogue import ROLES, Catalogue, shipped_catalogue
from sunpantry.parts.resolve import ArrayKit, BankKit, resolve_kit
from sunpantry.parts.system import Array, Bank
from sunpantry.sky.climate import climate_of
from sunpantry.sky.from_site import place_of

# Nothing that is asked here depends on where a panel points.
ANY_TILT_DEG = (35.0,) * 12
ANY_AZIMUTH_DEG = 180.0


@dataclass(frozen=True)
class Asked:
    """Parts and loads that are put beside each other.

    Parameters
    ----------
    parts : tuple of nameplates
        One for each piece; still to be wired.
    loads : tuple of LoadFacts
        What is to run.
    arrays : tuple of Array
        Panels whose wiring is said.
    bank : Bank or None
        Batteries whose wiring is said.
    bank_v : float or None
        Bank voltage that is said [V].
    mains_v : float or None
        Voltage that mains appliances of the place want, where a place is said [V].
    choices : Choices
        Habits and circumstances.
    coldest_c, never_colder_c : float or None
        Coldest hour of a usual year and of many years, where a place is said [°C].
    """

    parts: tuple[AnyNameplate, ...] = ()
    loads: tuple[LoadFacts, ...] = ()
    arrays: tuple[Array, ...] = ()
    bank: Bank | None = None
    bank_v: float | None = None
    mains_v: float | None = None
    choices: Choices = USUAL_CHOICES
    coldest_c: float | None = None
    never_colder_c: float | None = None

    @property
    def count(self) -> int:
        """Things that are asked about."""
        return len(self.parts) + len(self.loads) + len(self.arrays) + (self.bank is not None)

    def beside(self, other: Asked) -> Asked:
        """Both together; of what can be said only once, such as the bank, the first counts."""
        if not self.count:
            return other
        return replace(
            self,
            parts=(*self.parts, *other.parts),
            loads=(*self.loads, *other.loads),
            arrays=(*self.arrays, *other.arrays),
            bank=self.bank or other.bank,
            bank_v=self.bank_v or other.bank_v,
            mains_v=self.mains_v or other.mains_v,
            choices=other.choices if self.choices == USUAL_CHOICES else self.choices,
            coldest_c=other.coldest_c if self.coldest_c is None else self.coldest_c,
            never_colder_c=self.never_colder_c
            if self.coldest_c is not None
            else other.never_colder_c,
        )


def facts_of_loads(loads: Iterable[Load]) -> tuple[LoadFacts, ...]:
    """Loads as the rules look at them, from what is said of them and the library alone.

    Parameters
    ----------
    loads : iterable of Load
        As in a design; they may say ``like``.

    Returns
    -------
    tuple of LoadFacts
        Without energies, which depend on the place.

    Raises
    ------
    InputError
        A ``like`` that is on no list, a load that contradicts itself.
    """
    found = []
    for load, _ in complete_loads(loads, load_library()):
        work_w = max(load.power_w or 0.0, mean_use_w(load))
        found.append(
            LoadFacts(
                name=load.name,
                supply=load.supply or "12 V",
                power_w=work_w,
                surge_w=load.surge_w,
                kind=load.kind or "other",
                plug=load.plug,
                importance=load.importance or "should",
                quantity=load.quantity,
            )
        )
    return tuple(found)


def asked_by_name(name: str, *, where: str = "part", parts: Catalogue | None = None) -> Asked:
    """Look a part or an ordinary load up by its name.

    Parameters
    ----------
    name : str
        A name from the parts list or from the library of loads; capitals do not matter.
    where : str
        For messages.
    parts : Catalogue, optional
        The parts list; the shipped one by default.

    Returns
    -------
    Asked
        The one thing.

    Raises
    ------
    InputError
        When neither list has it; with the closest match.
    """
    catalogue = shipped_catalogue() if parts is None else parts
    known = [part.name for role in ROLES for part in catalogue.of(role)]
    if name.strip().casefold() in (one.casefold() for one in known):
        return Asked(parts=(catalogue.find(name.strip(), where=where)[1],))
    entry = find_load(name, load_library())
    if entry is None:
        raise InputError(
            [
                unknown_name(
                    where,
                    name,
                    [*known, *library_names(load_library())],
                    what="the parts list or the library of loads",
                    otherwise="`sunpantry parts` and `sunpantry loads` list them",
                )
            ]
        )
    return Asked(loads=facts_of_loads([Load(name=entry.name, like=entry.name)]))


def asked_by_design(design: Design, *, parts: Catalogue | None = None) -> Asked:
    """Everything a design says of its parts and loads; what it leaves open is not asked about.

    Parameters
    ----------
    design : Design
        The document.
    parts : Catalogue, optional
        The parts list; the shipped one by default.

    Returns
    -------
    Asked
        Panels and batteries wired as the document says, where it says so.

    Raises
    ------
    InputError
        A name that is on no list.
    """
    kit = resolve_kit(design, shipped_catalogue() if parts is None else parts)
    loose: list[AnyNameplate] = []
    arrays: list[Array] = []
    for each in kit.arrays:
        wired = _array(each)
        if wired is not None:
            arrays.append(wired)
        elif each.panel is not None:
            loose += [each.panel] * (each.count or 1)
    site = design.site
    climate = climate_of(place_of(site), monthly_temperature_c=site.monthly_temperature_c)
    bank = _bank(kit.bank)
    if bank is None and kit.bank.battery is not None:
        loose += [kit.bank.battery] * (kit.bank.count or 1)
    if kit.controller.controller is not None:
        loose += [kit.controller.controller] * (kit.controller.count or 1)
    if kit.inverter.inverter is not None:
        loose.append(kit.inverter.inverter)
    for one in kit.converters:
        loose += [one.converter] * one.count
    return Asked(
        parts=tuple(loose),
        loads=facts_of_loads(design.loads),
        arrays=tuple(arrays),
        bank=bank,
        bank_v=kit.bank_v,
        mains_v=design.site.mains_v,
        choices=choices_of(design),
        coldest_c=climate.mean_annual_minimum_c,
        never_colder_c=climate.never_colder_c,
    )


def _array(kit: ArrayKit) -> Array | None:
    if kit.panel is None or kit.series is None or kit.parallel is None:
        return None
    return Array(
        kit.panel,
        kit.series,
        kit.parallel,
        ANY_TILT_DEG if kit.tilt_deg is None else kit.tilt_deg,
        ANY_AZIMUTH_DEG if kit.azimuth_deg is None else kit.azimuth_deg,
        owned=kit.series * kit.parallel if kit.owned is None else kit.owned,
    )


def _bank(kit: BankKit) -> Bank | None:
    if kit.battery is None or kit.series is None or kit.parallel is None:
        return None
    return Bank(
        kit.battery,
        kit.series,
        kit.parallel,
        housing=kit.housing,
        owned=kit.series * kit.parallel if kit.owned is None else kit.owned,
    )


def all_asked(things: Sequence[Asked]) -> Asked:
    """Everything that is asked about, loads of one name told apart.

    Parameters
    ----------
    things : sequence of Asked
        In the order in which they were named.

    Returns
    -------
    Asked
        All of them.
    """
    whole = Asked()
    for thing in things:
        whole = whole.beside(thing)
    seen: dict[str, int] = {}
    told = []
    for load in whole.loads:
        seen[load.name] = seen.get(load.name, 0) + 1
        number = seen[load.name]
        told.append(load if number == 1 else replace(load, name=f"{load.name} {number}"))
    return replace(whole, loads=tuple(told))
