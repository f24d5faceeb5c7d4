"""Where loads are plugged in: USB sockets, vehicle sockets, the controller's load terminals."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import replace

from sunpantry.design.nameplates import ControllerNameplate
from sunpantry.figures import Given
from sunpantry.match.case import Case
from sunpantry.match.changes import needs_of, relabel
from sunpantry.match.finding import Finding, Remedy, Said, Severity, rule, worked
from sunpantry.match.load_measures import (
    USB,
    all_at_once_w,
    certain_peak_w,
    converters_giving,
    direct_current_a,
    direct_current_loads,
    is_reached,
    load_output_holds,
    low_bank_v,
    on_supply,
    usb_source_a,
)
from sunpantry.match.loads_rules import stronger, supplied
from sunpantry.match.sources import LABEL, SOCKET
from sunpantry.match.sources import USB as USB_SOURCE
from sunpantry.phrases import phrase

VEHICLE_SOCKET_A = 10.0
# Largest current a plain 5 V socket is made for, and the budgets of the older ones [A].
USB_C_A = 3.0
USB_BUDGETS_A: tuple[tuple[str, float], ...] = (
    (phrase("a USB 2.0 socket"), 0.5),
    (phrase("a USB 3 socket"), 0.9),
    (phrase("a USB charging socket"), 1.5),
    (phrase("a USB Type-C socket"), USB_C_A),
)


def usb_capacity_w(case: Case) -> float:
    """Power of all 5 V sockets: converters, power bank, or a panel's own regulator [W]."""
    return 5.0 * usb_source_a(case) + sum(one.rated_w for one in converters_giving(case, USB))


def usb_too_small(case: Case) -> bool:
    """Whether a 5 V load, or what is certainly asked at once, exceeds the sockets."""
    if not on_supply(case, USB) or not is_reached(case, USB):
        return False
    if max(load.power_w for load in on_supply(case, USB)) > 5.0 * USB_C_A:
        return True
    return 0.0 < usb_capacity_w(case) < certain_peak_w(case, USB)


@rule(
    "usb-budget",
    asks="Do the 5 V sockets carry what is plugged into them?",
    limit="15 W for one load (USB Type-C, 3 A); all together ≤ rating of the sockets",
    source=USB_SOURCE,
    worst=Severity.WILL_NOT_WORK,
    breaks=usb_too_small,
)
def usb_budget(case: Case) -> Said:
    """5 V sockets are small: 2.5 W to 15 W each."""
    loads = on_supply(case, USB)
    if not loads or not is_reached(case, USB):
        return
    largest = max(loads, key=lambda load: load.power_w)
    all_w, given_w = all_at_once_w(case, USB), usb_capacity_w(case)
    if usb_too_small(case):
        severity = Severity.WILL_NOT_WORK
    else:
        severity = Severity.WORTH_KNOWING if 0.0 < given_w < all_w else Severity.FINE
    socket = next(
        (name for name, amps in USB_BUDGETS_A if largest.power_w <= 5.0 * amps),
        phrase("no 5 V socket"),
    )
    words = phrase(
        "The 5 V loads draw {all_w:.1f} W together; the sockets give {given_w:.1f} W. The "
        "largest, {name}, draws {power_w:.1f} W and wants {socket}",
        all_w=all_w,
        given_w=given_w,
        name=largest.name,
        power_w=largest.power_w,
        socket=socket,
    )
    options: tuple[Remedy, ...] = ()
    if largest.power_w > 5.0 * USB_C_A:
        words += phrase(
            ": it needs a higher voltage (USB Power Delivery, or its own 12 V or mains lead)."
        )
        moved = tuple(
            replace(load, supply="12 V") if load is largest else load for load in case.loads
        )
        options = (
            Remedy(phrase("Run {name} from 12 V.", name=largest.name), replace(case, loads=moved)),
        )
    else:
        words += "."
        given = converters_giving(case, USB)
        if severity < Severity.FINE:
            options = stronger(case, given, USB) if given else tuple(supplied(case, USB))
    yield Finding(
        severity,
        words,
        ("loads", USB),
        limit=Given("power of the 5 V sockets", given_w, "W"),
        options=options,
    )


def _socket_currents(case: Case) -> Iterator[tuple[str, float]]:
    volts = low_bank_v(case)
    for load in direct_current_loads(case):
        if load.plug == "vehicle socket":
            yield load.name, load.power_w / (volts if load.supply != USB else 5.0)
    for converter in case.system.converters:
        if converter.plug == "vehicle_socket":
            efficiency = max(converter.efficiency_pct, 1.0) / 100.0
            yield converter.name, converter.rated_w / efficiency / volts


def overheats_socket(case: Case) -> bool:
    """Whether something draws more through a vehicle socket than it bears."""
    return any(amps > VEHICLE_SOCKET_A for _, amps in _socket_currents(case))


@rule(
    "vehicle-socket",
    asks="Does the plug bear the current?",
    limit="10 A continuous through a vehicle socket",
    source=SOCKET,
    worst=Severity.DANGER,
    breaks=overheats_socket,
)
def vehicle_socket(case: Case) -> Said:
    """Vehicle sockets have poor contacts; beyond 10 A they melt."""
    for name, amps in _socket_currents(case):
        hot = amps > VEHICLE_SOCKET_A
        yield Finding(
            Severity.DANGER if hot else Severity.FINE,
            phrase("{name} draws up to {amps:.1f} A through a vehicle socket", name=name, amps=amps)
            + (
                phrase(": such a socket bears 10 A, beyond that it melts.")
                if hot
                else phrase("; it bears 10 A, with a fuse of its own.")
            ),
            ("socket", name),
            (
                worked(
                    phrase("current of {name} through the vehicle socket", name=name),
                    amps,
                    "A",
                    "power / efficiency / voltage of a nearly empty bank",
                    LABEL,
                    ("voltage of a nearly empty bank", low_bank_v(case), "V"),
                ),
            ),
            Given("current of a vehicle socket", VEHICLE_SOCKET_A, "A"),
            options=(Remedy(phrase("Wire it to a fused terminal instead."), _wired(case, name)),)
            if hot
            else (),
        )


def _wired(case: Case, name: str) -> Case:
    loads = tuple(replace(load, plug="wired") if load.name == name else load for load in case.loads)
    converters = tuple(
        one.model_copy(update={"plug": "wired"}) if one.name == name else one
        for one in case.system.converters
    )
    return replace(case, loads=loads, system=replace(case.system, converters=converters))


def overloads_terminals(case: Case) -> bool:
    """Whether loads that must hang on the load terminals draw more than these carry."""
    if case.choices.loads_fed_from != "load output" or case.system.controller is None:
        return False
    return direct_current_a(case) > 0.0 and not load_output_holds(case)


def _larger_terminals(case: Case, controller: ControllerNameplate, amps: float) -> Remedy:
    larger = relabel(controller, load_output_a=max(amps, controller.load_output_a))
    return Remedy(
        phrase("Take a controller whose load terminals carry {amps:.1f} A.", amps=amps),
        case.changed(controller=larger).chosen(loads_fed_from="either"),
        needs_of("controller", "at least", load_output_a=amps),
    )


@rule(
    "load-output",
    asks="Do the controller's load terminals carry the DC loads?",
    limit="current of all DC loads at once ≤ the label's limit",
    source=LABEL,
    worst=Severity.WILL_NOT_WORK,
    breaks=overloads_terminals,
)
def load_output(case: Case) -> Said:
    """The load terminals also protect the battery, by switching off in time."""
    controller, amps = case.system.controller, direct_current_a(case)
    if controller is None or amps <= 0.0:
        return
    limit_a = controller.load_output_a * case.system.controller_count
    options: list[Remedy] = []
    if overloads_terminals(case):
        severity = Severity.WILL_NOT_WORK
        words = phrase(
            "The loads draw {amps:.1f} A; the load terminals carry {limit_a:g} A.",
            amps=amps,
            limit_a=limit_a,
        )
        options.append(
            Remedy(
                phrase(
                    "Feed the largest loads straight from the battery, each with its own fuse "
                    "and a low-voltage disconnect."
                ),
                case.chosen(loads_fed_from="battery"),
            )
        )
    elif load_output_holds(case) and case.choices.loads_fed_from != "battery":
        severity = Severity.FINE
        words = phrase(
            "The load terminals carry the loads ({amps:.1f} of {limit_a:g} A).",
            amps=amps,
            limit_a=limit_a,
        )
    else:
        severity = Severity.WORTH_KNOWING
        words = phrase(
            "The loads ({amps:.1f} A) hang straight on the battery, because the load terminals "
            "carry {limit_a:g} A: give each its own fuse, and add a low-voltage disconnect, or "
            "nothing switches them off before the battery is empty.",
            amps=amps,
            limit_a=limit_a,
        )
    if severity < Severity.FINE:
        options.append(_larger_terminals(case, controller, amps))
    yield Finding(
        severity,
        words,
        ("controller", "loads"),
        (
            worked(
                "current of all DC loads at once",
                amps,
                "A",
                "power / efficiency of its converter / voltage of a nearly empty bank, summed",
                LABEL,
                *((load.name, load.all_w, "W") for load in direct_current_loads(case)),
                ("voltage of a nearly empty bank", low_bank_v(case), "V"),
            ),
        ),
        Given("current of the load terminals", limit_a, "A"),
        options=tuple(options),
    )


RULES = (usb_budget, vehicle_socket, load_output)
