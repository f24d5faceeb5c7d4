"""A second source as the kernel sees it: power at the battery, and when it comes in."""

from __future__ import annotations

from dataclasses import dataclass

from sunpantry.design.models import Design
from sunpantry.design.promise import Backup
from sunpantry.simulate import layout as at
from sunpantry.timegrid import FloatArray

# A carried-out battery is emptied into the bank, or carries the loads, over about this long.
CARRIED_HOURS = 10.0
# Size taken for a source whose power is not said [W]: common practice, no source.
DEFAULT_POWER_W = {"generator": 1000.0, "mains": 300.0}
DEFAULT_CARRIED_WH = 500.0


@dataclass(frozen=True)
class SecondSource:
    """Power brought in when the battery is low.

    Parameters
    ----------
    kind : str
        'generator', 'mains' or 'carried_battery'.
    power_w : float
        At the battery's terminals [W].
    start_below, stop_above : float
        State of charge at which it comes in and stops [-].
    carried_wh : float
        Energy of one carried battery, 0 for other kinds [Wh].
    transfer : bool
        A transfer switch: it feeds the AC loads itself, up to ``power_w``, whenever the
        battery is low or they are short for any other reason, and does not charge.
    """

    kind: str
    power_w: float
    start_below: float
    stop_above: float
    carried_wh: float = 0.0
    transfer: bool = False

    def fill_columns(self, row: FloatArray) -> None:
        """Write the second source into a design row."""
        row[at.BACKUP_W] = self.power_w
        row[at.BACKUP_ON] = self.start_below
        row[at.BACKUP_OFF] = self.stop_above
        row[at.TRANSFER] = 1.0 if self.transfer else 0.0


def standing_backup(design: Design) -> Backup | None:
    """Second source that is part of the system; one that only may be is an alternative."""
    return None if design.search.backup else design.backup


def second_source_of(backup: Backup | None) -> SecondSource | None:
    """Second source of a design; ``None`` when there is none."""
    if backup is None:
        return None
    start, stop = backup.start_below_pct / 100.0, backup.stop_above_pct / 100.0
    if backup.kind == "carried_battery":
        carried = backup.carried_wh or DEFAULT_CARRIED_WH
        return SecondSource(backup.kind, carried / CARRIED_HOURS, start, stop, carried)
    if backup.transfer:
        power = backup.power_w or DEFAULT_POWER_W[backup.kind]
        return SecondSource(backup.kind, power, start, stop, transfer=True)
    power = (backup.power_w or DEFAULT_POWER_W[backup.kind]) * backup.charger_efficiency_pct / 100.0
    return SecondSource(backup.kind, power, start, stop)
