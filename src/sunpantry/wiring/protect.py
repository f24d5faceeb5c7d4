"""Fuses, breakers and isolators: kind, rating and whether they suit their cable.

The battery side is worked outwards from the battery, because the current a short
circuit could draw at a place depends on the cables before it. Where a fuse needs more
than the cable bears, the cable grows.

References
----------
IEC 60364-4-43 (coordination), IEC 62548 (strings), ISO 8820 (vehicle fuses), IEC
60269 (gG, gPV), IEC 61009-1 (breaker with residual-current release); from memory.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from typing import cast

from sunpantry.figures import Figure
from sunpantry.phrases import phrase
from sunpantry.physics import protection as physics
from sunpantry.wiring.cables import Run, size_run
from sunpantry.wiring.fault import is_limited, prospective_a
from sunpantry.wiring.graph import Cable, Circuit, Device, Duty
from sunpantry.wiring.inputs import WiringInputs
from sunpantry.wiring.rating_figures import fuse_figure, switch_figure

# Multiple of its rating a fuse bears for a second as something starts: shortest times of
# ISO 8820-3 and 8820-5, of IEC 60269 for gG, and the instant release of a breaker of
# curve C; from memory.
SURGE_BORNE: dict[physics.Device, float] = {
    "blade": 1.35,
    "maxi": 2.0,
    "midi": 2.0,
    "mega": 2.0,
    "gG": 2.5,
    "gPV": 1.5,
    "tube": 1.35,
    "breaker": 5.0,
}
_DC_KINDS: tuple[physics.Device, ...] = ("blade", "maxi", "midi", "mega", "gG")
VEHICLE_SOCKET_A = 10.0
MAINS_BREAKING_A = 6000.0
RESIDUAL_MA = 30.0
# A current-limiting fuse up to this rating lets through so little that a smaller fuse
# behind it need not break the fault alone (IEC 60364-4-43 §434.5.1; limit from memory).
BACKS_UP_A = 63.0
# Thinner fuses blow as a small device fills its capacitors, and few shops keep them:
# common practice, no source.
LEAST_FUSE_A = 3.0
# A fuse is not taken from a series whose smallest is this much above what is needed.
OVERSIZE = 1.7
_SWITCH_A = (
    16.0,
    20.0,
    25.0,
    32.0,
    40.0,
    63.0,
    80.0,
    100.0,
    125.0,
    160.0,
    200.0,
    250.0,
    315.0,
    400.0,
    630.0,
)
_SWITCH_V = (32.0, 60.0, 125.0, 250.0, 500.0, 750.0, 1000.0, 1500.0)
KIND_NAMES: dict[str, str] = {
    "blade": phrase("blade fuse"),
    "maxi": phrase("large blade fuse"),
    "midi": phrase("bolted fuse, small size"),
    "mega": phrase("bolted fuse, large size"),
    "gG": phrase("cartridge fuse gG with a DC rating"),
    "gPV": phrase("string fuse gPV"),
    "breaker": phrase("breaker with residual-current release"),
    "isolator": phrase("DC isolator"),
    "disconnect": phrase("low-voltage disconnect"),
}


@dataclass(frozen=True)
class Protection:
    """A device with its rating.

    Parameters
    ----------
    kind : str
        Kind of fuse or breaker, 'isolator' or 'disconnect'.
    rating_a : float
        Rated current [A].
    voltage_v : float
        Voltage it must be rated for, at least: that of its circuit's highest [V].
    rated_v : float
        Voltage usual for the kind [V].
    breaking_a : float or None
        What it can interrupt [A]; ``None`` for a switch.
    prospective_a : float or None
        What a short circuit at its place could draw [A]; ``None`` where nothing but
        panels or an inverter feeds it.
    backed_up_by : str
        The fuse before it that breaks what it cannot; empty where it needs none.
    coordinated : bool
        Ib ≤ In ≤ Iz, I2 ≤ 1.45 Iz, voltage, breaking capacity and surge all hold.
    """

    device: Device
    kind: str
    rating_a: float
    voltage_v: float
    rated_v: float
    breaking_a: float | None
    prospective_a: float | None
    coordinated: bool
    figures: tuple[Figure, ...]
    backed_up_by: str = ""

    @property
    def name(self) -> str:
        """Kind in words."""
        return KIND_NAMES[self.kind]

    @property
    def label(self) -> str:
        """Rating as printed beside the symbol."""
        if self.kind == "breaker":
            return phrase(
                "{rating_a:g} A, {residual_ma:g} mA",
                rating_a=self.rating_a,
                residual_ma=RESIDUAL_MA,
            )
        return phrase("{rating_a:g} A", rating_a=self.rating_a)

    @property
    def family(self) -> physics.Device:
        """Series of fuses or breakers it belongs to."""
        if not self.is_fuse:
            raise ValueError(f"{self.device.id} is a switch")
        return cast(physics.Device, self.kind)

    @property
    def is_fuse(self) -> bool:
        """Whether it melts or trips by itself on overload."""
        return self.kind not in ("isolator", "disconnect")


@dataclass(frozen=True, slots=True)
class _Wanted:
    """A fuse found for a cable before the cable has its size."""

    kind: physics.Device
    rating_a: float
    sound: bool
    backed_up_by: str = ""


def size_all(
    circuit: Circuit, inputs: WiringInputs
) -> tuple[tuple[Run, ...], tuple[Protection, ...]]:
    """Size every cable and rate every device.

    Parameters
    ----------
    circuit : Circuit
        From :func:`sunpantry.wiring.build.build_circuit`.

    Returns
    -------
    runs : tuple of Run
        In the order of ``circuit.cables``.
    protections : tuple of Protection
        In the order of ``circuit.devices``.
    """
    runs: dict[str, Run] = {}
    chosen: dict[str, Protection] = {}
    switched = _behind_switch(circuit)
    for cable in sorted(circuit.cables, key=lambda one: _distance(circuit, one)):
        fault_a = prospective_a(circuit, inputs, cable, runs)
        before = fuse_before(circuit, cable, chosen)
        devices = circuit.devices_in(cable.id)
        fuse = next((one for one in devices if one.kind in ("fuse", "residual_breaker")), None)
        wanted = None
        needed_a = cable.duty.design_a if cable.duty else 0.0
        if fuse is not None:
            wanted = _wanted(cable, fuse, fault_a, before)
            needed_a = max(needed_a, physics.capacity_needed_a(wanted.kind, wanted.rating_a))
        elif before is not None:
            needed_a = max(needed_a, physics.capacity_needed_a(before.family, before.rating_a))
        if cable.id in switched:  # either source may feed a fault here
            needed_a = max(needed_a, *_supply_asks_a(circuit, chosen))
        run = size_run(cable, inputs, capacity_needed_a=needed_a)
        runs[cable.id] = run
        for device in devices:
            chosen[device.id] = (
                _rated(device, run, wanted, fault_a)
                if wanted is not None and device is fuse
                else _switch(device, run, wanted.rating_a if wanted else _rating_of(before))
            )
    return (
        tuple(runs[cable.id] for cable in circuit.cables),
        tuple(chosen[device.id] for device in circuit.devices),
    )


def _behind_switch(circuit: Circuit) -> frozenset[str]:
    """Cables behind a transfer switch, which two sources feed in turn."""
    switches = circuit.of_kind("transfer")
    return circuit.beyond(switches[0].id) if switches else frozenset()


def _supply_asks_a(circuit: Circuit, chosen: Mapping[str, Protection]) -> tuple[float, ...]:
    """What the breaker of the other source asks of the cables behind the switch [A]."""
    own = {cable.id for cable in circuit.of_role("supply")}
    return tuple(
        physics.capacity_needed_a(one.family, one.rating_a)
        for one in chosen.values()
        if one.device.cable in own and one.is_fuse
    )


def _distance(circuit: Circuit, cable: Cable) -> tuple[int, bool, int]:
    """Steps from the battery at the end that is nearer to it; another source; reading order."""
    far = len(circuit.cables) + 1
    paths = circuit.from_store
    steps = [len(paths[part]) for part in (cable.start_part, cable.end_part) if part in paths]
    return min(steps, default=far), cable.role != "supply", circuit.cables.index(cable)


def fuse_before(
    circuit: Circuit, cable: Cable, chosen: Mapping[str, Protection]
) -> Protection | None:
    """Fuse that a fault in a cable meets first on its way from the battery, but its own.

    Parameters
    ----------
    circuit : Circuit
        The circuit.
    cable : Cable
        The cable.
    chosen : mapping
        Devices rated so far, by identity.

    Returns
    -------
    Protection or None
        ``None`` where no battery feeds it, or something before it limits the current.
    """
    end = circuit.fed_at(cable)
    if end is None or is_limited(circuit, cable):
        return None
    source = cable.start_part if end == "start" else cable.end_part
    for before in reversed(circuit.from_store[source]):
        for device in circuit.devices_in(before.id):
            found = chosen.get(device.id)
            if found is not None and found.is_fuse:
                return found
    return None


def _wanted(
    cable: Cable, device: Device, fault_a: float | None, before: Protection | None
) -> _Wanted:
    """Kind and least rating that bears the load and the surge and breaks the fault."""
    duty = cable.duty
    if duty is None:
        raise ValueError(f"{cable.id} has a fuse and no duty")
    if device.window_a is not None:
        least, most = device.window_a
        rating = physics.next_rating_a("gPV", least)
        if rating is not None and rating <= most:
            return _Wanted("gPV", rating, sound=True)
        return _Wanted("gPV", rating or max(physics.RATINGS_A["gPV"]), sound=False)
    if device.kind == "residual_breaker":
        least = max(duty.design_a, duty.surge_a / SURGE_BORNE["breaker"])
        rating = physics.next_rating_a("breaker", least)
        return _Wanted("breaker", rating or max(physics.RATINGS_A["breaker"]), rating is not None)
    found = _fitting(duty, fault_a, before)
    near = [one for one, least in found if one.rating_a <= OVERSIZE * least]
    if near:
        return near[0]
    if found:
        return min((one for one, _ in found), key=lambda one: one.rating_a)
    strongest: physics.Device = "gG"
    return _Wanted(strongest, float(max(physics.RATINGS_A[strongest])), sound=False)


def _fitting(
    duty: Duty, fault_a: float | None, before: Protection | None
) -> list[tuple[_Wanted, float]]:
    """Fuses that bear load and surge and break the fault, each with the least it may be."""
    backed = before is not None and before.kind == "gG" and before.rating_a <= BACKS_UP_A
    found = []
    for kind in _DC_KINDS:
        weak = physics.BREAKING_CAPACITY_A[kind] < (fault_a or 0.0)
        if weak and not (backed and kind == "blade"):
            continue
        if physics.DC_VOLTAGE_V[kind] < duty.highest_v:
            continue
        least = max(
            physics.CONTINUOUS_MARGIN * duty.design_a,
            duty.surge_a / SURGE_BORNE[kind],
            LEAST_FUSE_A,
        )
        rating = physics.next_rating_a(kind, least)
        if rating is not None:
            help_from = before.device.id if weak and before is not None else ""
            found.append((_Wanted(kind, rating, sound=True, backed_up_by=help_from), least))
    return found


def _rated(device: Device, run: Run, wanted: _Wanted, fault_a: float | None) -> Protection:
    duty = run.cable.duty
    if duty is None:
        raise ValueError(f"{run.cable.id} has a fuse and no duty")
    kind, rating = wanted.kind, wanted.rating_a
    mains = device.kind == "residual_breaker"
    sound = (
        wanted.sound
        and run.capacity_a >= run.capacity_needed_a
        and physics.is_coordinated(
            kind,
            rating_a=rating,
            design_current_a=duty.design_a,
            capacity_a=run.capacity_a,
        )
    )
    return Protection(
        device=device,
        kind=kind,
        rating_a=rating,
        voltage_v=duty.highest_v,
        rated_v=duty.highest_v if mains else physics.DC_VOLTAGE_V[kind],
        breaking_a=MAINS_BREAKING_A if mains else physics.BREAKING_CAPACITY_A[kind],
        prospective_a=fault_a,
        coordinated=sound,
        figures=(
            fuse_figure(
                device,
                run,
                kind=kind,
                rating_a=rating,
                fault_a=fault_a,
                surge_borne=SURGE_BORNE[kind],
            ),
        ),
        backed_up_by=wanted.backed_up_by,
    )


def _rating_of(before: Protection | None) -> float:
    return 0.0 if before is None else before.rating_a


def _switch(device: Device, run: Run, fuse_a: float) -> Protection:
    """An isolator or disconnect: rated for the lasting current, its fuse, and the highest voltage.

    A switch that bears less than the fuse before it lets pass is the first to burn.
    """
    duty = run.cable.duty
    if duty is None:
        raise ValueError(f"{run.cable.id} has a switch and no duty")
    needed_a = max(duty.design_a, fuse_a)
    rating = next((amps for amps in _SWITCH_A if amps >= needed_a), None)
    volts = next((volts for volts in _SWITCH_V if volts >= duty.highest_v), None)
    return Protection(
        device=device,
        kind=device.kind,
        rating_a=rating or _SWITCH_A[-1],
        voltage_v=duty.highest_v,
        rated_v=volts or _SWITCH_V[-1],
        breaking_a=None,
        prospective_a=None,
        coordinated=rating is not None and volts is not None,
        figures=(switch_figure(device, run, rating or _SWITCH_A[-1], fuse_a),),
    )
