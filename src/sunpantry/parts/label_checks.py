"""Whether the figures on the label of a part can be true together.

What a label says decides the answer, so a slip of the pen (a sign, a unit, two figures
swapped, those of 24 V where those of 12 V are asked for) must be told and not be reckoned
with. The limits are wide: they let pass every part that is made and stop what cannot be.
The electrical figures of a panel have their own check (:mod:`sunpantry.physics.panel_label`).

References
----------
Common practice, no source, but for the law of Peukert, which bounds how a capacity falls with
the rate, and the typical figures of :mod:`sunpantry.physics.chemistry`.
"""

from __future__ import annotations

from collections.abc import Iterator
from itertools import pairwise

from sunpantry.design.keys import human_key
from sunpantry.design.nameplates import (
    BatteryNameplate,
    ControllerNameplate,
    ConverterNameplate,
    InverterNameplate,
    Nameplate,
    PanelNameplate,
)
from sunpantry.errors import Problem
from sunpantry.phrases import phrase
from sunpantry.physics.chemistry import CHEMISTRIES, Chemistry

Found = Iterator[Problem]

# No battery loses more by a faster discharge than a Peukert exponent of 2 would have it;
# flooded ones have 1.1 to 1.3, old ones 1.5.
STEEPEST_EXPONENT = 2.0
# A resistance twenty times off the typical one is a slip of the unit, Ω for mΩ.
RESISTANCE_FACTOR = 20.0
WHOLE_CELLS_WITHIN = 0.01
# A label that says 12 V of LiFePO4, or 13.2 V of lead-acid, has as many cells as fit these [V].
LEAD_CELL_MEANT_V, LITHIUM_CELL_MEANT_V = 2.1, 3.1
# Set points that a cell may have [V]: absorption and float, lead-acid and LiFePO4.
LEAD_SET_V = ((2.25, 2.60), (2.10, 2.45))
LITHIUM_SET_V = ((3.30, 3.75), (3.20, 3.65))
# Set points that a controller may have for a 12 V bank, and an inverter's [V].
CONTROLLER_V = {
    "disconnect_v": (9.0, 13.2),
    "reconnect_v": (10.0, 14.5),
    "absorption_v": (13.0, 16.0),
    "float_v": (12.5, 15.0),
    "equalise_v": (13.0, 17.0),
}
INVERTER_V = {"cutoff_v": (8.0, 12.8), "restart_v": (9.0, 14.5)}
COMPENSATION_MV = (-8.0, 0.0)
LEAST_EFFICIENCY_PCT = 40.0
# Own draw of electronics: of the rated current of a controller, of the rated power of an inverter.
MOST_OWN_SHARE, MOST_IDLE_SHARE = 0.05, 0.30
MOST_SELF_DISCHARGE_PCT = 40.0
LEAST_WORN_PCT, LEAST_DEPTH_PCT = 10.0, 1.0
COLDEST_CHARGE_C = (-40.0, 20.0)
NOCT_C = (30.0, 70.0)
MOST_AGEING_PCT = 5.0


def label_problems(part: Nameplate, where: str) -> list[Problem]:
    """What on a label cannot be.

    Parameters
    ----------
    part : nameplate
        Any part.
    where : str
        Key of its table in the document, for messages.

    Returns
    -------
    list of Problem
        Empty when all is well.
    """
    if isinstance(part, PanelNameplate):
        return list(_panel(part, where))
    if isinstance(part, BatteryNameplate):
        return list(_battery(part, where))
    if isinstance(part, ControllerNameplate):
        return list(_controller(part, where))
    if isinstance(part, InverterNameplate):
        return list(_inverter(part, where))
    if isinstance(part, ConverterNameplate):
        return list(_converter(part, where))
    return []


def _key(where: str, name: str) -> str:
    return f"{where}.{human_key(name)}"


def _both() -> str:
    return phrase("read both again from the label")


def _within(
    part: Nameplate,
    where: str,
    name: str,
    span: tuple[float, float],
    unit: str,
    *,
    remedy: str | None = None,
) -> Found:
    """A figure that lies outside what there is; one that is not told lies nowhere."""
    value = getattr(part, name)
    if value is not None and not span[0] <= value <= span[1]:
        allowed = phrase("from {low:g} to {high:g} {unit}", low=span[0], high=span[1], unit=unit)
        again = phrase("read it again from the label")
        yield Problem(_key(where, name), f"{value:g} {unit}", allowed, remedy or again)


def _not_above(
    where: str,
    low: tuple[str, float | None],
    high: tuple[str, float | None],
    unit: str,
    *,
    equal: bool = True,
) -> Found:
    """One figure that must not lie above another on the same label."""
    (low_name, least), (high_name, most) = low, high
    if least is None or most is None or least < most or (equal and least == most):
        return
    allowed = (
        phrase("at most {name}, {most:g} {unit}", name=human_key(high_name), most=most, unit=unit)
        if equal
        else phrase(
            "less than {name}, {most:g} {unit}", name=human_key(high_name), most=most, unit=unit
        )
    )
    yield Problem(_key(where, low_name), f"{least:g} {unit}", allowed, _both())


def _efficiency(part: Nameplate, where: str, name: str) -> Found:
    yield from _within(
        part,
        where,
        name,
        (LEAST_EFFICIENCY_PCT, 100.0),
        "%",
        remedy=phrase("write it in per cent: 0.9 is 90 %"),
    )


def _panel(panel: PanelNameplate, where: str) -> Found:
    yield from _within(panel, where, "noct_c", NOCT_C, "°C")
    yield from _within(panel, where, "ageing_pct_per_year", (0.0, MOST_AGEING_PCT), "%")
    yield from _efficiency(panel, where, "regulated_efficiency_pct")
    yield from _not_above(
        where, ("isc_a", panel.isc_a), ("max_series_fuse_a", panel.max_series_fuse_a), "A"
    )
    yield from _not_above(
        where, ("voc_v", panel.voc_v), ("max_system_voltage_v", panel.max_system_voltage_v), "V"
    )
    regulated = ("regulated_output_v", panel.regulated_output_v)
    yield from _not_above(where, regulated, ("voc_v", panel.voc_v), "V", equal=False)


def _battery(battery: BatteryNameplate, where: str) -> Found:
    constants = CHEMISTRIES[battery.chemistry]
    yield from _whole_cells(battery, constants, where)
    yield from _capacities(battery, where)
    yield from _resistance(battery, constants, where)
    yield from _set_points(battery, constants, where)
    for name in ("input_efficiency_pct", "output_efficiency_pct"):
        yield from _efficiency(battery, where, name)
    yield from _within(battery, where, "worn_pct", (LEAST_WORN_PCT, 100.0), "%")
    yield from _within(battery, where, "cycle_depth_pct", (LEAST_DEPTH_PCT, 100.0), "%")
    yield from _within(
        battery, where, "self_discharge_pct_per_month", (0.0, MOST_SELF_DISCHARGE_PCT), "%"
    )
    yield from _within(
        battery,
        where,
        "min_charge_temperature_c",
        COLDEST_CHARGE_C,
        "°C",
        remedy=phrase("write the coldest at which it may be charged"),
    )


def _whole_cells(battery: BatteryNameplate, constants: Chemistry, where: str) -> Found:
    if battery.chemistry == "power_bank":
        return
    cells = battery.nominal_v / constants.cell_v
    if cells >= 1.0 - WHOLE_CELLS_WITHIN and abs(cells / round(cells) - 1.0) <= WHOLE_CELLS_WITHIN:
        return
    meant_v = LEAD_CELL_MEANT_V if constants.is_lead_acid else LITHIUM_CELL_MEANT_V
    count = max(1, round(battery.nominal_v / meant_v))
    yield Problem(
        _key(where, "nominal_v"),
        f"{battery.nominal_v:g} V",
        phrase("a whole number of cells of {cell_v:g} V", cell_v=constants.cell_v),
        phrase(
            "write {volts:g} V if it has {count} cells; or change chemistry",
            volts=count * constants.cell_v,
            count=count,
        ),
    )


def _capacities(battery: BatteryNameplate, where: str) -> Found:
    """Capacities that fall when the discharge is slower, or by more than any battery's."""
    others = {float(hours): ah for hours, ah in battery.other_capacities_ah.items()}
    label = {**others, battery.capacity_hours: battery.capacity_ah}
    again = phrase("read both again from the label; capacity_hours is the rate of capacity")
    twice = others.get(battery.capacity_hours)
    if twice is not None and twice != battery.capacity_ah:
        yield Problem(
            f"{where}.other_capacities.{battery.capacity_hours:g}",
            f"{twice:g} Ah",
            phrase("the capacity itself, {ah:g} Ah, is told for this time", ah=battery.capacity_ah),
            again,
        )
    for (fast_h, fast_ah), (slow_h, slow_ah) in pairwise(sorted(label.items())):
        name = "capacity" if fast_h == battery.capacity_hours else f"other_capacities.{fast_h:g}"
        least_ah = slow_ah * (fast_h / slow_h) ** (1.0 - 1.0 / STEEPEST_EXPONENT)
        if fast_ah > slow_ah:
            allowed = phrase(
                "at most the {slow_ah:g} Ah of {slow_h:g} hours: a slower discharge never gives "
                "less",
                slow_ah=slow_ah,
                slow_h=slow_h,
            )
        elif fast_ah < least_ah:
            allowed = phrase(
                "at least {least_ah:.3g} Ah in {fast_h:g} hours beside {slow_ah:g} Ah in "
                "{slow_h:g}: no battery falls off faster",
                least_ah=least_ah,
                fast_h=fast_h,
                slow_ah=slow_ah,
                slow_h=slow_h,
            )
        else:
            continue
        yield Problem(f"{where}.{name}", f"{fast_ah:g} Ah", allowed, again)


def _resistance(battery: BatteryNameplate, constants: Chemistry, where: str) -> Found:
    ohm = battery.internal_resistance_ohm
    if ohm is None:
        return
    cells = battery.nominal_v / constants.cell_v
    typical_mohm = 1000.0 * constants.surge_ohm_ah * cells / battery.capacity_ah
    if not typical_mohm / RESISTANCE_FACTOR <= 1000.0 * ohm <= typical_mohm * RESISTANCE_FACTOR:
        yield Problem(
            _key(where, "internal_resistance_ohm"),
            f"{ohm:g} Ω",
            phrase(
                "from {low:.3g} to {high:.3g} mΩ; such a battery has about {typical:.3g} mΩ",
                low=typical_mohm / RESISTANCE_FACTOR,
                high=typical_mohm * RESISTANCE_FACTOR,
                typical=typical_mohm,
            ),
            phrase("write it with its unit, or leave it out for the typical one"),
        )


def _set_points(battery: BatteryNameplate, constants: Chemistry, where: str) -> Found:
    if battery.chemistry == "power_bank":
        return
    spans = LEAD_SET_V if constants.is_lead_acid else LITHIUM_SET_V
    cells = round(battery.nominal_v / constants.cell_v)
    for name, (low, high) in zip(("absorption_v", "float_v"), spans, strict=True):
        span = (round(low * cells, 2), round(high * cells, 2))
        remedy = phrase("write the voltage of the whole battery")
        yield from _within(battery, where, name, span, "V", remedy=remedy)
    yield from _not_above(
        where, ("float_v", battery.float_v), ("absorption_v", battery.absorption_v), "V"
    )


def _controller(controller: ControllerNameplate, where: str) -> Found:
    for name, span in CONTROLLER_V.items():
        remedy = phrase("write the figure for a 12 V bank: half of that for 24 V")
        yield from _within(controller, where, name, span, "V", remedy=remedy)
    absorption = ("absorption_v", controller.absorption_v)
    yield from _not_above(where, ("float_v", controller.float_v), absorption, "V")
    yield from _not_above(where, absorption, ("equalise_v", controller.equalise_v), "V")
    reconnect = ("reconnect_v", controller.reconnect_v)
    disconnect = ("disconnect_v", controller.disconnect_v)
    yield from _not_above(where, disconnect, reconnect, "V", equal=False)
    yield from _not_above(where, reconnect, absorption, "V", equal=False)
    yield from _efficiency(controller, where, "efficiency_pct")
    yield from _within(
        controller,
        where,
        "temp_comp_mv_per_cell_k",
        COMPENSATION_MV,
        "mV/K",
        remedy=phrase(
            "write it with a minus and for one cell of 2 V: -24 mV/K of a 12 V battery is -4 mV/K"
        ),
    )
    most_a = MOST_OWN_SHARE * controller.rated_a
    yield from _within(
        controller,
        where,
        "self_consumption_a",
        (0.0, most_a),
        "A",
        remedy=phrase("write it with its unit: it is some milliamperes"),
    )


def _inverter(inverter: InverterNameplate, where: str) -> Found:
    rated = ("rated_w", inverter.rated_w)
    yield from _not_above(where, rated, ("surge_w", inverter.surge_w), "W")
    most_w = MOST_IDLE_SHARE * inverter.rated_w
    yield from _within(inverter, where, "idle_w", (0.0, most_w), "W")
    yield from _not_above(where, ("search_w", inverter.search_w), ("idle_w", inverter.idle_w), "W")
    for name in ("peak_efficiency_pct", "rated_efficiency_pct"):
        yield from _efficiency(inverter, where, name)
    peak = ("peak_efficiency_pct", inverter.peak_efficiency_pct)
    rating = ("rated_efficiency_pct", inverter.rated_efficiency_pct)
    yield from _not_above(where, rating, peak, "%")
    for name, span in INVERTER_V.items():
        remedy = phrase("write the figure for a 12 V bank: half of that for 24 V")
        yield from _within(inverter, where, name, span, "V", remedy=remedy)
    cutoff, restart = ("cutoff_v", inverter.cutoff_v), ("restart_v", inverter.restart_v)
    yield from _not_above(where, cutoff, restart, "V", equal=False)


def _converter(converter: ConverterNameplate, where: str) -> Found:
    least, most = ("input_min_v", converter.input_min_v), ("input_max_v", converter.input_max_v)
    yield from _not_above(where, least, most, "V")
    yield from _efficiency(converter, where, "efficiency_pct")
    most_w = MOST_IDLE_SHARE * converter.rated_w
    yield from _within(converter, where, "idle_w", (0.0, most_w), "W")
