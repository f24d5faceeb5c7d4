"""The ways out: which load hangs on what, and the parts and cables to it."""

from __future__ import annotations

from dataclasses import dataclass, replace

from sunpantry.design.loads import IMPORTANCES
from sunpantry.design.nameplates import ConverterNameplate
from sunpantry.phrases import phrase
from sunpantry.wiring import duty
from sunpantry.wiring.draft import DC_POLES, SHORT_RUN_M, Draft, Port, Way, told_w
from sunpantry.wiring.graph import Duty, Part, Polarity
from sunpantry.wiring.inputs import LoadLine, WiringInputs

# A ready-made lead with a plug, where the document gives no length [m].
LEAD_M = 1.0
_THROUGH: tuple[tuple[str, Polarity], ...] = (
    ("IN+", "+"),
    ("IN−", "−"),
    ("OUT+", "+"),
    ("OUT−", "−"),
)
MAINS_POLES: tuple[tuple[str, Polarity], ...] = (("L", "L"), ("N", "N"), ("PE", "PE"))


@dataclass(frozen=True)
class Outlets:
    """The loads, sorted by what feeds them.

    Parameters
    ----------
    direct : tuple of LoadLine
        Loads at the voltage of the bank.
    converted : tuple of (ConverterNameplate, tuple of LoadLine)
        Each converter with the loads behind it.
    mains : tuple of LoadLine
        Loads behind the inverter.
    on_controller : bool
        The direct-current side hangs on the load terminals of the first controller.
    """

    direct: tuple[LoadLine, ...]
    converted: tuple[tuple[ConverterNameplate, tuple[LoadLine, ...]], ...]
    mains: tuple[LoadLine, ...]
    duties: tuple[Duty, ...]
    on_controller: bool
    unfed: tuple[tuple[str, str], ...]

    @property
    def design_a(self) -> float:
        """All branches on direct current at once [A]."""
        return sum(one.design_a for one in self.duties)


def plan_outlets(inputs: WiringInputs) -> Outlets:
    """Decide what feeds each load.

    Parameters
    ----------
    inputs : WiringInputs
        The system and its loads.

    Returns
    -------
    Outlets
        Loads go to the supply they ask for; those with the same supply fill one converter
        after the other. Branches hang on the controller's load terminals when these bear
        all of them at once, else on the battery.
    """
    system = inputs.system
    unfed: list[tuple[str, str]] = []
    direct: list[LoadLine] = []
    mains: list[LoadLine] = []
    behind: list[list[LoadLine]] = [[] for _ in system.converters]
    # What must run stands first on the board.
    for load in sorted(inputs.loads, key=lambda one: IMPORTANCES.index(one.importance)):
        if load.supply == "mains":
            if system.inverter is None:
                unfed.append(
                    (load.name, phrase("it runs on mains voltage and there is no inverter"))
                )
            else:
                mains.append(load)
        elif duty.supply_class(load) == system.bank_v:
            direct.append(load)
        else:
            place = _converter_for(load, system.converters, behind)
            if place is None:
                unfed.append(
                    (
                        load.name,
                        phrase(
                            "nothing here gives {supply}: add a converter",
                            supply=_supply_words(load.supply),
                        ),
                    )
                )
            else:
                behind[place].append(load)
    converted = tuple(
        (converter, tuple(loads))
        for converter, loads in zip(system.converters, behind, strict=True)
    )
    volts = duty.bank_voltages(system)
    duties = tuple(_direct_duty(load, inputs) for load in direct) + tuple(
        duty.converter_duty(converter, volts) for converter, _ in converted
    )
    limit = system.controller.load_output_a if system.controller else 0.0
    needed = sum(one.design_a for one in duties)
    forced = inputs.loads_fed_from == "load output"
    return Outlets(
        tuple(direct),
        converted,
        tuple(mains),
        duties,
        bool(duties) and limit > 0.0 and (needed <= limit or forced),
        tuple(unfed),
    )


def _converter_for(
    load: LoadLine, converters: tuple[ConverterNameplate, ...], behind: list[list[LoadLine]]
) -> int | None:
    """Converter of the right output with the most power to spare."""
    fitting = [
        (converter.rated_w - sum(one.power_w for one in behind[place]), -place)
        for place, converter in enumerate(converters)
        if duty.supplied_class(converter) == duty.supply_class(load)
    ]
    return -max(fitting)[1] if fitting else None


def _direct_duty(load: LoadLine, inputs: WiringInputs) -> Duty:
    volts = duty.bank_voltages(inputs.system)
    return duty.load_duty(
        load, lowest_v=volts.lowest_v, nominal_v=volts.nominal_v, highest_v=volts.highest_v
    )


def _supply_words(supply: str) -> str:
    return phrase("mains") if supply == "mains" else supply


def _load_part(draft: Draft, load: LoadLine) -> Part:
    symbol: str = "vehicle socket" if load.plug == "vehicle socket" else load.kind
    if load.supply == "mains":
        poles, symbol = MAINS_POLES, "mains socket"
    else:
        poles = DC_POLES
    detail = phrase(
        "{power_w:g} W, {supply}", power_w=told_w(load.power_w), supply=_supply_words(load.supply)
    )
    return draft.part("load", load.name, poles, detail=detail, symbol=symbol)


def _load_length_m(load: LoadLine, inputs: WiringInputs) -> float:
    if load.supply == "5 V" and load.name not in inputs.wiring.runs:
        return LEAD_M
    return inputs.wiring.run_m("loads", load.name)


def load_way(draft: Draft, inputs: WiringInputs, load: LoadLine, needs: Duty) -> Way:
    """Add a load; return the cable that is to feed it."""
    part = _load_part(draft, load)
    role = {"mains": "mains_branch", "5 V": "lead"}.get(load.supply, "branch")
    return Way(
        role,  # type: ignore[arg-type]
        f"load {load.name}",
        load.name,
        part.port(),
        _load_length_m(load, inputs),
        needs,
        outward=True,
    )


def _converter_way(
    draft: Draft,
    inputs: WiringInputs,
    converter: ConverterNameplate,
    loads: tuple[LoadLine, ...],
    *,
    number: int,
    needs: Duty,
) -> Way:
    """Add a converter with the loads behind it."""
    part = draft.part(
        "converter",
        converter.name,
        _THROUGH,
        detail=phrase(
            "gives {output_v:g} V, {rated_w:g} W",
            output_v=converter.output_v,
            rated_w=converter.rated_w,
        ),
        symbol="vehicle socket" if converter.plug == "vehicle_socket" else "",
    )
    out_v = converter.output_v
    for load in loads:
        own = duty.load_duty(load, lowest_v=out_v, nominal_v=out_v, highest_v=out_v)
        way = load_way(draft, inputs, load, own)
        if way.role == "branch" and len(loads) > 1:
            fuse_branch(draft, way, part.port("OUT"), place=phrase("at the converter's output"))
        else:
            draft.join(way, part.port("OUT"))
    return Way(
        "branch",
        f"converter {number}",
        converter.name,
        part.port("IN"),
        inputs.wiring.run_m("converter"),
        needs,
        outward=True,
    )


def branch_ways(draft: Draft, inputs: WiringInputs, outlets: Outlets) -> list[Way]:
    """Add loads and converters; return the cables that are to feed them."""
    count = len(outlets.direct)
    ways = [
        load_way(draft, inputs, load, needs)
        for load, needs in zip(outlets.direct, outlets.duties[:count], strict=True)
    ]
    ways += [
        _converter_way(draft, inputs, converter, loads, number=number, needs=needs)
        for number, ((converter, loads), needs) in enumerate(
            zip(outlets.converted, outlets.duties[count:], strict=True), start=1
        )
    ]
    return ways


def fuse_branch(draft: Draft, way: Way, port: Port, *, place: str) -> None:
    """Join a branch to its source, with a fuse where it leaves it."""
    cable = draft.join(way, port)
    draft.device(
        "fuse",
        cable,
        "start",
        place=place,
        reason=phrase("so that a fault in this branch melts a fuse and not the cable"),
    )


def dc_head(draft: Draft, inputs: WiringInputs, outlets: Outlets) -> Way | None:
    """Add everything on direct current; return the one cable that is to feed it.

    A single branch is fed as it is, several through a fuse board.
    """
    ways = branch_ways(draft, inputs, outlets)
    if len(ways) <= 1:
        return ways[0] if ways else None
    board = draft.part("board", phrase("Fuse board"), _THROUGH)
    for way in ways:
        fuse_branch(draft, way, board.port("OUT"), place=phrase("in the fuse board"))
    return Way(
        "board",
        "board",
        phrase("Supply of the fuse board"),
        board.port("IN"),
        SHORT_RUN_M,
        duty.together(outlets.duties, role="board", what=phrase("branches of the board")),
        outward=True,
    )


def add_direct_outlets(draft: Draft, inputs: WiringInputs, outlets: Outlets) -> None:
    """Feed loads straight from panels or a power bank, which limit the current themselves."""
    sources = [part for part in draft.parts if part.kind == "power_bank"]
    sources = sources or [part for part in draft.parts if part.kind == "controller"]
    if sources:
        port = sources[0].port("OUT") or sources[0].port("LOAD")
    else:
        sources = [part for part in draft.parts if part.kind in ("combiner", "string")]
        if not sources:
            draft.unfed.extend(
                (load.name, phrase("there is no source of power")) for load in inputs.loads
            )
            return
        last = sources[-1]
        port = last.port("OUT") or last.port()
    # A panel without a regulator drives its whole current into a fault in the cable.
    limits = [
        duty.BRIGHT_CLOUD * array.parallel * array.panel.isc_a
        for array in inputs.system.arrays
        if not array.panel.regulated_output_v
    ]
    for way in branch_ways(draft, inputs, outlets):
        needs = replace(way.duty, design_a=max(way.duty.design_a, sum(limits)))
        draft.join(replace(way, duty=needs), port)
    draft.unfed.extend((load.name, phrase("an inverter needs a battery")) for load in outlets.mains)
