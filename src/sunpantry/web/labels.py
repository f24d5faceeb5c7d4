"""What stands on the label of each kind of part, as fields of a form.

The figures that a part cannot be described without come first; the rest have a usual value,
which is said beside the field, or one that the physics supplies.
"""

from __future__ import annotations

from dataclasses import dataclass

from sunpantry.language import gettext, mark
from sunpantry.web.fields import Entry, Option, one_of

CHEMISTRIES: tuple[Option, ...] = (
    ("flooded", mark("lead-acid, with caps for water (flooded)")),
    ("agm", mark("lead-acid, sealed (AGM)")),
    ("gel", mark("lead-acid, gel")),
    ("lifepo4", mark("lithium iron phosphate (LiFePO4)")),
)
WORDS_OF_CHEMISTRY = (*CHEMISTRIES, ("power_bank", mark("power bank")))
CONTROLLER_KINDS: tuple[Option, ...] = (("pwm", "PWM"), ("mppt", "MPPT"))
WAVES: tuple[Option, ...] = (
    ("sine", mark("pure sine")),
    ("modified", mark("modified sine")),
)
BANKS: tuple[Option, ...] = (("12", "12 V"), ("24", "24 V"), ("48", "48 V"))


@dataclass(frozen=True)
class Label:
    """The form of one kind of part.

    Parameters
    ----------
    kind : str
        In addresses: 'panel', 'battery', 'power-bank', 'controller', 'inverter', 'converter'.
    role : str
        Kind of part in a system; a power bank is a battery.
    title : str
        With its article, as a person who has one would say it (a message).
    help : str
        Where to find the figures (a message).
    needed, more : tuple of Entry
        Those without which there is no such part; the rest.
    fixed : tuple of (str, str)
        What the kind itself says.
    """

    kind: str
    role: str
    title: str
    help: str
    needed: tuple[Entry, ...]
    more: tuple[Entry, ...]
    fixed: tuple[tuple[str, str], ...] = ()

    @property
    def titled(self) -> str:
        """Title in the language of the present request."""
        return gettext(self.title)

    @property
    def helped(self) -> str:
        """Where to find the figures, likewise."""
        return gettext(self.help)

    @property
    def fields(self) -> tuple[Entry, ...]:
        """All of them."""
        return (*self.needed, *self.more)


_ANY = (
    Entry("price", mark("Price of one"), "number"),
    Entry("currency", mark("Currency of the price"), "text", hint=mark("three letters: EUR, GBP")),
    Entry("price_year", mark("Price seen in the year"), "number"),
    Entry("weight", mark("Weight"), unit="kg"),
    Entry("length", mark("Length"), unit="m"),
    Entry("width", mark("Width"), unit="m"),
    Entry("height", mark("Height"), unit="m"),
    Entry("note", mark("Note"), "text"),
)

PANEL = Label(
    "panel",
    "panel",
    mark("A panel"),
    mark(
        "Read it off the sticker on the back of the panel. The figures hold for full sun at "
        "25 °C (“STC”)."
    ),
    (
        Entry("power", mark("Power (Pmax)"), unit="W", needed=True),
        Entry("voc", mark("Voltage with nothing connected (Voc)"), unit="V", needed=True),
        Entry("isc", mark("Short-circuit current (Isc)"), unit="A", needed=True),
        Entry("vmp", mark("Voltage at full power (Vmp)"), unit="V", needed=True),
        Entry("imp", mark("Current at full power (Imp)"), unit="A", needed=True),
        Entry(
            "cells",
            mark("Cells one after the other"),
            "number",
            hint=mark("count the squares: 36 on a 12 V panel; of half cells count half"),
            needed=True,
        ),
    ),
    (
        Entry("power_tolerance", mark("Power may be less by"), unit="%", usual=5.0),
        Entry("temp_coeff_voc", mark("Voc changes with warmth by"), unit="%/K", usual=-0.33),
        Entry("temp_coeff_isc", mark("Isc changes with warmth by"), unit="%/K", usual=0.05),
        Entry("temp_coeff_power", mark("Power changes with warmth by"), unit="%/K", usual=-0.45),
        Entry("noct", mark("Cells in ordinary sun are at (NOCT)"), unit="°C", usual=45.0),
        Entry("max_series_fuse", mark("Largest fuse"), unit="A"),
        Entry("max_system_voltage", mark("Largest voltage of a row"), unit="V", usual=600.0),
        Entry(
            "regulated_output",
            mark("Gives a steady voltage of"),
            unit="V",
            hint=mark("only a panel with a socket of its own, as 5 V"),
        ),
        Entry("regulated_max", mark("and at most"), unit="A"),
        Entry("regulated_efficiency", mark("Its regulator passes on"), unit="%", usual=85.0),
        Entry("ageing_per_year", mark("Loses a year"), unit="%", usual=0.6),
        *_ANY,
    ),
)

_CAPACITY_HOURS = Entry(
    "capacity_hours",
    mark("Capacity holds for a discharge in so many hours"),
    "number",
    hint=mark("20 for “C20”"),
    usual=20.0,
)
_STORE = (
    Entry("internal_resistance", mark("Inner resistance"), unit="Ω"),
    Entry("max_charge", mark("Charge with at most"), unit="A"),
    Entry("max_discharge", mark("Discharge with at most"), unit="A"),
    Entry("absorption", mark("Charge to (absorption)"), unit="V"),
    Entry("float", mark("Hold at (float)"), unit="V"),
    Entry(
        "cycles", mark("Times it can be used"), "number", hint=mark("cycles until 80 % are left")
    ),
    Entry("cycle_depth", mark("each time down by"), unit="%", usual=50.0),
    Entry("calendar_life", mark("Lasts, standing unused"), unit="years"),
    Entry("self_discharge_per_month", mark("Loses by itself in a month"), unit="%"),
    Entry("min_charge_temperature", mark("Not to be charged below"), unit="°C"),
    Entry("worn", mark("Capacity left, if it is a used one"), unit="%", usual=100.0),
)
_OTHER_RATES = (
    Entry("other_capacities.5", mark("Capacity in 5 hours (C5)"), unit="Ah"),
    Entry("other_capacities.10", mark("Capacity in 10 hours (C10)"), unit="Ah"),
    Entry("other_capacities.100", mark("Capacity in 100 hours (C100)"), unit="Ah"),
)
_SOCKET = (
    Entry("heater", mark("Built-in heater"), unit="W", usual=0.0),
    Entry("usb_output", mark("USB sockets give together"), unit="A", usual=0.0),
)

BATTERY = Label(
    "battery",
    "battery",
    mark("A battery"),
    mark("Read it off the top or the side of one battery."),
    (
        one_of("chemistry", mark("What it is made of"), *CHEMISTRIES, needed=True),
        Entry(
            "nominal",
            mark("Voltage"),
            unit="V",
            hint=mark("12 V lead-acid; 12.8 V for LiFePO4"),
            needed=True,
        ),
        Entry("capacity", mark("Capacity"), unit="Ah", needed=True),
    ),
    (_CAPACITY_HOURS, *_OTHER_RATES, *_STORE, *_SOCKET, *_ANY),
)

POWER_BANK = Label(
    "power-bank",
    "battery",
    mark("A power bank"),
    mark(
        "Read the small print on its back: the capacity counts at the voltage of its cells, "
        "not at the 5 V of its socket."
    ),
    (
        Entry("nominal", mark("Voltage of its cells"), unit="V", usual=3.7, needed=True),
        Entry("capacity", mark("Capacity"), unit="mAh", needed=True),
        Entry("usb_output", mark("USB sockets give together"), unit="A", needed=True),
        Entry(
            "input_efficiency",
            mark("Takes in, of what it is given"),
            unit="%",
            hint=mark("rarely printed; this is typical, from memory"),
            usual=90.0,
            needed=True,
        ),
        Entry(
            "output_efficiency",
            mark("Gives out, of what it holds"),
            unit="%",
            hint=mark("rarely printed; this is typical, from memory"),
            usual=88.0,
            needed=True,
        ),
    ),
    (
        Entry("auto_off", mark("Turns itself off below"), unit="A", usual=0.0),
        _CAPACITY_HOURS,
        *_OTHER_RATES,
        *_STORE,
        _SOCKET[0],
        *_ANY,
    ),
    (("chemistry", "power_bank"),),
)

CONTROLLER = Label(
    "controller",
    "controller",
    mark("A charge controller"),
    mark("Read it off its label, and from the table of figures in its manual."),
    (
        one_of(
            "kind",
            mark("Kind"),
            *CONTROLLER_KINDS,
            needed=True,
            hint=mark("MPPT stands on it if it is one"),
        ),
        Entry("rated", mark("Charges with at most"), unit="A", needed=True),
        Entry("max_pv_voc", mark("Panels may give at most (Voc)"), unit="V", needed=True),
        Entry(
            "bank_voltages",
            mark("For batteries of"),
            "several",
            options=BANKS,
            hint=mark("nothing ticked: 12 V"),
        ),
        Entry(
            "chemistries",
            mark("Made for"),
            "several",
            options=WORDS_OF_CHEMISTRY[:4],
            hint=mark("nothing ticked: lead-acid of every sort"),
        ),
        Entry("load_output", mark("Load terminals carry"), unit="A", hint=mark("0: it has none")),
    ),
    (
        Entry("max_pv_isc", mark("Panels may give at most (Isc)"), unit="A"),
        Entry("max_pv_power_at_12v", mark("Largest panels on a 12 V battery"), unit="W"),
        Entry(
            "start_headroom",
            mark("Starts when the panels are above the battery by, in volts"),
            "number",
            usual=0.0,
        ),
        Entry("efficiency", mark("Passes on"), unit="%", usual=97.0),
        Entry("self_consumption", mark("Takes for itself"), unit="A", usual=0.01),
        Entry("disconnect", mark("Cuts the loads off at, for 12 V"), unit="V", usual=11.1),
        Entry("reconnect", mark("Lets them on again at, for 12 V"), unit="V", usual=12.6),
        Entry("disconnect_delay", mark("Waits before it cuts them off"), unit="s", usual=0.0),
        Entry("absorption", mark("Charges to (absorption), for 12 V"), unit="V", usual=14.4),
        Entry("absorption_time", mark("and stays there, in hours"), "number", usual=2.0),
        Entry("float", mark("Holds at (float), for 12 V"), unit="V", usual=13.7),
        Entry("equalise", mark("Equalises at, for 12 V"), unit="V"),
        Entry("adjustable", mark("Set points can be changed"), "flag"),
        Entry("temperature_sensor", mark("Has a sensor for the battery's warmth"), "flag"),
        Entry(
            "temp_comp_per_cell",
            mark("Set points follow warmth by, a cell"),
            unit="mV/K",
            usual=-4.0,
        ),
        *_ANY,
    ),
)

INVERTER = Label(
    "inverter",
    "inverter",
    mark("An inverter"),
    mark(
        "Read it off its label. What it takes with nothing plugged in often stands in its manual."
    ),
    (
        Entry("rated", mark("Gives all the time"), unit="W", needed=True),
        Entry("surge", mark("and for a moment"), unit="W", needed=True),
        Entry("idle", mark("Takes with nothing plugged in"), unit="W", needed=True),
        one_of("waveform", mark("Its wave"), *WAVES, hint=mark("cheap ones are often modified")),
        Entry("input", mark("From a battery of"), unit="V", usual=12.0),
        Entry("output", mark("Mains voltage"), unit="V", usual=230.0),
    ),
    (
        Entry("search", mark("Takes while it waits for something to be switched on"), unit="W"),
        Entry("peak_efficiency", mark("Passes on at best"), unit="%", usual=90.0),
        Entry("rated_efficiency", mark("Passes on at full load"), unit="%", usual=85.0),
        Entry("cutoff", mark("Switches off at, for 12 V"), unit="V", usual=10.5),
        Entry("restart", mark("Switches on again at, for 12 V"), unit="V", usual=12.5),
        *_ANY,
    ),
)

CONVERTER = Label(
    "converter",
    "converter",
    mark("A converter or USB adaptor"),
    mark("Read it off its label: “IN” and “OUT”."),
    (
        Entry("input_min", mark("In, from"), unit="V", needed=True),
        Entry("input_max", mark("In, up to"), unit="V", needed=True),
        Entry("output", mark("Out"), unit="V", needed=True),
        Entry("rated", mark("Gives at most"), unit="W", needed=True),
    ),
    (
        Entry("efficiency", mark("Passes on"), unit="%", usual=88.0),
        Entry("idle", mark("Takes with nothing plugged in"), unit="W", usual=0.05),
        one_of(
            "plug",
            mark("Connected by"),
            ("wired", mark("its wires")),
            ("vehicle_socket", mark("a vehicle socket")),
        ),
        *_ANY,
    ),
)

LABELS = (PANEL, BATTERY, POWER_BANK, CONTROLLER, INVERTER, CONVERTER)
LABEL_OF = {one.kind: one for one in LABELS}
