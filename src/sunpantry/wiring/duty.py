"""What each cable has to bear: currents, the voltage its drop is judged by, the highest voltage.

References
----------
IEC 62548:2016 clause 6: currents of strings and arrays are 1.25 times the rated
short-circuit current. IEC 60364-5-52 annex G and off-grid practice (check values, from
memory): array 3 %, controller to battery 1 %, battery to inverter 2 %, loads 3 to 5 %.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from sunpantry.design.kit import voltage_class
from sunpantry.design.loads import SUPPLY_V
from sunpantry.design.nameplates import ConverterNameplate, InverterNameplate
from sunpantry.figures import Given
from sunpantry.parts.system import Array, Bank, System
from sunpantry.phrases import phrase
from sunpantry.physics.chemistry import CHEMISTRIES
from sunpantry.physics.safe_voltage import cold_voltage_v
from sunpantry.wiring.graph import Duty
from sunpantry.wiring.inputs import LoadLine, WiringInputs

# Bright clouds and snow push a panel above its rating for many minutes (IEC 62548).
BRIGHT_CLOUD = 1.25
# Unequal sharing between parallel batteries (common practice, no source).
UNEQUAL_SHARE = 1.25

# Greatest voltage drop wanted, as a share of the voltage of that run.
DROP = {
    "string": 0.01,
    "array": 0.03,
    "controller": 0.01,
    "battery": 0.01,
    "main": 0.01,
    "inverter": 0.02,
    "charger": 0.02,
    "board": 0.01,
    "branch": 0.04,
    "lead": 0.05,
    "mains": 0.01,
    "mains_branch": 0.03,
    "supply": 0.03,
}
_DROP_SOURCE = phrase("off-grid DC practice and IEC 60364-5-52 annex G, from memory")


@dataclass(frozen=True, slots=True)
class BankVoltages:
    """Voltages between the poles of the bank [V]."""

    nominal_v: float
    lowest_v: float
    highest_v: float


def bank_voltages(system: System) -> BankVoltages:
    """Nominal voltage of the bank, the lowest under load and the highest while charging.

    Parameters
    ----------
    system : System
        With or without a bank; without one the class of the system stands in.

    Returns
    -------
    BankVoltages
        Lowest: where the controller disconnects. Highest: equalising or absorption.
    """
    class_v = system.bank_v
    controller = system.controller
    scale = class_v / 12.0
    if system.bank is None:
        return BankVoltages(class_v, class_v, class_v)
    battery = system.bank.battery
    constants = CHEMISTRIES[battery.chemistry]
    cells = system.bank.nominal_v / constants.cell_v
    if battery.chemistry == "power_bank":
        return BankVoltages(class_v, class_v, class_v)
    lowest = controller.disconnect_v * scale if controller else constants.disconnect_v * cells
    highest = system.bank.series * (
        battery.absorption_v or constants.absorption_v * battery.nominal_v / constants.cell_v
    )
    if controller:
        highest = max(highest, controller.absorption_v * scale)
        if controller.equalise_v and battery.chemistry == "flooded":
            highest = max(highest, controller.equalise_v * scale)
    return BankVoltages(system.bank.nominal_v, min(lowest, system.bank.nominal_v), highest)


def cold_voltage(array: Array, *, coldest_c: float) -> float:
    """Open-circuit voltage of a string on the coldest morning [V].

    Parameters
    ----------
    coldest_c : float
        Coldest air [°C]; at dawn the panel is as cold as the air.
    """
    panel = array.panel
    if panel.regulated_output_v:
        return panel.regulated_output_v
    return cold_voltage_v(
        voc_v=panel.voc_v,
        series=array.series,
        temperature_c=coldest_c,
        temp_coeff_voc_pct_per_k=panel.temp_coeff_voc_pct_per_k,
    )


def string_voltage(array: Array) -> float:
    """Working voltage of a string at rated sun [V]."""
    return array.panel.regulated_output_v or array.series * array.panel.vmp_v


def string_current(array: Array) -> float:
    """Working current of a string at rated sun [A]."""
    panel = array.panel
    if not panel.regulated_output_v:
        return panel.imp_a
    made = panel.power_w * panel.regulated_efficiency_pct / 100.0 / panel.regulated_output_v
    return min(made, panel.regulated_max_a or made)


def string_limit(array: Array) -> float:
    """Greatest current a string can give: rated short circuit, or its regulator's limit [A]."""
    regulated = array.panel.regulated_output_v
    return string_current(array) if regulated else array.panel.isc_a


def sun_duty(strings: Sequence[Array], inputs: WiringInputs, *, drop: float) -> Duty:
    """Duty of a cable that carries the current of these strings together."""
    working = sum(string_current(array) for array in strings)
    short = sum(string_limit(array) for array in strings)
    return Duty(
        working_a=working,
        design_a=BRIGHT_CLOUD * short,
        base_v=min(string_voltage(array) for array in strings),
        highest_v=max(cold_voltage(array, coldest_c=inputs.coldest_c) for array in strings),
        drop_share=round(drop, 6),
        formula="1.25 × short-circuit current of the strings it carries",
        inputs=(
            Given("strings carried", len(strings)),
            Given("sum of their short-circuit currents", short, "A"),
            Given("bright-cloud factor", BRIGHT_CLOUD),
        ),
        source=phrase(
            "IEC 62548:2016 clause 6, from memory; drop: {drop_source}", drop_source=_DROP_SOURCE
        ),
    )


def charge_current(strings: Sequence[Array], system: System) -> float:
    """Greatest charging current one controller really sees [A], its rating at most."""
    controller = system.controller
    if controller is None:
        return sum(string_limit(array) for array in strings)
    if controller.kind == "pwm":
        made = sum(array.panel.isc_a for array in strings)
    else:
        watts = sum(array.series * array.panel.power_w for array in strings)
        made = watts * controller.efficiency_pct / 100.0 / bank_voltages(system).nominal_v
    return min(made, controller.rated_a)


def controller_duty(strings: Sequence[Array], inputs: WiringInputs, *, loads_a: float) -> Duty:
    """Duty of the cable between controller and battery: charge one way, loads the other."""
    system = inputs.system
    volts = bank_voltages(system)
    made = charge_current(strings, system)
    rated = made if system.controller is None else system.controller.rated_a
    return Duty(
        working_a=max(made, loads_a),
        design_a=max(rated, loads_a),
        base_v=volts.nominal_v,
        highest_v=volts.highest_v,
        drop_share=DROP["controller"],
        formula="the larger of the controller's rated current and what its load terminals give",
        inputs=(
            Given("rated charge current", rated, "A"),
            Given("loads on its load terminals", loads_a, "A"),
        ),
        source=phrase("the controller's label; drop: {drop_source}", drop_source=_DROP_SOURCE),
    )


def inverter_duty(inverter: InverterNameplate, system: System) -> Duty:
    """Duty of the cable between battery and inverter, at its rated power."""
    volts = bank_voltages(system)
    efficiency = inverter.rated_efficiency_pct / 100.0
    lowest = max(inverter.cutoff_v * system.bank_v / 12.0, 0.5 * volts.nominal_v)
    return Duty(
        working_a=inverter.rated_w / efficiency / volts.nominal_v,
        design_a=inverter.rated_w / efficiency / min(lowest, volts.nominal_v),
        surge_a=inverter.surge_w / efficiency / volts.nominal_v,
        base_v=volts.nominal_v,
        highest_v=volts.highest_v,
        drop_share=DROP["inverter"],
        formula="rated power / efficiency / lowest battery voltage it works at",
        inputs=(
            Given("rated power", inverter.rated_w, "W"),
            Given("efficiency at rated power", efficiency),
            Given("lowest battery voltage", min(lowest, volts.nominal_v), "V"),
        ),
        source=phrase("the inverter's label; drop: {drop_source}", drop_source=_DROP_SOURCE),
    )


def load_duty(load: LoadLine, *, lowest_v: float, nominal_v: float, highest_v: float) -> Duty:
    """Duty of the cable to one load on direct current."""
    role = "lead" if load.supply == "5 V" else "branch"
    return Duty(
        working_a=load.power_w / nominal_v,
        design_a=load.power_w / lowest_v,
        surge_a=max(load.surge_w, load.power_w) / nominal_v,
        base_v=nominal_v,
        highest_v=highest_v,
        drop_share=DROP[role],
        formula="power / lowest voltage of its supply",
        inputs=(
            Given("power while it works", load.power_w, "W"),
            Given("lowest voltage of its supply", lowest_v, "V"),
        ),
        source=phrase("the load as described; drop: {drop_source}", drop_source=_DROP_SOURCE),
    )


def mains_duty(watts: float, surge_w: float, *, mains_v: float, role: str) -> Duty:
    """Duty of a cable at mains voltage."""
    return Duty(
        working_a=watts / mains_v,
        design_a=watts / mains_v,
        surge_a=max(surge_w, watts) / mains_v,
        base_v=mains_v,
        highest_v=mains_v,
        drop_share=DROP[role],
        formula="power / mains voltage",
        inputs=(Given("power", watts, "W"), Given("mains voltage", mains_v, "V")),
        source=phrase("the label; drop: {drop_source}", drop_source=_DROP_SOURCE),
    )


def converter_duty(converter: ConverterNameplate, volts: BankVoltages) -> Duty:
    """Duty of the cable that feeds a converter, at its rated output."""
    efficiency = converter.efficiency_pct / 100.0
    lowest = max(volts.lowest_v, converter.input_min_v)
    return Duty(
        working_a=converter.rated_w / efficiency / volts.nominal_v,
        design_a=converter.rated_w / efficiency / lowest,
        base_v=volts.nominal_v,
        highest_v=volts.highest_v,
        drop_share=DROP["branch"],
        formula="rated output / efficiency / lowest voltage of its supply",
        inputs=(
            Given("rated output", converter.rated_w, "W"),
            Given("efficiency", efficiency),
            Given("lowest voltage of its supply", lowest, "V"),
        ),
        source=phrase("the converter's label; drop: {drop_source}", drop_source=_DROP_SOURCE),
    )


def charger_duty(charger_a: float, volts: BankVoltages) -> Duty:
    """Duty of the cable between a charger and the battery."""
    return Duty(
        working_a=charger_a,
        design_a=charger_a,
        base_v=volts.nominal_v,
        highest_v=volts.highest_v,
        drop_share=DROP["charger"],
        formula="the charger's greatest current",
        inputs=(Given("greatest current", charger_a, "A"),),
        source=phrase("the charger's label; drop: {drop_source}", drop_source=_DROP_SOURCE),
    )


def together(duties: Sequence[Duty], *, role: str, what: str, share: float = 1.0) -> Duty:
    """Duty of a cable that feeds several others at once.

    Parameters
    ----------
    what : str
        Name of the branches in the working.
    share : float
        Part of the sum it carries [-].
    """
    working = sum(duty.working_a for duty in duties)
    design = sum(duty.design_a for duty in duties)
    extra = max((duty.surge_a - duty.working_a for duty in duties), default=0.0)
    return Duty(
        working_a=share * working,
        design_a=share * design,
        surge_a=share * (working + max(extra, 0.0)),
        base_v=duties[0].base_v,
        highest_v=max(duty.highest_v for duty in duties),
        drop_share=DROP[role],
        formula=phrase("sum of the {what}, all at once", what=what)
        if share == 1.0
        else phrase("sum of the {what}, all at once × its share", what=what),
        inputs=(
            Given(what, len(duties)),
            Given("sum of their design currents", design, "A"),
            Given("share carried", share),
        ),
        source=phrase(
            "worst case: nothing is assumed to rest; drop: {drop_source}", drop_source=_DROP_SOURCE
        ),
    )


def idle_duty() -> Duty:
    """Duty of a bank that nothing hangs on."""
    return Duty(
        0.0,
        0.0,
        1.0,
        0.0,
        DROP["main"],
        phrase("nothing hangs on the bank"),
        (),
        phrase("by definition"),
    )


def bank_share(bank: Bank) -> float:
    """Share of the bank's current one of its parallel strings may have to carry [-]."""
    return 1.0 if bank.parallel == 1 else min(1.0, UNEQUAL_SHARE / bank.parallel)


def supplied_class(converter: ConverterNameplate) -> float | None:
    """System class of the voltage a converter gives [V]."""
    return voltage_class(converter.output_v)


def supply_class(load: LoadLine) -> float | None:
    """System class of the voltage a load wants [V]; ``None`` for the mains."""
    return None if load.supply == "mains" else SUPPLY_V[load.supply]
