"""Keep the present parts while a design changes around them."""

from __future__ import annotations

from dataclasses import replace
from typing import TYPE_CHECKING, Any

from sunpantry.design.kit import voltage_class
from sunpantry.parts.resolve import ArrayKit, BankKit, Kit
from sunpantry.parts.system import Array, Bank, System
from sunpantry.phrases import phrase

if TYPE_CHECKING:
    from sunpantry.demand.series import Demand
    from sunpantry.design.nameplates import BatteryNameplate
    from sunpantry.web.tasks import Found

MAINS = "mains"
FIVE_V = 5.0


def of_now(found: Found, text: str) -> Found:
    """Take from a choice of parts what is true only of the document that it was made for.

    Parameters
    ----------
    found : Found
        Chosen before.
    text : str
        The document now (TOML).

    Returns
    -------
    Found
        The same parts; how many were looked at, and what more or less money would buy, is
        known only where the document asks for the same as then.
    """
    from sunpantry.web.documents import choice_key

    if found.key == choice_key(text):
        return found
    words = phrase(
        "These parts were chosen before the last changes and are proven anew; whether others "
        "would be better now shows once parts are chosen again."
    )
    search = replace(found.search, spoke_for=1, simulated=1, words=words)
    return replace(found, search=search, frontier=(), alternatives=())


def kept_system(kit: Kit, system: System, demand: Demand) -> System | None:
    """Put what a design now fixes into the parts that were chosen before.

    Parameters
    ----------
    kit : Kit
        What the design fixes.
    system : System
        Chosen before.
    demand : Demand
        What must be fed.

    Returns
    -------
    System or None
        ``None`` where the two do not go together and parts must be chosen anew.
    """
    if kit.bank_v is not None and kit.bank_v != system.bank_v:
        return None
    arrays = _arrays(kit.arrays, system)
    if arrays is None or kit.bank.absent != (system.bank is None):
        return None
    bank = None if system.bank is None else _bank(kit.bank, system.bank, system.bank_v)
    if system.bank is not None and bank is None:
        return None
    changed = _rest(kit, replace(system, arrays=arrays, bank=bank))
    return changed if changed is not None and _feeds(changed, demand) else None


def _arrays(kits: tuple[ArrayKit, ...], system: System) -> tuple[Array, ...] | None:
    if not kits:
        return system.arrays
    if len(kits) != len(system.arrays):
        return None
    made = [_array(kit, array) for kit, array in zip(kits, system.arrays, strict=True)]
    whole = tuple(one for one in made if one is not None)
    return whole if len(whole) == len(kits) else None


def _array(kit: ArrayKit, array: Array) -> Array | None:
    wired = _wired((kit.count, kit.series, kit.parallel), (array.series, array.parallel))
    if wired is None:
        return None
    count = wired[0] * wired[1]
    return Array(
        panel=kit.panel or array.panel,
        series=wired[0],
        parallel=wired[1],
        tilt_deg=kit.tilt_deg or array.tilt_deg,
        azimuth_deg=array.azimuth_deg if kit.azimuth_deg is None else kit.azimuth_deg,
        owned=count if kit.owned is None else min(kit.owned, count),
        shaded_groups=kit.shaded_groups,
    )


def _wired(
    wanted: tuple[int | None, int | None, int | None], before: tuple[int, int]
) -> tuple[int, int] | None:
    """Series and parallel from what is fixed, else as they were."""
    count, series, parallel = wanted
    if count is None:
        return series or before[0], parallel or before[1]
    series = series or (count // parallel if parallel else before[0])
    return (series, count // series) if series and count % series == 0 else None


def _bank(kit: BankKit, bank: Bank, bank_v: float) -> Bank | None:
    battery = kit.battery or bank.battery
    series = bank.series
    if battery.nominal_v != bank.battery.nominal_v:
        one = _class_of(battery, 1)
        if one is None or bank_v % one:
            return None
        series = round(bank_v / one)
    wired = _wired((kit.count, kit.series, kit.parallel), (series, bank.parallel))
    if wired is None or _class_of(battery, wired[0]) != bank_v:
        return None
    count = wired[0] * wired[1]
    owned = count if kit.owned is None else min(kit.owned, count)
    return Bank(battery, wired[0], wired[1], kit.housing, owned)


def _class_of(battery: BatteryNameplate, series: int) -> float | None:
    """Class of a bank; a power bank is a 5 V thing whatever its cells are."""
    if battery.chemistry == "power_bank":
        return FIVE_V
    return voltage_class(series * battery.nominal_v)


def _rest(kit: Kit, system: System) -> System | None:
    control, invert = kit.controller, kit.inverter
    if control.absent and system.controller is not None:
        return None
    if control.controller is not None and system.controller is None:
        return None
    if invert.absent and system.inverter is not None:
        return None
    fixed = tuple(one.converter for one in kit.converters for _ in range(one.count))
    if kit.no_converters and system.converters:
        return None
    others = tuple(
        one for one in system.converters if all(one.output_v != mine.output_v for mine in fixed)
    )
    return replace(
        system,
        controller=control.controller or system.controller,
        controller_count=control.count or system.controller_count,
        controller_owned=control.owned,
        inverter=invert.inverter or system.inverter,
        inverter_owned=invert.owned,
        converters=(*fixed, *others),
    )


def _feeds(system: System, demand: Demand) -> bool:
    """Whether every supply that is asked for is there."""
    given: set[Any] = {system.bank_v, *(one.output_v for one in system.converters)}
    if system.bank is not None and system.bank.battery.usb_output_a > 0.0:
        given.add(FIVE_V)
    if system.inverter is not None:
        given.add(MAINS)
    asked = {MAINS if one.supply == MAINS else float(one.supply.split()[0]) for one in demand.loads}
    return asked <= given


def pinned_document(document: dict[str, Any], system: System) -> dict[str, Any]:
    """Write every part of a system down in a document that left some open.

    Parameters
    ----------
    document : dict
        As :func:`sunpantry.design.design_document` takes a design apart.
    system : System
        What was chosen.

    Returns
    -------
    dict
        The document with the parts by name; what it said of them stays.
    """
    pinned = dict(document)
    said = list(document.get("array") or [{}] * len(system.arrays))
    if len(said) == len(system.arrays):
        pinned["array"] = [
            {**_part(row, array.panel.name), **_wiring(array), **_faced(row, array)}
            for row, array in zip(said, system.arrays, strict=True)
        ]
    pinned["bank_voltage"] = f"{system.bank_v:g} V"
    if system.bank is not None:
        row = document.get("battery") or {}
        pinned["battery"] = {**_part(row, system.bank.battery.name), **_wiring(system.bank)}
    if system.controller is not None:
        row = document.get("controller") or {}
        pinned["controller"] = {
            **_part(row, system.controller.name),
            "count": system.controller_count,
        }
    if system.inverter is not None:
        pinned["inverter"] = _part(document.get("inverter") or {}, system.inverter.name)
    if not document.get("converter") and system.converters:
        pinned["converter"] = [{"part": one.name} for one in system.converters]
    return pinned


def _part(row: dict[str, Any], name: str) -> dict[str, Any]:
    """A row that has its own label keeps it."""
    own = {"part", "count", "series", "parallel"}
    labelled = "power" in row or "capacity" in row or "rated" in row or "chemistry" in row
    rest = {key: value for key, value in row.items() if key not in own}
    return rest if labelled else {**rest, "part": name}


def _wiring(part: Array | Bank) -> dict[str, Any]:
    return {"series": part.series, "parallel": part.parallel}


def _faced(row: dict[str, Any], array: Array) -> dict[str, Any]:
    if "tilt_winter" in row:
        return {"azimuth": round(array.azimuth_deg, 1)}
    warm, cold = min(array.tilt_deg), max(array.tilt_deg)
    tilt: dict[str, Any] = {"tilt": round(cold, 1)}
    if warm != cold:
        tilt = {"tilt_winter": round(cold, 1), "tilt_summer": round(warm, 1)}
    return {**tilt, "azimuth": round(array.azimuth_deg, 1)}
