"""What the referee writes down."""

from __future__ import annotations

from dataclasses import dataclass, field


@dataclass
class Account:
    """Where the energy went, whole run [Wh]."""

    offered: float = 0.0
    gathered: float = 0.0
    conversion: float = 0.0
    own: float = 0.0
    served: float = 0.0
    inverter: float = 0.0
    ohmic: float = 0.0
    side: float = 0.0
    gas: float = 0.0
    leak: float = 0.0
    backup: float = 0.0
    asked: float = 0.0


@dataclass
class Told:
    """What came out, step by step; ``ties`` are decisions that hung by a hair."""

    filled: list[float] = field(default_factory=list)
    volts: list[float] = field(default_factory=list)
    unserved_w: list[float] = field(default_factory=list)
    gathered_w: list[float] = field(default_factory=list)
    account: Account = field(default_factory=Account)
    disconnects: int = 0
    trips: int = 0
    start_trips: int = 0
    refused: int = 0
    backup_h: float = 0.0
    missed_wh: list[float] = field(default_factory=list)
    ties: list[tuple[int, str]] = field(default_factory=list)
