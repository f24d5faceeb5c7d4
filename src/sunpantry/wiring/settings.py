"""What to set on the controller and the inverter, at 25 °C and in the cold.

References
----------
Set points of the chemistries and their compensation: ``sunpantry.physics.chemistry``
(trade practice, from memory). What the battery's label prints comes first.
"""

from __future__ import annotations

from dataclasses import dataclass

from sunpantry.design.nameplates import ControllerNameplate
from sunpantry.figures import Figure, Given
from sunpantry.parts.system import Bank
from sunpantry.phrases import phrase
from sunpantry.physics.chemistry import CHEMISTRIES, Chemistry
from sunpantry.wiring.inputs import WiringInputs

REFERENCE_C = 25.0
CHEMISTRY_WORDS = {
    "flooded": phrase("flooded lead-acid"),
    "agm": phrase("AGM (sealed lead-acid)"),
    "gel": phrase("gel (sealed lead-acid)"),
    "lifepo4": phrase("lithium iron phosphate (LiFePO4)"),
    "power_bank": phrase("power bank"),
}


@dataclass(frozen=True, slots=True)
class Setting:
    """One set point.

    Parameters
    ----------
    part : str
        'controller' or 'inverter'.
    value : float or str
        At 25 °C, or a choice in words.
    winter : float or None
        The same at the winter temperature of the battery, where it moves with it.
    unit : str
        Of both values; empty for a choice.
    adjustable : bool
        False where the part has it fixed: the value is then the part's own.
    """

    part: str
    name: str
    value: float | str
    winter: float | None
    unit: str
    adjustable: bool
    note: str


def compensated_v(
    voltage_v: float, *, cells: float, mv_per_cell_k: float, temperature_c: float
) -> float:
    """Charge voltage at another battery temperature.

    Parameters
    ----------
    voltage_v : float
        At 25 °C [V].
    cells : float
        Cells in series.
    mv_per_cell_k : float
        Compensation, negative for lead-acid [mV/K per cell].
    temperature_c : float
        Of the battery [°C].

    Returns
    -------
    float
        Voltage [V].

    Examples
    --------
    >>> compensated_v(14.4, cells=6, mv_per_cell_k=-4.0, temperature_c=0.0)
    15.0
    """
    return voltage_v + mv_per_cell_k / 1000.0 * cells * (temperature_c - REFERENCE_C)


@dataclass(frozen=True, slots=True)
class _Bank:
    """The bank's own set points [V, A]."""

    chemistry: Chemistry
    cells: float
    absorption_v: float
    float_v: float
    charge_a: float


def _of_bank(bank: Bank) -> _Bank:
    battery = bank.battery
    chemistry = CHEMISTRIES[battery.chemistry]
    each = battery.nominal_v / chemistry.cell_v
    limit_a = battery.max_charge_a or chemistry.charge_c_rate * battery.capacity_ah
    return _Bank(
        chemistry,
        each * bank.series,
        bank.series * (battery.absorption_v or chemistry.absorption_v * each),
        bank.series * (battery.float_v or chemistry.float_v * each),
        bank.parallel * limit_a,
    )


def settings_sheet(inputs: WiringInputs) -> tuple[tuple[Setting, ...], tuple[Figure, ...]]:
    """Write the settings sheet.

    Parameters
    ----------
    inputs : WiringInputs
        The system and its winter temperature.

    Returns
    -------
    settings : tuple of Setting
        Controller first, then inverter; empty where there is nothing to set.
    workings : tuple of Figure
        How the winter voltages come about.
    """
    system = inputs.system
    if system.bank is None or system.bank.battery.chemistry == "power_bank":
        return (), ()
    settings: list[Setting] = []
    workings: list[Figure] = []
    if system.controller is not None:
        made, figures = _controller(system.controller, system.bank, inputs)
        settings += made
        workings += figures
    settings += _inverter(inputs)
    return tuple(settings), tuple(workings)


def _point(
    name: str,
    value: float | str,
    unit: str,
    note: str,
    *,
    adjustable: bool = True,
    winter: float | None = None,
) -> Setting:
    """One set point of the controller, to the millivolt."""
    return Setting(
        "controller",
        name,
        value if isinstance(value, str) else round(value, 3),
        None if winter is None else round(winter, 3),
        unit,
        adjustable,
        note,
    )


def _controller(
    controller: ControllerNameplate, bank: Bank, inputs: WiringInputs
) -> tuple[list[Setting], list[Figure]]:
    own, free = _of_bank(bank), controller.adjustable
    scale = inputs.system.bank_v / 12.0
    chemistry = bank.battery.chemistry
    rate = own.chemistry.compensation_mv_per_k
    if not free:
        rate = controller.temp_comp_mv_per_cell_k if own.chemistry.is_lead_acid else 0.0
    settings = [
        _point(
            phrase("battery type"),
            CHEMISTRY_WORDS[chemistry],
            "",
            _type_note(bank),
            adjustable=free or chemistry in controller.chemistries,
        ),
        _point(
            phrase("system voltage"),
            inputs.system.bank_v,
            "V",
            phrase("many find it by themselves from the battery: check what the display says"),
        ),
    ]
    figures = []
    winter_c = inputs.battery_in_winter_c
    for name, volts, note in _charging(controller, bank, own, scale=scale):
        winter = None
        if rate:
            winter = compensated_v(
                volts, cells=own.cells, mv_per_cell_k=rate, temperature_c=winter_c
            )
            figures.append(
                _winter_figure(name, volts, winter, cells=own.cells, rate=rate, winter_c=winter_c)
            )
        told = _sensor_note(controller, rate, note)
        settings.append(_point(name, volts, "V", told, adjustable=free, winter=winter))
    settings += _controller_rest(controller, bank, own, scale=scale, rate=rate)
    return settings, figures


def _charging(
    controller: ControllerNameplate, bank: Bank, own: _Bank, *, scale: float
) -> list[tuple[str, float, str]]:
    """Charge voltages at 25 °C: the battery's own, or the controller's where it is fixed."""
    free = controller.adjustable
    points: list[tuple[str, float, str]] = [
        (
            phrase("absorption voltage"),
            own.absorption_v if free else controller.absorption_v * scale,
            phrase("charging holds here until the current has fallen"),
        ),
        (
            phrase("float voltage"),
            own.float_v if free else controller.float_v * scale,
            phrase("kept once the battery is full"),
        ),
    ]
    if controller.equalise_v and bank.battery.chemistry == "flooded":
        points.append(
            (
                phrase("equalising voltage"),
                controller.equalise_v * scale,
                phrase(
                    "monthly, 1 to 4 hours, vents open and the room aired, then check the water"
                ),
            )
        )
    return points


def _type_note(bank: Bank) -> str:
    if bank.battery.chemistry == "lifepo4":
        return phrase("never a lead-acid type: its compensation and equalising harm this battery")
    return phrase("as printed on the battery")


def _rate_note(own: _Bank, rate: float) -> str:
    if rate:
        return phrase("for the whole battery")
    if own.chemistry.is_lead_acid:
        return phrase("this controller has none, though the battery wants it")
    return phrase("off: this battery must not be compensated")


def _sensor_note(controller: ControllerNameplate, rate: float, note: str) -> str:
    if not rate:
        return note
    if controller.temperature_sensor:
        return phrase("{note}; the sensor at the battery moves it", note=note)
    if controller.adjustable:
        return phrase(
            "{note}; there is no sensor: set the winter value in autumn and back in spring",
            note=note,
        )
    return phrase(
        "{note}; it follows the controller's own temperature: keep both in one place", note=note
    )


def _winter_figure(
    name: str, volts: float, winter: float, *, cells: float, rate: float, winter_c: float
) -> Figure:
    return Figure(
        phrase("{name} in winter", name=name),
        winter,
        "V",
        "value at 25 °C + compensation × cells × (battery temperature − 25 °C)",
        (
            Given("value at 25 °C", volts, "V"),
            Given("compensation", rate, "mV/K per cell"),
            Given("cells in series", cells),
            Given("battery temperature in winter", winter_c, "°C"),
        ),
        "trade practice, from memory",
    )


def _never_equalise(controller: ControllerNameplate, bank: Bank) -> list[Setting]:
    """The row that says 'off', for every battery that equalising harms."""
    if bank.battery.chemistry == "flooded":
        return []
    does = bool(controller.equalise_v)
    note = (
        phrase("this kind of battery is harmed by it")
        if does
        else phrase("this controller does none, and this battery wants none")
    )
    return [
        _point(
            phrase("equalising"),
            phrase("off"),
            "",
            note,
            adjustable=controller.adjustable and does,
        )
    ]


def _controller_rest(
    controller: ControllerNameplate, bank: Bank, own: _Bank, *, scale: float, rate: float
) -> list[Setting]:
    free = controller.adjustable
    settings = [
        *_never_equalise(controller, bank),
        _point(
            phrase("absorption time"),
            controller.absorption_h,
            "h",
            phrase(
                "longer for a battery that rarely gets full; ends by itself on a falling current"
            ),
            adjustable=free,
        ),
        _point(
            phrase("temperature compensation"),
            rate * own.cells,
            "mV/K",
            _rate_note(own, rate),
            adjustable=free,
        ),
        _point(
            phrase("charge current limit"),
            min(own.charge_a, controller.rated_a),
            "A",
            phrase("the smaller of what battery and controller bear"),
            adjustable=free,
        ),
    ]
    if controller.load_output_a > 0:
        off_v, on_v = controller.disconnect_v * scale, controller.reconnect_v * scale
        if free:
            off_v = own.chemistry.disconnect_v * own.cells
            on_v = own.chemistry.reconnect_v * own.cells
        off_note = phrase("under load; protects the battery from being emptied")
        on_note = phrase("well above disconnect, so that loads do not flicker")
        settings += [
            _point(phrase("load disconnect"), off_v, "V", off_note, adjustable=free),
            _point(phrase("load reconnect"), on_v, "V", on_note, adjustable=free),
        ]
    if bank.battery.chemistry == "lifepo4":
        label = bank.battery.min_charge_temperature_c
        settings.append(
            _point(
                phrase("no charging below"),
                own.chemistry.min_charge_c if label is None else label,
                "°C",
                phrase("battery temperature; the battery's own protection must do it otherwise"),
                adjustable=controller.temperature_sensor,
            )
        )
    return settings


def _inverter(inputs: WiringInputs) -> list[Setting]:
    inverter = inputs.system.inverter
    if inverter is None:
        return []
    scale = inputs.system.bank_v / 12.0
    points = [
        (
            phrase("low-voltage cut-off"),
            inverter.cutoff_v * scale,
            phrase("under load; where it can be set, as high as the surge of the loads allows"),
        ),
        (phrase("restart voltage"), inverter.restart_v * scale, phrase("as the maker sets it")),
        (
            phrase("output voltage"),
            inverter.output_v,
            phrase("check with a meter before anything is plugged in"),
        ),
    ]
    settings = [
        Setting("inverter", name, value, None, "V", adjustable=False, note=note)
        for name, value, note in points
    ]
    if inverter.search_w is not None:
        note = phrase("saves idle draw; off if a small load fails to wake it")
        settings.append(
            Setting("inverter", phrase("search mode"), phrase("on"), None, "", True, note)
        )
    return settings
