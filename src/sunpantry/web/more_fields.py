"""Fields beside the first ones of each form: everything else that a design can say."""

from __future__ import annotations

from sunpantry.language import mark
from sunpantry.web.fields import Entry, one_of
from sunpantry.web.labels import BANKS, CONTROLLER_KINDS, WAVES, WORDS_OF_CHEMISTRY

_COUNT = Entry("count", mark("How many"), "number")
_WIRED = (
    Entry("series", mark("in a row"), "number", hint=mark("empty: Sunpantry chooses")),
    Entry("parallel", mark("rows side by side"), "number"),
)
_OWNED_OF = Entry("owned", mark("of these, yours already"), "owned", hint=mark("a number, or all"))
_OWNED = Entry("owned", mark("Yours already"), "flag")

# How many there are and how many of them are there already, by role.
COUNTED: dict[str, tuple[Entry, ...]] = {
    "panel": (_COUNT, _OWNED_OF),
    "battery": (_COUNT, _OWNED_OF),
    "controller": (_COUNT, _OWNED),
    "inverter": (_OWNED,),
    "converter": (_COUNT, _OWNED),
}
WIRED: dict[str, tuple[Entry, ...]] = {"panel": _WIRED, "battery": _WIRED}

# What else the form of a part asks for.
PART_MORE: dict[str, tuple[Entry, ...]] = {
    "panel": (
        _WIRED[1],
        _OWNED_OF,
        Entry("tilt_winter", mark("Leaning in winter"), unit="°", hint=mark("October to March")),
        Entry("tilt_summer", mark("Leaning in summer"), unit="°"),
        Entry(
            "shaded_groups",
            mark("Groups of cells always in shade"),
            "number",
            hint=mark("under a ledge; a panel has one for about 20 cells"),
        ),
    ),
    "battery": (
        *_WIRED,
        _OWNED_OF,
        Entry("vent_opening", mark("Opening to the air, top and bottom"), unit="cm²"),
    ),
    "controller": (
        _COUNT,
        _OWNED,
        one_of(
            "loads_fed_from",
            mark("Loads hang on"),
            ("", mark("as usual: the load terminals if they carry it")),
            ("load output", mark("the load terminals in any case")),
        ),
    ),
    "inverter": (
        _OWNED,
        one_of(
            "fed_from",
            mark("It hangs on"),
            ("", mark("as usual: the battery")),
            ("load output", mark("the load terminals of the controller")),
        ),
        Entry("off_when_idle", mark("Switched off when nothing needs it"), "flag"),
        Entry("from", mark("Switched on at"), "text", hint=mark("07:30, dusk, dawn+0:30")),
        Entry("until", mark("Switched off at"), "text"),
    ),
}

LOAD_MORE = (
    Entry(
        "duty",
        mark("Share of the time it draws"),
        "monthly",
        hint=mark("0 … 1; twelve figures with ; between for twelve months"),
    ),
    Entry("standby", mark("Draws while it does nothing"), unit="W"),
    Entry("minutes_per_use", mark("Minutes a use"), unit="min"),
    Entry("own_battery", mark("Store inside it"), unit="Wh"),
    Entry("bursts.per_day", mark("Short runs a day"), "number", hint=mark("at any hour")),
    Entry("bursts.per_night", mark("Short runs a night"), "number", hint=mark("dusk to dawn")),
    Entry("bursts.minutes", mark("each of"), unit="min", usual=1.0),
    Entry(
        "can_wait.days",
        mark("Can wait for sun, up to"),
        unit="days",
        hint=mark("empty: it cannot wait"),
    ),
    Entry(
        "can_wait.rule",
        mark("and runs with"),
        "text",
        hint=mark("sun to spare; or battery above 80 %"),
    ),
    one_of(
        "kind",
        mark("Sort of thing"),
        ("", mark("as usual")),
        ("light", mark("light")),
        ("motor", mark("motor")),
        ("electronics", mark("electronics")),
        ("heater", mark("heater")),
        ("other", mark("something else")),
    ),
    one_of(
        "plug",
        mark("Connected by"),
        ("", mark("its wires")),
        ("vehicle socket", mark("a vehicle socket")),
    ),
    Entry("typical", mark("These figures are guesses"), "flag"),
    Entry("note", mark("Note"), "text"),
)

SEARCH = (
    Entry(
        "bank_voltages",
        mark("Batteries of"),
        "several",
        options=(("5", "5 V"), *BANKS),
        hint=mark("nothing ticked: any"),
    ),
    Entry(
        "chemistries",
        mark("Batteries made of"),
        "several",
        options=WORDS_OF_CHEMISTRY,
        hint=mark("nothing ticked: any"),
    ),
    Entry(
        "controllers",
        mark("Charge controllers"),
        "several",
        options=CONTROLLER_KINDS,
        hint=mark("nothing ticked: any"),
    ),
    Entry(
        "inverters",
        mark("Inverters"),
        "several",
        options=WAVES,
        hint=mark("nothing ticked: any"),
    ),
    Entry("max_panels", mark("Panels, at most"), "number", usual=24),
    Entry("max_batteries", mark("Batteries, at most"), "number", usual=16),
    Entry("max_panel_power", mark("Power of one panel, at most"), unit="W"),
    Entry("max_weight", mark("Panels and batteries weigh at most"), unit="kg"),
    Entry("weigh", mark("Lighter ways are told, too"), "flag"),
    Entry("backup", mark("A second source may be part of the answer"), "flag"),
    Entry("seasonal_tilt", mark("The panels may be tilted twice a year"), "flag"),
)

RECKONING = (
    one_of(
        "bank_voltage",
        mark("Voltage of the battery"),
        ("", mark("let Sunpantry choose")),
        ("5 V", "5 V"),
        *((f"{volts} V", words) for volts, words in BANKS),
    ),
    Entry("winters", mark("Winters it is run through"), "number", usual=30),
    Entry("step", mark("Length of a step"), unit="min", hint=mark("as usual: an hour")),
    Entry("seed", mark("Number the weather is drawn from"), "number", usual=1),
)

MONEY_MORE = (
    Entry("electricity_price", mark("A kilowatt-hour from the mains costs"), "number", usual=0.35),
    Entry("mains_connection", mark("A connection to the mains would cost"), "number"),
    Entry("budget", mark("You can spend"), "number"),
)

SITE_MORE = (
    Entry(
        "albedo",
        mark("Share of light the ground throws back"),
        "monthly",
        hint=mark("grass 0.2, snow 0.7"),
        usual=0.2,
    ),
)

PUMP_MORE = (
    Entry(
        "curve",
        mark("Its curve"),
        "points",
        hint=mark("flow in L/min, head in m, power in W: 0 30 40; 8 20 60; 12 0 55"),
    ),
)

WIRING_MORE = (
    one_of(
        "insulation",
        mark("Insulation"),
        ("", mark("as usual: PVC, to 70 °C")),
        ("xlpe", mark("XLPE, to 90 °C")),
    ),
    Entry("grouped", mark("Circuits lying side by side"), "number", usual=1),
)

FORMS: dict[str, tuple[Entry, ...]] = {
    **{f"part-{role}": fields for role, fields in PART_MORE.items()},
    **{f"counted-{role}": fields for role, fields in COUNTED.items()},
    **{f"wired-{role}": WIRED.get(role, ()) for role in COUNTED},
    "converter": COUNTED["converter"],
    "load": LOAD_MORE,
    "search": SEARCH,
    "reckoning": RECKONING,
    "money": MONEY_MORE,
    "site": SITE_MORE,
    "pump": PUMP_MORE,
    "wiring": WIRING_MORE,
}
