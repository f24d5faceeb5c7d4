"""A circuit in the making: hands out identities and joins terminals pole by pole."""

from __future__ import annotations

from collections import Counter
from collections.abc import Sequence
from dataclasses import dataclass, field, replace

from sunpantry.wiring.graph import (
    Cable,
    Circuit,
    Device,
    DeviceKind,
    Duty,
    End,
    Part,
    PartKind,
    Polarity,
    Role,
    Terminal,
)

Port = tuple[Terminal, ...]

DC_POLES: tuple[tuple[str, Polarity], ...] = (("+", "+"), ("−", "−"))
# Between parts that hang side by side, and from panels to their string box, one way [m]:
# common practice, no source. The document names the longer runs only.
SHORT_RUN_M = 1.0

_LETTER: dict[PartKind, str] = {
    "string": "G",
    "battery": "B",
    "controller": "U",
    "power_bank": "B",
    "inverter": "T",
    "converter": "T",
    "charger": "T",
    "combiner": "X",
    "bank_bus": "X",
    "bus": "X",
    "board": "X",
    "mains_board": "X",
    "transfer": "S",
    "supply": "X",
    "load": "E",
    "earth": "PE",
}
_DEVICE_LETTER: dict[DeviceKind, str] = {
    "fuse": "F",
    "residual_breaker": "F",
    "isolator": "Q",
    "disconnect": "Q",
}
# Cables are numbered in the order a person follows the current.
_READING_ORDER: tuple[Role, ...] = (
    "string",
    "array",
    "controller",
    "battery",
    "main",
    "charger",
    "inverter",
    "board",
    "branch",
    "lead",
    "mains",
    "supply",
    "mains_branch",
    "earth",
)


def told_w(power_w: float) -> float:
    """Power to three figures, for people [W]."""
    return float(f"{power_w:.3g}")


@dataclass(frozen=True, slots=True)
class Way:
    """A cable still to be joined to its source at one end.

    Parameters
    ----------
    port : tuple of Terminal
        The end that is known already.
    outward : bool
        Current leaves the source through it (a load), rather than arriving (a charger).
    """

    role: Role
    key: str
    name: str
    port: Port
    length_m: float
    duty: Duty
    outward: bool


@dataclass
class Draft:
    """Parts, cables and devices so far."""

    parts: list[Part] = field(default_factory=list)
    cables: list[Cable] = field(default_factory=list)
    devices: list[Device] = field(default_factory=list)
    unfed: list[tuple[str, str]] = field(default_factory=list)
    _numbers: Counter[str] = field(default_factory=Counter)

    def _next(self, letter: str) -> str:
        self._numbers[letter] += 1
        return f"{letter}{self._numbers[letter]}"

    def part(
        self,
        kind: PartKind,
        name: str,
        poles: Sequence[tuple[str, Polarity]],
        *,
        detail: str = "",
        symbol: str = "",
        count: int = 1,
    ) -> Part:
        """Add a part; ``poles`` are the names and polarities of its terminals, in order."""
        identity = self._next(_LETTER[kind])
        terminals = tuple(
            Terminal(identity, pole, polarity, number)
            for number, (pole, polarity) in enumerate(poles, start=1)
        )
        made = Part(identity, kind, name, detail, terminals, symbol, count)
        self.parts.append(made)
        return made

    def cable(
        self,
        role: Role,
        key: str,
        name: str,
        start: Port,
        end: Port,
        *,
        length_m: float,
        duty: Duty | None,
    ) -> Cable:
        """Join two ports."""
        made = Cable(self._next("W"), key, role, name, start, end, length_m, duty)
        self.cables.append(made)
        return made

    def device(
        self,
        kind: DeviceKind,
        cable: Cable,
        at: End,
        *,
        place: str,
        reason: str,
        poles: tuple[Polarity, ...] = ("+",),
        window_a: tuple[float, float] | None = None,
    ) -> Device:
        """Put a fuse, breaker or isolator into a cable."""
        identity = self._next(_DEVICE_LETTER[kind])
        made = Device(identity, kind, cable.id, at, poles, place, reason, window_a)
        self.devices.append(made)
        return made

    def join(self, way: Way, source: Port) -> Cable:
        """Draw the cable of a way to its source."""
        start, end = (source, way.port) if way.outward else (way.port, source)
        return self.cable(
            way.role, way.key, way.name, start, end, length_m=way.length_m, duty=way.duty
        )

    def circuit(self) -> Circuit:
        """Freeze it, with cables and devices numbered in reading order."""
        ordered = sorted(self.cables, key=lambda cable: _READING_ORDER.index(cable.role))
        renamed = {cable.id: f"W{number}" for number, cable in enumerate(ordered, start=1)}
        cables = tuple(replace(cable, id=renamed[cable.id]) for cable in ordered)
        place = {cable.id: index for index, cable in enumerate(ordered)}
        devices, numbers = [], Counter[str]()
        for device in sorted(
            self.devices, key=lambda one: (place[one.cable], one.at == "end", one.kind != "fuse")
        ):
            letter = _DEVICE_LETTER[device.kind]
            numbers[letter] += 1
            devices.append(
                replace(device, id=f"{letter}{numbers[letter]}", cable=renamed[device.cable])
            )
        return Circuit(tuple(self.parts), cables, tuple(devices), tuple(self.unfed))
