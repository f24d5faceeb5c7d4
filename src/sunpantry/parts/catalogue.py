"""The parts list: read, looked up by name, filtered."""

from __future__ import annotations

import tomllib
from collections import Counter
from collections.abc import Iterator
from dataclasses import dataclass
from functools import cache
from importlib.resources import files
from typing import TypeVar

from pydantic import ValidationError

from sunpantry.design.nameplates import (
    AnyNameplate,
    BatteryNameplate,
    ControllerNameplate,
    ConverterNameplate,
    InverterNameplate,
    Nameplate,
    PanelNameplate,
)
from sunpantry.design.problems import unknown_name
from sunpantry.errors import PartError, Problem
from sunpantry.phrases import phrase

Part = TypeVar("Part", bound=AnyNameplate)
Label = TypeVar("Label", bound=Nameplate)

ROLES = ("panel", "battery", "controller", "inverter", "converter")


@dataclass(frozen=True)
class Catalogue:
    """Parts to choose from, each kind in the order of its file.

    Parameters
    ----------
    panels, batteries, controllers, inverters, converters : tuple of nameplates
        The parts.
    """

    panels: tuple[PanelNameplate, ...] = ()
    batteries: tuple[BatteryNameplate, ...] = ()
    controllers: tuple[ControllerNameplate, ...] = ()
    inverters: tuple[InverterNameplate, ...] = ()
    converters: tuple[ConverterNameplate, ...] = ()

    def of(self, role: str) -> tuple[AnyNameplate, ...]:
        """Parts of one kind.

        Parameters
        ----------
        role : str
            'panel', 'battery', 'controller', 'inverter' or 'converter'.

        Returns
        -------
        tuple of nameplates
            In the order of the list.
        """
        table: dict[str, tuple[AnyNameplate, ...]] = {
            "panel": self.panels,
            "battery": self.batteries,
            "controller": self.controllers,
            "inverter": self.inverters,
            "converter": self.converters,
        }
        return table[role]

    def part_names(self) -> dict[str, tuple[str, ...]]:
        """Names by kind, as the reader of the document wants them.

        Returns
        -------
        dict
            Kind -> names.
        """
        return {role: tuple(part.name for part in self.of(role)) for role in ROLES}

    def panel(self, name: str, *, where: str = "part") -> PanelNameplate:
        """Panel of a name.

        Parameters
        ----------
        name : str
            As on the list; capitals do not matter.
        where : str
            Key of the document, for messages.

        Returns
        -------
        PanelNameplate
            The part.

        Raises
        ------
        PartError
            When there is none; with the closest match.
        """
        return _named(self.panels, name, "panel", where)

    def battery(self, name: str, *, where: str = "part") -> BatteryNameplate:
        """Battery of a name; see :meth:`panel`."""
        return _named(self.batteries, name, "battery", where)

    def controller(self, name: str, *, where: str = "part") -> ControllerNameplate:
        """Charge controller of a name; see :meth:`panel`."""
        return _named(self.controllers, name, "controller", where)

    def inverter(self, name: str, *, where: str = "part") -> InverterNameplate:
        """Inverter of a name; see :meth:`panel`."""
        return _named(self.inverters, name, "inverter", where)

    def converter(self, name: str, *, where: str = "part") -> ConverterNameplate:
        """DC converter of a name; see :meth:`panel`."""
        return _named(self.converters, name, "converter", where)

    def find(self, name: str, *, where: str = "part") -> tuple[str, AnyNameplate]:
        """Part of any kind by its name.

        Parameters
        ----------
        name : str
            As on the list; capitals do not matter.
        where : str
            Key of the document, for messages.

        Returns
        -------
        role : str
            Its kind.
        part : nameplate
            The part.

        Raises
        ------
        PartError
            When there is none; with the closest match.
        """
        for role in ROLES:
            for part in self.of(role):
                if part.name.casefold() == name.casefold():
                    return role, part
        known = [part.name for role in ROLES for part in self.of(role)]
        raise PartError([_unknown(name, known, where, "the parts list")])


def _named(parts: tuple[Part, ...], name: str, role: str, where: str) -> Part:
    for part in parts:
        if part.name.casefold() == name.casefold():
            return part
    known = [part.name for part in parts]
    raise PartError([_unknown(name, known, where, f"the parts list ({role})")])


def _unknown(name: str, known: list[str], where: str, what: str) -> Problem:
    return unknown_name(
        where,
        name,
        known,
        what=what,
        otherwise=phrase("`sunpantry parts` lists them; or give the figures on its label"),
    )


def read_catalogue(texts: dict[str, str]) -> Catalogue:
    """Read parts from TOML.

    Parameters
    ----------
    texts : dict
        Kind in the plural ('panels', …) -> TOML with one table a part under that name.

    Returns
    -------
    Catalogue
        The parts.

    Raises
    ------
    PartError
        When an entry is no valid nameplate, or two parts share a name.
    """
    problems: list[Problem] = []

    def parts(kind: str, model: type[Label]) -> tuple[Label, ...]:
        return tuple(_read_parts(texts.get(kind, ""), kind, model, problems))

    catalogue = Catalogue(
        panels=parts("panels", PanelNameplate),
        batteries=parts("batteries", BatteryNameplate),
        controllers=parts("controllers", ControllerNameplate),
        inverters=parts("inverters", InverterNameplate),
        converters=parts("converters", ConverterNameplate),
    )
    names = [name for names in catalogue.part_names().values() for name in names]
    problems += [
        Problem(
            f"{name!r}",
            "listed twice",
            phrase("a name of its own"),
            phrase("rename one of the two"),
        )
        for name, times in Counter(map(str.casefold, names)).items()
        if times > 1
    ]
    if problems:
        raise PartError(problems)
    return catalogue


def _read_parts(
    text: str, kind: str, model: type[Label], problems: list[Problem]
) -> Iterator[Label]:
    for position, raw in enumerate(tomllib.loads(text).get(kind, []), start=1):
        try:
            yield model.model_validate(raw)
        except ValidationError as error:
            problems += [
                Problem(
                    ".".join([f"{kind}[{position}]", *map(str, fault["loc"])]),
                    str(fault["input"]),
                    fault["msg"],
                    phrase("correct it in the parts list"),
                )
                for fault in error.errors()
            ]


@cache
def shipped_catalogue() -> Catalogue:
    """Parts shipped with the program: generic, no makes, typical prices.

    Returns
    -------
    Catalogue
        The same object every time.
    """
    data = files("sunpantry.parts") / "data"
    kinds = ("panels", "batteries", "controllers", "inverters", "converters")
    return read_catalogue({k: (data / f"{k}.toml").read_text(encoding="utf-8") for k in kinds})


def size_of(part: AnyNameplate) -> tuple[float, str]:
    """Headline size of a part, by which lists are sorted and filtered.

    Parameters
    ----------
    part : nameplate
        Any part.

    Returns
    -------
    value : float
        Rated power of a panel, an inverter or a converter [W], rated energy of a battery
        [Wh], rated current of a controller [A].
    unit : str
        Its unit.
    """
    if isinstance(part, BatteryNameplate):
        return part.nominal_v * part.capacity_ah, "Wh"
    if isinstance(part, ControllerNameplate):
        return part.rated_a, "A"
    if isinstance(part, PanelNameplate):
        return part.power_w, "W"
    return part.rated_w, "W"


def serves_voltage(part: AnyNameplate, voltage_v: float) -> bool:
    """Whether a part belongs to a system of this voltage class.

    Parameters
    ----------
    part : nameplate
        Any part.
    voltage_v : float
        5, 12, 24, 48 V; or 120, 230 V for what an inverter gives.

    Returns
    -------
    bool
        A 12.8 V battery serves 12 V; a panel serves a bank it can charge by itself
        (its voltage at maximum power is 1.1 to 2 times the bank's).
    """
    if isinstance(part, PanelNameplate):
        if part.regulated_output_v is not None:
            return part.regulated_output_v == voltage_v
        return 1.1 * voltage_v <= part.vmp_v < 2.0 * voltage_v
    if isinstance(part, BatteryNameplate):
        return 0.9 * voltage_v <= part.nominal_v <= 1.15 * voltage_v
    if isinstance(part, ControllerNameplate):
        return voltage_v in part.bank_voltages
    if isinstance(part, InverterNameplate):
        return voltage_v in (part.input_v, part.output_v)
    return voltage_v == part.output_v or part.input_min_v <= voltage_v <= part.input_max_v


def select_parts(
    catalogue: Catalogue,
    *,
    role: str | None = None,
    text: str = "",
    voltage_v: float | None = None,
    at_least: float | None = None,
    at_most: float | None = None,
) -> tuple[tuple[str, AnyNameplate], ...]:
    """Filter the list.

    Parameters
    ----------
    catalogue : Catalogue
        The list.
    role : str, optional
        Kind of part; all kinds by default.
    text : str
        Words that must all be in the name, the chemistry or the kind; capitals do not
        matter.
    voltage_v : float, optional
        Voltage class it must serve [V].
    at_least, at_most : float, optional
        Limits of its size, in the unit of :func:`size_of`.

    Returns
    -------
    tuple of (str, nameplate)
        Kind and part, in the order of the list.
    """
    words = text.casefold().split()

    def fits(role: str, part: AnyNameplate) -> bool:
        about = f"{role} {part.name} {getattr(part, 'chemistry', '')} {getattr(part, 'kind', '')}"
        size = size_of(part)[0]
        return (
            all(word in about.casefold() for word in words)
            and (voltage_v is None or serves_voltage(part, voltage_v))
            and (at_least is None or size >= at_least)
            and (at_most is None or size <= at_most)
        )

    kinds = ROLES if role is None else (role,)
    return tuple((kind, part) for kind in kinds for part in catalogue.of(kind) if fits(kind, part))
