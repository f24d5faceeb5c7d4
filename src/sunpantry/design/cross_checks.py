"""What contradicts itself between the tables of one document: one small rule a function."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Mapping, Sequence

from sunpantry.design.kit import BatteryChoice, PartChoice, voltage_class
from sunpantry.design.loads import SUPPLY_V
from sunpantry.design.nameplates import BatteryNameplate
from sunpantry.design.problems import MISSING, shown, unknown_name
from sunpantry.design.promise import DEFAULT_RUNS_M
from sunpantry.design.rules import Draft, Entry, Found
from sunpantry.errors import Problem
from sunpantry.phrases import phrase


def _something_to_run(draft: Draft) -> Found:
    if not {"loads", "pumps"} & (draft.entries.keys() | draft.unread):
        yield Problem(
            "load",
            MISSING,
            phrase("at least one [[load]] or [[pump]]"),
            phrase("add a [[load]] with name, power, supply and hours_per_day"),
        )


def _names_differ(draft: Draft) -> Found:
    for kind in ("loads", "tanks", "pumps"):
        first: dict[str, Entry] = {}
        for entry in draft.entries.get(kind, ()):
            if "name" in entry.broken:
                continue
            name = entry.item.name.strip().casefold()
            if name in first:
                yield Problem(
                    f"{entry.where}.name",
                    shown(entry.item.name),
                    phrase("a name of its own; {where} has this one", where=first[name].where),
                    phrase("give it another name, or use quantity for several equal ones"),
                )
            first.setdefault(name, entry)


def bank_class(draft: Draft) -> float | None:
    """Voltage class of the bank [V], where the document fixes it; else None."""
    if draft.bank_voltage_v is not None:
        return draft.bank_voltage_v
    battery = _battery(draft)
    if battery is None or battery.label is None:
        return None
    series = _series(battery)
    return None if series is None else _class_of(battery.label, series)


def _class_of(label: BatteryNameplate, series: int) -> float | None:
    """Class of so many in series [V]; a power bank is known by its sockets, not its cells."""
    if label.chemistry == "power_bank":
        return 5.0 if series == 1 else None
    return voltage_class(series * label.nominal_v)


def _battery(draft: Draft) -> BatteryChoice | None:
    entries = draft.entries.get("battery", ())
    if not entries or entries[0].broken & {"label", "part", "series", "parallel", "count"}:
        return None
    item: BatteryChoice = entries[0].item
    return item


def _series(battery: BatteryChoice) -> int | None:
    if battery.series is not None:
        return battery.series
    if battery.count is not None and battery.parallel is not None:
        return battery.count // battery.parallel
    return 1 if battery.count == 1 else None


def _bank_agrees(draft: Draft) -> Found:
    battery, bank_v = _battery(draft), draft.bank_voltage_v
    if bank_v is None or battery is None or battery.label is None:
        return
    block_v, series = battery.label.nominal_v, _series(battery)
    options = [series] if series is not None else range(1, 33)
    if all(_class_of(battery.label, count) != bank_v for count in options):
        got = f"{series} × {block_v:g} V" if series is not None else f"{block_v:g} V each"
        yield Problem(
            "bank_voltage",
            f"{bank_v:g} V",
            phrase("what the battery makes: {got} in series", got=got),
            phrase("change bank_voltage, or the battery's series"),
        )


def _converter_outputs(draft: Draft) -> set[float | None] | None:
    """Classes the converters give [V]; None when one is known by its name alone."""
    outputs: set[float | None] = set()
    for entry in draft.entries.get("converters", ()):
        label = entry.item.label
        if label is None or "label" in entry.broken:
            return None
        outputs.add(voltage_class(label.output_v))
    return None if "converters" in draft.unread else outputs


def _voltage_is_reached(draft: Draft) -> Found:
    bank_v, outputs = bank_class(draft), _converter_outputs(draft)
    if bank_v is None or outputs is None:
        return
    for kind in ("loads", "pumps"):
        for entry in draft.entries.get(kind, ()):
            wanted_v = SUPPLY_V.get(entry.item.supply)
            if "supply" in entry.broken or wanted_v is None or wanted_v <= bank_v:
                continue
            if wanted_v not in outputs:
                yield Problem(
                    f"{entry.where}.supply",
                    shown(entry.item.supply),
                    phrase(
                        "at most the {bank_v:g} V of the bank, or a [[converter]] that gives it",
                        bank_v=bank_v,
                    ),
                    phrase(
                        'set bank_voltage = "{wanted_v:g} V", or add a [[converter]] with output = '
                        '"{wanted_v:g} V"',
                        wanted_v=wanted_v,
                    ),
                )


def _mains_is_reached(draft: Draft) -> Found:
    inverters = draft.entries.get("inverter", ())
    if not inverters or "part" in inverters[0].broken or not inverters[0].item.is_none:
        return
    if any(entry.item.kind == "mains" for entry in draft.entries.get("backup", ())):
        return
    for kind in ("loads", "pumps"):
        for entry in draft.entries.get(kind, ()):
            if "supply" not in entry.broken and entry.item.supply == "mains":
                yield Problem(
                    f"{entry.where}.supply",
                    '"mains"',
                    phrase('a supply there is; inverter.part = "none" leaves no mains voltage'),
                    phrase("take out [inverter] so that one is chosen, or run this load from 12 V"),
                )


def _pumps_have_tanks(draft: Draft) -> Found:
    if "tanks" in draft.unread:
        return
    tanks = [tank.name for tank in draft.items("tanks")]
    for entry in draft.entries.get("pumps", ()):
        into = entry.item.into
        if "into" in entry.broken:
            continue
        if into is None and len(tanks) != 1:
            yield Problem(
                f"{entry.where}.into",
                MISSING,
                phrase("the name of one [[tank]]") if tanks else phrase("a [[tank]] to pump into"),
                phrase("add into = {shown}", shown=shown(tanks[0]))
                if tanks
                else phrase("add a [[tank]] with its volume"),
            )
        elif into is not None and into not in tanks:
            yield unknown_name(
                f"{entry.where}.into",
                into,
                tanks,
                what=phrase("the tanks of this document"),
                otherwise=phrase("add a [[tank]] with this name"),
            )


def _each_tank_has_one_pump(draft: Draft) -> Found:
    tanks = [tank.name for tank in draft.items("tanks")]
    first: dict[str, Entry] = {}
    for entry in draft.entries.get("pumps", ()):
        into = entry.item.into or (tanks[0] if len(tanks) == 1 else None)
        if into is None or "into" in entry.broken:
            continue
        if into in first:
            yield Problem(
                f"{entry.where}.into",
                shown(into),
                phrase("a tank of its own; {where} fills this one", where=first[into].where),
                phrase("give each pump its tank: two half ones for two pumps on one"),
            )
        first.setdefault(into, entry)


def _runs_exist(draft: Draft) -> Found:
    if "loads" in draft.unread:
        return
    known = [*DEFAULT_RUNS_M, *(load.name for load in draft.items("loads"))]
    known += [pump.name for pump in draft.items("pumps")]
    for entry in draft.entries.get("wiring", ()):
        runs = {} if "runs" in entry.broken else entry.item.runs
        for run in runs:
            if run not in known:
                yield unknown_name(
                    f"wiring.runs.{run}",
                    run,
                    known,
                    what=phrase(
                        "the runs ({names}) and the loads", names=", ".join(DEFAULT_RUNS_M)
                    ),
                    otherwise=phrase("take it out"),
                )


def _search_allows_bank(draft: Draft) -> Found:
    for entry in draft.entries.get("search", ()):
        allowed = entry.item.bank_voltages
        if "bank_voltages" in entry.broken or not allowed or draft.bank_voltage_v is None:
            continue
        if draft.bank_voltage_v not in allowed:
            yield Problem(
                "search.bank_voltages",
                shown([f"{volts:g} V" for volts in allowed]),
                phrase(
                    "a list with the bank_voltage that is set, {bank_voltage_v:g} V",
                    bank_voltage_v=draft.bank_voltage_v,
                ),
                phrase("take out one of the two"),
            )


CROSS_RULES: tuple[Callable[[Draft], Found], ...] = (
    _something_to_run,
    _names_differ,
    _bank_agrees,
    _voltage_is_reached,
    _mains_is_reached,
    _pumps_have_tanks,
    _each_tank_has_one_pump,
    _runs_exist,
    _search_allows_bank,
)

_PARTS = ("arrays", "battery", "controller", "inverter", "converters")


def cross_problems(draft: Draft) -> list[Problem]:
    """Contradictions between tables.

    Parameters
    ----------
    draft : Draft
        What could be read of the document.

    Returns
    -------
    list of Problem
        Empty when all is well.
    """
    return [problem for check in CROSS_RULES for problem in check(draft)]


def name_problems(
    draft: Draft,
    *,
    part_names: Mapping[str, Sequence[str]] | None,
    load_names: Sequence[str] | None,
    place_names: Sequence[str] | None,
) -> list[Problem]:
    """Names that are on none of the lists that were given.

    Parameters
    ----------
    draft : Draft
        What could be read of the document.
    part_names : mapping of str to sequence of str, optional
        Names by role: panel, battery, controller, inverter, converter.
    load_names, place_names : sequence of str, optional
        Names of the library of loads and of places.

    Returns
    -------
    list of Problem
        Each with the closest match.
    """
    problems: list[Problem] = []
    if part_names is not None:
        problems.extend(_unknown_parts(draft, part_names))
    if load_names is not None:
        wanted = ((entry, "like", entry.item.like) for entry in draft.entries.get("loads", ()))
        problems.extend(
            _unknown(
                wanted,
                load_names,
                what="the library of loads",
                otherwise="`sunpantry loads` lists them",
            )
        )
    if place_names is not None:
        places = (
            (entry, "place", entry.item.place)
            for entry in draft.entries.get("site", ())
            if entry.item.latitude is None and "latitude" not in entry.broken
        )
        problems.extend(
            _unknown(
                places, place_names, what="the gazetteer", otherwise="give latitude and longitude"
            )
        )
    return problems


def _unknown_parts(draft: Draft, part_names: Mapping[str, Sequence[str]]) -> Found:
    for kind in _PARTS:
        for entry in draft.entries.get(kind, ()):
            choice: PartChoice = entry.item
            names = part_names.get(choice.role, ())
            yield from _unknown(
                [(entry, "part", None if choice.is_none else choice.part)],
                names,
                what=f"the parts list ({choice.role})",
                otherwise="`sunpantry parts` lists them; or give the figures on its label",
            )
    every = [name for names in part_names.values() for name in names]
    for entry in draft.entries.get("money", ()):
        for name in {} if "prices" in entry.broken else entry.item.prices:
            if name not in every:
                yield unknown_name(
                    f"money.prices.{shown(name)}",
                    name,
                    every,
                    what=phrase("the parts list"),
                    otherwise=phrase("`sunpantry parts` lists them"),
                )


def _unknown(
    wanted: Iterable[tuple[Entry, str, str | None]],
    known: Sequence[str],
    *,
    what: str,
    otherwise: str,
) -> Found:
    folded = {one.casefold() for one in known}
    for entry, key, name in wanted:
        if name is None or key in entry.broken or name.strip().casefold() in folded:
            continue
        yield unknown_name(f"{entry.where}.{key}", name, known, what=what, otherwise=otherwise)
