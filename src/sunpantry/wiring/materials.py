"""What to buy for the wiring: cable by the metre and colour, fuses, holders, lugs, bars."""

from __future__ import annotations

import math
from collections import defaultdict
from collections.abc import Sequence
from dataclasses import dataclass

from sunpantry.phrases import joined, phrase
from sunpantry.wiring.cables import Run, price_per_m
from sunpantry.wiring.graph import Circuit, Polarity
from sunpantry.wiring.inputs import WiringInputs
from sunpantry.wiring.protect import Protection

ALLOWANCE = 1.10  # ends, bends and a mistake (common practice, no source)
# Colours sold for small direct-current systems, and IEC 60445 for the mains.
COLOURS: dict[Polarity, str] = {
    "+": phrase("red"),
    "−": phrase("black"),
    "L": phrase("brown"),
    "N": phrase("blue"),
    "PE": phrase("green-yellow"),
}
# NEC 200.6, 250.119 and the usual colour of a line, from memory: where the mains are 120 V.
COLOURS_120_V: dict[Polarity, str] = {
    **COLOURS,
    "L": phrase("black, for mains"),
    "N": phrase("white"),
    "PE": phrase("green"),
}
LOW_MAINS_V = 150.0
_SORT: dict[str, str] = {
    "solar": phrase("solar cable"),
    "cord": phrase("flexible lead"),
    "pvc": phrase("flexible PVC cable"),
    "xlpe": phrase("flexible XLPE cable"),
}
# Typical shop prices, common practice, no source [EUR each].
_PRICES = {
    "blade": 0.6,
    "maxi": 2.5,
    "midi": 3.5,
    "mega": 6.0,
    "gG": 5.0,
    "gPV": 5.0,
    "breaker": 35.0,
    "isolator": 25.0,
    "disconnect": 35.0,
    "blade holder": 3.0,
    "maxi holder": 6.0,
    "midi holder": 9.0,
    "mega holder": 14.0,
    "gG holder": 14.0,
    "gPV holder": 8.0,
    "lug": 0.6,
    "sleeve": 0.1,
    "connector pair": 4.0,
    "bars": 25.0,
    "board": 25.0,
    "string box": 30.0,
    "mains box": 20.0,
    "transfer switch": 120.0,
    "electrode": 25.0,
}
_LUG_FROM_MM2 = 6.0
_LUG_ROLES = ("battery", "main", "inverter", "charger", "controller")


@dataclass(frozen=True, slots=True)
class Material:
    """One line of the shopping list.

    Parameters
    ----------
    quantity : float
        In ``unit``: metres or pieces.
    price : float
        Typical price of the whole line [EUR], common practice, no source.
    used_in : tuple of str
        Identities of cables or devices it is for.
    """

    item: str
    quantity: float
    unit: str
    price: float
    used_in: tuple[str, ...]


def materials_for(
    circuit: Circuit,
    inputs: WiringInputs,
    runs: Sequence[Run],
    protections: Sequence[Protection],
) -> tuple[Material, ...]:
    """Make the list.

    Parameters
    ----------
    circuit, inputs, runs, protections
        A sized circuit.

    Returns
    -------
    tuple of Material
        Cable first, then fuses with holders, switches, ends, bars.
    """
    return (
        *_cables(inputs, runs),
        *_devices(circuit, protections),
        *_ends(runs),
        *_bars(circuit),
    )


def colours(inputs: WiringInputs) -> dict[Polarity, str]:
    """Colours of conductors where the system stands."""
    return COLOURS_120_V if inputs.mains_v < LOW_MAINS_V else COLOURS


def _cables(inputs: WiringInputs, runs: Sequence[Run]) -> list[Material]:
    metres: dict[tuple[str, float, str, str], float] = defaultdict(float)
    used: dict[tuple[str, float, str, str], list[str]] = defaultdict(list)
    for run in runs:
        size = run.size_mm2
        for terminal in run.cable.start:
            colour = colours(inputs)[terminal.polarity]
            if run.insulation == "cord":
                colour = phrase("two-core, as plugs come")
            one = run.size_label
            key = (_SORT[run.insulation], size, one, colour)
            metres[key] += (
                run.conductors * run.cable.length_m / (2.0 if run.insulation == "cord" else 1.0)
            )
            if run.cable.id not in used[key]:
                used[key].append(run.cable.id)
    bank = inputs.system.bank
    links = [run for run in runs if run.cable.role in ("battery", "main", "controller")]
    if bank is not None and bank.series > 1 and links:
        run = next((one for one in links if one.cable.role == "battery"), links[0])
        key = (_SORT[run.insulation], run.size_mm2, run.size_label, COLOURS["−"])
        metres[key] += 0.3 * (bank.series - 1) * bank.parallel * run.conductors
        used[key].append(phrase("between batteries"))
    lines = []
    for key in sorted(metres, key=lambda one: (one[0], one[1], one[3])):
        sort, size, label, colour = key
        length = math.ceil(ALLOWANCE * metres[key] * 2.0 - 1e-9) / 2.0
        cores = 2.0 if colour.startswith("two-core") else 1.0
        price = length * cores * price_per_m(size)
        lines.append(
            Material(
                phrase("{sort} {size}, {colour}", sort=sort, size=label, colour=colour),
                length,
                "m",
                price,
                tuple(used[key]),
            )
        )
    return lines


def _devices(circuit: Circuit, protections: Sequence[Protection]) -> list[Material]:
    grouped: dict[tuple[str, str], list[Protection]] = defaultdict(list)
    for one in protections:
        item: str = joined((one.name, one.label), " ")
        if one.kind != "breaker":
            item = joined((item, phrase("rated {rated_v:g} V DC", rated_v=one.rated_v)))
        grouped[one.kind, item].append(one)
    lines, holders = [], defaultdict(list)
    boards = {part.id for part in circuit.of_kind("board")}
    by_cable = {cable.id: cable for cable in circuit.cables}
    for (kind, item), members in grouped.items():
        poles = sum(len(one.device.poles) for one in members if one.kind not in ("breaker",))
        count = len(members) if not members[0].is_fuse or kind == "breaker" else poles
        names = tuple(one.device.id for one in members)
        lines.append(Material(item, count, "pieces", count * _PRICES[kind], names))
        if members[0].is_fuse and kind != "breaker":
            spare = max(1, count // 3)
            lines.append(
                Material(
                    phrase("spare: {item}", item=item),
                    spare,
                    "pieces",
                    spare * _PRICES[kind],
                    names,
                )
            )
            for one in members:
                if by_cable[one.device.cable].start_part not in boards:
                    holders[kind].append(one.device.id)
    for kind, ids in holders.items():
        item = phrase("holder for {fuse}", fuse=_holder_words(kind))
        lines.append(
            Material(item, len(ids), "pieces", len(ids) * _PRICES[f"{kind} holder"], tuple(ids))
        )
    return lines


def _holder_words(kind: str) -> str:
    return {
        "blade": phrase("a blade fuse"),
        "maxi": phrase("a large blade fuse"),
        "midi": phrase("a small bolted fuse"),
        "mega": phrase("a large bolted fuse"),
        "gG": phrase("a cartridge fuse"),
        "gPV": phrase("a string fuse"),
    }[kind]


def _ends(runs: Sequence[Run]) -> list[Material]:
    lugs: dict[str, list[Run]] = defaultdict(list)
    sleeves: dict[str, list[Run]] = defaultdict(list)
    plugs: list[Run] = []
    for run in runs:
        label = run.size_label
        if run.cable.role in ("string", "array") and run.insulation == "solar":
            plugs += [run] if run.cable.start[0].part.startswith("G") else []
        if run.cable.role in _LUG_ROLES and run.size_mm2 >= _LUG_FROM_MM2:
            lugs[label].append(run)
        elif run.insulation != "cord":
            sleeves[label].append(run)
    lines = []
    for words, group, price in (
        (phrase("crimp lugs"), lugs, "lug"),
        (phrase("end sleeves"), sleeves, "sleeve"),
    ):
        for label, members in group.items():
            count = sum(2 * len(run.cable.start) * run.conductors for run in members)
            ids = tuple(run.cable.id for run in members)
            lines.append(
                Material(joined((words, label), " "), count, "pieces", count * _PRICES[price], ids)
            )
    if plugs:
        ids = tuple(run.cable.id for run in plugs)
        lines.append(
            Material(
                phrase("solar connectors, pairs of one make"),
                2 * len(plugs),
                "pieces",
                2 * len(plugs) * _PRICES["connector pair"],
                ids,
            )
        )
    return lines


def _bars(circuit: Circuit) -> list[Material]:
    lines = []
    for kind, item, price in (
        ("bus", phrase("pair of busbars with cover"), "bars"),
        ("bank_bus", phrase("pair of busbars with cover, for the batteries"), "bars"),
        ("board", phrase("fuse board for blade fuses"), "board"),
        ("combiner", phrase("string box with cable glands"), "string box"),
        ("mains_board", phrase("mains box with sockets"), "mains box"),
        (
            "transfer",
            phrase("transfer switch, all poles, put in by a licensed electrician"),
            "transfer switch",
        ),
        ("earth", phrase("earth electrode with clamp"), "electrode"),
    ):
        for part in circuit.parts:
            if part.kind == kind:
                ways = len(circuit.leaving(part.id))
                words = (
                    phrase("{item}, {ways} ways", item=item, ways=ways) if kind == "board" else item
                )
                lines.append(Material(words, 1, "pieces", _PRICES[price], (part.id,)))
    return lines
