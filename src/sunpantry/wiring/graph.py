"""The circuit as a typed graph, from which schedule, drawings and checks all derive.

A *part* has named *terminals*, each with a polarity. A *cable* joins the terminals of two
parts, pole by pole. *Devices* (fuses, breakers, isolators) sit in a cable near one of its
ends. Nothing is known here about sizes: they are found from the graph afterwards.
"""

from __future__ import annotations

from collections import Counter, deque
from collections.abc import Iterator
from dataclasses import dataclass
from functools import cached_property
from typing import Literal

from sunpantry.figures import Given

Polarity = Literal["+", "−", "L", "N", "PE"]
PartKind = Literal[
    "string",
    "combiner",
    "controller",
    "power_bank",
    "battery",
    "bank_bus",
    "bus",
    "board",
    "converter",
    "inverter",
    "mains_board",
    "transfer",
    "supply",
    "charger",
    "load",
    "earth",
]
Role = Literal[
    "string",
    "array",
    "controller",
    "battery",
    "main",
    "inverter",
    "charger",
    "board",
    "branch",
    "lead",
    "mains",
    "mains_branch",
    "supply",
    "earth",
]
DeviceKind = Literal["fuse", "residual_breaker", "isolator", "disconnect"]
End = Literal["start", "end"]


@dataclass(frozen=True, slots=True)
class Terminal:
    """One screw, stud or plug of a part."""

    part: str
    name: str
    polarity: Polarity
    number: int


@dataclass(frozen=True, slots=True)
class Part:
    """A thing with terminals.

    Parameters
    ----------
    id : str
        Unique within the circuit, as written in schedule and drawing (``G1``, ``T1``, …).
    name : str
        Plain words or the name on the label.
    detail : str
        Its main figures, in a few words.
    symbol : str
        Finer kind, for the drawing: 'lamp', 'motor', 'socket', … or empty.
    count : int
        Equal units inside, in series (panels of a string, batteries of a bank string).
    """

    id: str
    kind: PartKind
    name: str
    detail: str
    terminals: tuple[Terminal, ...]
    symbol: str = ""
    count: int = 1

    def port(self, prefix: str = "") -> tuple[Terminal, ...]:
        """Terminals whose name starts with ``prefix`` (all of them by default)."""
        return tuple(one for one in self.terminals if one.name.startswith(prefix))


@dataclass(frozen=True, slots=True)
class Duty:
    """What a cable has to bear.

    Parameters
    ----------
    working_a : float
        Greatest current in ordinary work, at which the voltage drop is judged [A].
    design_a : float
        Greatest lasting current, which cable and fuse must carry [A].
    surge_a : float
        Current for a second or so as something starts [A].
    base_v : float
        Voltage the drop is a share of [V].
    highest_v : float
        Highest voltage the insulation, fuses and switches meet [V].
    drop_share : float
        Greatest drop wanted, as a share of ``base_v`` [-].
    formula, inputs, source
        Working of ``design_a``.
    """

    working_a: float
    design_a: float
    base_v: float
    highest_v: float
    drop_share: float
    formula: str
    inputs: tuple[Given, ...]
    source: str
    surge_a: float = 0.0


@dataclass(frozen=True, slots=True)
class Cable:
    """A run of cable: as many conductors as it has pairs of terminals.

    ``start`` is the end nearer to the sun (or, on the load side, nearer to the battery).
    ``duty`` is ``None`` for a protective conductor.
    """

    id: str
    key: str
    role: Role
    name: str
    start: tuple[Terminal, ...]
    end: tuple[Terminal, ...]
    length_m: float
    duty: Duty | None

    @property
    def start_part(self) -> str:
        """Part the cable leaves from."""
        return self.start[0].part

    @property
    def end_part(self) -> str:
        """Part the cable arrives at."""
        return self.end[0].part

    @property
    def is_mains(self) -> bool:
        """Whether it carries mains voltage."""
        return self.role in ("mains", "mains_branch", "supply")


@dataclass(frozen=True, slots=True)
class Device:
    """A fuse, breaker or isolator in a cable, near its start or end.

    ``window_a`` bounds the rating from both sides where a rule does (string fuses).
    """

    id: str
    kind: DeviceKind
    cable: str
    at: End
    poles: tuple[Polarity, ...]
    place: str
    reason: str
    window_a: tuple[float, float] | None = None


@dataclass(frozen=True)
class Circuit:
    """Parts, cables and devices of one system.

    Parameters
    ----------
    unfed : tuple of (str, str)
        Loads that nothing in the system can supply, with the reason.
    """

    parts: tuple[Part, ...]
    cables: tuple[Cable, ...]
    devices: tuple[Device, ...]
    unfed: tuple[tuple[str, str], ...] = ()

    @cached_property
    def by_id(self) -> dict[str, Part]:
        """Parts by their identity."""
        return {part.id: part for part in self.parts}

    def of_kind(self, kind: PartKind) -> tuple[Part, ...]:
        """Parts of one kind, in order."""
        return tuple(part for part in self.parts if part.kind == kind)

    def of_role(self, role: Role) -> tuple[Cable, ...]:
        """Cables of one role, in order."""
        return tuple(cable for cable in self.cables if cable.role == role)

    def direct_pumps(self) -> tuple[Cable, ...]:
        """Cables from panels straight to a pump of their own."""
        return tuple(
            cable for cable in self.of_role("array") if self.by_id[cable.end_part].kind == "load"
        )

    def beyond(self, part: str) -> frozenset[str]:
        """Cables that a part feeds, and all that these feed in turn."""
        found: set[str] = set()
        waiting = [part]
        while waiting:
            for cable in self.leaving(waiting.pop()):
                if cable.id not in found and cable.role != "earth":
                    found.add(cable.id)
                    waiting.append(cable.end_part)
        return frozenset(found)

    def leaving(self, part: str) -> tuple[Cable, ...]:
        """Cables that start at a part."""
        return tuple(cable for cable in self.cables if cable.start_part == part)

    def arriving(self, part: str) -> tuple[Cable, ...]:
        """Cables that end at a part."""
        return tuple(cable for cable in self.cables if cable.end_part == part)

    def devices_in(self, cable: str) -> tuple[Device, ...]:
        """Devices in a cable, start first."""
        mine = [device for device in self.devices if device.cable == cable]
        return tuple(sorted(mine, key=lambda device: device.at == "end"))

    def _steps(self, part: str) -> Iterator[tuple[Cable, str]]:
        for cable in self.cables:
            if cable.role == "earth":
                continue
            if cable.start_part == part:
                yield cable, cable.end_part
            elif cable.end_part == part:
                yield cable, cable.start_part

    @cached_property
    def from_store(self) -> dict[str, tuple[Cable, ...]]:
        """For each part, the cables between it and the nearest battery, battery first.

        The walk is the way a fault current takes. Parts no battery feeds are left out.
        """
        paths: dict[str, tuple[Cable, ...]] = {
            part.id: () for part in self.parts if part.kind == "battery"
        }
        waiting = deque(paths)
        while waiting:
            part = waiting.popleft()
            for cable, neighbour in self._steps(part):
                if neighbour not in paths:
                    paths[neighbour] = (*paths[part], cable)
                    waiting.append(neighbour)
        return paths

    def fed_at(self, cable: Cable) -> End | None:
        """End of a cable at which a battery feeds it; ``None`` where none does."""
        start = self.from_store.get(cable.start_part)
        end = self.from_store.get(cable.end_part)
        if start is None or end is None:
            return None
        return "start" if len(start) < len(end) else "end"

    def faults(self) -> tuple[str, ...]:
        """Say what is wrong with the graph itself; empty for a sound one."""
        names = [part.id for part in self.parts]
        names += [cable.id for cable in self.cables]
        names += [device.id for device in self.devices]
        found = [
            f"{name} is used {times} times" for name, times in Counter(names).items() if times > 1
        ]
        known = {terminal for part in self.parts for terminal in part.terminals}
        for cable in self.cables:
            strange = [one for one in (*cable.start, *cable.end) if one not in known]
            found += [f"{cable.id} ends at an unknown terminal {one.name}" for one in strange]
            if len(cable.start) != len(cable.end):
                found.append(f"{cable.id} has unlike numbers of conductors at its ends")
            found += [
                f"{cable.id} joins {one.polarity} of {one.part} to {two.polarity} of {two.part}"
                for one, two in zip(cable.start, cable.end, strict=False)
                if one.polarity != two.polarity
            ]
        cables = {cable.id for cable in self.cables}
        found += [
            f"{device.id} sits in no cable" for device in self.devices if device.cable not in cables
        ]
        used = {one.part for cable in self.cables for one in (*cable.start, *cable.end)}
        if len(self.parts) > 1:
            found += [
                f"{part.id} is joined to nothing" for part in self.parts if part.id not in used
            ]
        return tuple(found)
