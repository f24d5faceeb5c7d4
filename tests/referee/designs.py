"""The systems that referee and kernel are compared on: small, varied, mostly too small."""

from __future__ import annotations

from dataclasses import dataclass, replace
from functools import lru_cache

from tests.referee.load_tables import (
    COMPRESSOR,
    FENCE,
    FRIDGE,
    LAMP,
    LAPTOP,
    LIGHT_5,
    LINK_48,
    NIGHT,
    PHONE_5,
    PHONE_BY_SUN,
    PHONES,
    PUMP,
    RADIO,
    ROUTER_24,
    TELEVISION,
    TOOLS,
    TOOLS_BY_SUN,
    WASHING,
)

from sunpantry.design.nameplates import PanelNameplate
from sunpantry.parts.catalogue import Catalogue, shipped_catalogue
from sunpantry.parts.system import Array, Bank, System

PLACES = {
    "west of Ireland": (53.87, -9.33),
    "Lapland": (67.9, 26.5),
    "Ruhr": (51.5, 7.2),
    "Castile": (41.6, -4.7),
    "Lesotho": (-29.5, 28.2),
    "Patagonia": (-50.3, -71.0),
    "Kenya": (-0.4, 36.9),
    "Otago": (-45.0, 169.3),
    "Sahel": (14.5, -1.0),
}


@dataclass(frozen=True)
class Case:
    """One comparison.

    Parameters
    ----------
    name, place : str
        What it is, and a key of ``PLACES``.
    loads : str
        Load tables of a design document.
    system : System
        The parts.
    days : int
        From the start of the dark season.
    capacity_left : float
        Of the bank [-].
    source_w : float
        Second source [W], 0: none.
    step_h : float
        Length of a step [h].
    inverter_by_day : bool
        The inverter is switched on from 6 to 18 h UTC only, unless it is needed.
    dc_on_terminals, inverter_on_terminals : bool
        Hang on the controller's load terminals.
    """

    name: str
    place: str
    loads: str
    system: System
    days: int = 75
    capacity_left: float = 1.0
    source_w: float = 0.0
    step_h: float = 1.0
    inverter_by_day: bool = False
    dc_on_terminals: bool = False
    inverter_on_terminals: bool = False


@lru_cache(maxsize=1)
def parts() -> Catalogue:
    """The shipped list."""
    return shipped_catalogue()


def system(
    system_v: float,
    *arrays: tuple[str, int, int, float, float],
    bank: tuple[str, int, int] | None = None,
    controller: str | None = None,
    count: int = 1,
    inverter: str | None = None,
    converters: tuple[str, ...] = (),
    housing: str = "shed",
) -> System:
    """A system from names on the list; an array is (panel, series, parallel, tilt, azimuth)."""
    listed = parts()
    panels = {one.name: one for one in listed.panels}
    batteries = {one.name: one for one in listed.batteries}
    controllers = {one.name: one for one in listed.controllers}
    inverters = {one.name: one for one in listed.inverters}
    feeds = {one.name: one for one in listed.converters}
    return System(
        bank_v=float(system_v),
        arrays=tuple(Array(panels[a[0]], a[1], a[2], (a[3],) * 12, a[4]) for a in arrays),
        bank=None if bank is None else Bank(batteries[bank[0]], bank[1], bank[2], housing),
        controller=None if controller is None else controllers[controller],
        controller_count=count,
        inverter=None if inverter is None else inverters[inverter],
        converters=tuple(feeds[name] for name in converters),
    )


def shaded(groups: int, whole: System) -> System:
    """The same with groups of cells of each panel in shade."""
    arrays = tuple(replace(array, shaded_groups=groups) for array in whole.arrays)
    return replace(whole, arrays=arrays)


def labelled(hours: float, ah: float, others: dict[str, float], whole: System) -> System:
    """The same with another label on the battery: capacity at a rate, and further ones."""
    assert whole.bank is not None
    battery = whole.bank.battery.model_copy(
        update={"capacity_hours": hours, "capacity_ah": ah, "other_capacities_ah": others}
    )
    return replace(whole, bank=replace(whole.bank, battery=battery))


AGM_18, AGM_35, AGM_60, AGM_100 = (f"12 V {n} Ah AGM" for n in (18, 35, 60, 100))
GEL_60, GEL_100 = "12 V 60 Ah gel", "12 V 100 Ah gel"
LEISURE_75, LEISURE_110 = "12 V 75 Ah flooded leisure", "12 V 110 Ah flooded leisure"
GOLF_6V, CELL_2V = "6 V 225 Ah flooded deep-cycle", "2 V 330 Ah flooded tubular cell"
LITHIUM_12, LITHIUM_20, LITHIUM_50, LITHIUM_100 = (
    f"12.8 V {n} Ah LiFePO4" for n in (12, 20, 50, 100)
)
HEATED = "12.8 V 100 Ah LiFePO4, heated"
PWM_5, PWM_10 = "PWM 5 A, 12 V", "PWM 10 A, 12/24 V"
PWM_10_SET, PWM_20_SET = "PWM 10 A, 12/24 V, adjustable", "PWM 20 A, 12/24 V, adjustable"
MPPT_10, MPPT_20, MPPT_40 = (
    "MPPT 10 A, 12/24 V, 75 V",
    "MPPT 20 A, 12/24 V, 100 V",
    "MPPT 40 A, 12/24 V, 100 V",
)
MPPT_48 = "MPPT 35 A, 12/24/48 V, 150 V"
P20, P50, P100, P160 = (f"{n} W panel, 36 cells" for n in (20, 50, 100, 160))
P250, P330, P450 = (
    "250 W panel, 60 cells",
    "330 W panel, 72 cells",
    "450 W half-cut panel, 72 cells",
)
OLD_72 = "180 W second-hand panel, 72 cells"
USB, USB_48 = "12/24 V to 5 V USB, 15 W", "48 V to 5 V USB, 25 W"
DOWN_24, DOWN_48, DOWN_48_24, UP_24 = (
    "24 V to 12 V, 60 W",
    "48 V to 12 V, 240 W",
    "48 V to 24 V, 360 W",
    "12 V to 24 V, 120 W",
)
INV_150, INV_300, INV_600 = "150 W modified sine, 12 V", "300 W sine, 12 V", "600 W sine, 12 V"
INV_24, INV_48 = "1000 W sine, 24 V", "3000 W sine, 48 V"
TRAVEL_5, TRAVEL_10 = "5 W travel panel, 5 V", "10 W travel panel, 5 V"
# A label of the kind found on thirty-year-old panels; figures made up, within their tolerance.
OLD_33 = PanelNameplate(
    name="55 W old panel, 33 cells",
    power_w=55.0,
    voc_v=19.8,
    isc_a=3.75,
    vmp_v=15.9,
    imp_a=3.46,
    cells=33,
    noct_c=48.0,
)
BY_EVENING = 'from = "15:00"\nuntil = "21:00"'
S, N, E, W = 180.0, 0.0, 90.0, 270.0


def cases() -> tuple[Case, ...]:
    """Everything that is compared."""
    ireland, ruhr, castile = "west of Ireland", "Ruhr", "Castile"
    return (
        Case("lamp, AGM, PWM", ireland, LAMP, system(
            12, (P50, 1, 1, 65, S), bank=(AGM_35, 1, 1), controller=PWM_5)),
        Case("fence, AGM, PWM", ireland, FENCE, system(
            12, (P50, 1, 1, 70, S), bank=(AGM_60, 1, 1), controller=PWM_10)),
        Case("three classes, shedding, gel, PWM", ireland, FENCE + LAMP + RADIO, system(
            12, (P100, 1, 1, 65, S), bank=(GEL_100, 1, 1), controller=PWM_10_SET)),
        Case("three classes, shedding, flooded, PWM", ruhr, FENCE + LAMP + RADIO, system(
            12, (P160, 1, 1, 60, S), bank=(LEISURE_110, 1, 1), controller=PWM_20_SET)),
        Case("three classes, shedding, LiFePO4, MPPT", ireland, FENCE + LAMP + RADIO, system(
            12, (P100, 1, 1, 65, S), bank=(LITHIUM_50, 1, 1), controller=MPPT_10)),
        Case("flooded, equalised, sunny", castile, FENCE + LAMP, system(
            12, (P100, 1, 1, 50, S), bank=(LEISURE_75, 1, 1), controller=PWM_10)),
        Case("6 V flooded in series", castile, FENCE + LAMP + RADIO, system(
            12, (P100, 1, 1, 50, S), bank=(GOLF_6V, 2, 1), controller=PWM_20_SET)),
        Case("2 V flooded cells", ruhr, FENCE + LAMP, system(
            12, (P100, 1, 1, 60, S), bank=(CELL_2V, 6, 1), controller=MPPT_10)),
        Case("no temperature sensor, cold", "Lapland", FENCE, system(
            12, (P160, 1, 1, 85, S), bank=(AGM_100, 1, 1), controller=PWM_5)),
        Case("worn AGM", ireland, LAMP + FENCE, system(
            12, (P100, 1, 1, 65, S), bank=(AGM_60, 1, 1), controller=PWM_10_SET),
            capacity_left=0.8),
        Case("worn LiFePO4", ruhr, LAMP + FENCE, system(
            12, (P50, 1, 1, 65, S), bank=(LITHIUM_20, 1, 1), controller=MPPT_10),
            capacity_left=0.8),
        Case("worn flooded, in parallel", ireland, LAMP + FENCE + RADIO, system(
            12, (P100, 1, 2, 65, S), bank=(LEISURE_75, 1, 2), controller=PWM_20_SET),
            capacity_left=0.8),
        Case("LiFePO4 on PWM", ruhr, LAMP + FENCE, system(
            12, (P50, 1, 1, 65, S), bank=(LITHIUM_20, 1, 1), controller=PWM_10_SET)),
        Case("LiFePO4 never charged in the frost", "Lapland", FENCE, system(
            12, (P160, 1, 1, 85, S), bank=(LITHIUM_100, 1, 1), controller=MPPT_10)),
        Case("LiFePO4 outdoors, mild frost", "Patagonia", FENCE + LAMP, system(
            12, (P100, 1, 1, 70, N), bank=(LITHIUM_50, 1, 1), controller=MPPT_10,
            housing="outdoors")),
        Case("LiFePO4 heated", "Lapland", FENCE, system(
            12, (P250, 1, 1, 85, S), bank=(HEATED, 1, 1), controller=MPPT_20), days=120),
        Case("AGM buried in the cold", "Lapland", FENCE, system(
            12, (P100, 1, 1, 85, S), bank=(AGM_100, 1, 1), controller=PWM_10, housing="buried")),
        Case("AGM in the house", "Lapland", FENCE, system(
            12, (P100, 1, 1, 85, S), bank=(AGM_60, 1, 1), controller=PWM_10, housing="house")),
        Case("MPPT with a 60-cell panel", ireland, LAMP + FENCE + RADIO, system(
            12, (P250, 1, 1, 65, S), bank=(AGM_100, 1, 1), controller=MPPT_20)),
        Case("PWM with a 60-cell panel, wasteful", ireland, LAMP + FENCE, system(
            12, (P250, 1, 1, 65, S), bank=(AGM_60, 1, 1), controller=PWM_10)),
        Case("MPPT held by its current", castile, LAMP + RADIO, system(
            12, (P250, 1, 1, 50, S), bank=(AGM_100, 1, 1), controller=MPPT_10)),
        Case("MPPT that a lone 36-cell panel hardly starts", castile, LAMP, system(
            12, (P50, 1, 1, 50, S), bank=(GEL_60, 1, 1), controller=MPPT_10)),
        Case("24 V, old panel, PWM", ruhr, ROUTER_24 + LAMP, system(
            24, (OLD_72, 1, 1, 60, S), bank=(AGM_60, 2, 1), controller=PWM_10_SET,
            converters=(DOWN_24,))),
        Case("24 V, two 36-cell panels in series", ireland, ROUTER_24 + PHONES, system(
            24, (P100, 2, 1, 65, S), bank=(GEL_60, 2, 1), controller=PWM_10_SET,
            converters=(USB,))),
        Case("24 V LiFePO4, mains", ruhr, LAPTOP + ROUTER_24, system(
            24, (P330, 1, 2, 60, S), bank=("25.6 V 50 Ah LiFePO4", 1, 1), controller=MPPT_20,
            inverter=INV_24)),
        Case("48 V LiFePO4, everything", ireland,
             LINK_48 + ROUTER_24 + LAMP + PHONES + TELEVISION, system(
            48, (P450, 2, 2, 65, S), bank=("51.2 V 50 Ah LiFePO4", 1, 1), controller=MPPT_48,
            inverter=INV_48, converters=(DOWN_48, DOWN_48_24, USB_48))),
        Case("48 V gel, small array", castile, LINK_48, system(
            48, (P330, 2, 1, 55, S), bank=(GEL_60, 4, 1), controller=MPPT_48)),
        Case("phones from 12 V", ireland, PHONES, system(
            12, (P50, 1, 1, 65, S), bank=(AGM_35, 1, 1), controller=PWM_5, converters=(USB,))),
        Case("12 V bank, 24 V router", ireland, ROUTER_24, system(
            12, (P160, 1, 2, 65, S), bank=(AGM_100, 1, 2), controller=PWM_20_SET,
            converters=(UP_24,))),
        Case("laptop on a modified sine inverter", castile, LAPTOP + LAMP, system(
            12, (P160, 1, 2, 50, S), bank=(AGM_100, 1, 2), controller=PWM_20_SET,
            inverter=INV_150)),
        Case("fridge: surge trips a worn battery", castile, FRIDGE + LAMP, system(
            12, (P160, 1, 2, 50, S), bank=(LEISURE_110, 1, 1), controller=PWM_20_SET,
            inverter=INV_600), capacity_left=0.8),
        Case("inverter too small for everything", castile, FRIDGE + LAPTOP + TELEVISION, system(
            12, (P250, 1, 3, 50, S), bank=(LITHIUM_100, 1, 2), controller=MPPT_40,
            inverter=INV_150)),
        Case("LiFePO4 trips over a television", castile,
             TELEVISION.replace("90 W", "160 W").replace("hours_per_day = 4", BY_EVENING)
             + LAPTOP + RADIO + FENCE, system(
            12, (P250, 1, 1, 50, S), bank=(LITHIUM_12, 1, 1), controller=MPPT_20,
            inverter=INV_300), days=120),
        Case("LiFePO4 trips over what must run", ruhr,
             LAMP.replace("8 W", "350 W").replace("should", "must")
             .replace("hours_per_day = 5", BY_EVENING) + RADIO, system(
            12, (P250, 1, 2, 60, S), bank=(LITHIUM_20, 1, 1), controller=MPPT_40)),
        Case("television and searching inverter", "Lesotho", TELEVISION + FENCE, system(
            12, (P160, 1, 1, 50, N), bank=(AGM_100, 1, 1), controller=MPPT_20, inverter=INV_600)),
        Case("power bank on a travel panel", "Kenya", PHONE_5, system(
            5, (TRAVEL_10, 1, 1, 10, N), bank=("power bank, 20 Ah", 1, 1), housing="house")),
        Case("power bank on two travel panels, dark", ruhr, PHONE_5 + LIGHT_5, system(
            5, (TRAVEL_5, 1, 2, 60, S), bank=("power bank, 10 Ah", 1, 1), housing="house")),
        Case("power bank in the frost", ruhr, PHONE_5, system(
            5, (TRAVEL_10, 1, 1, 60, S), bank=("power bank, 27 Ah", 1, 1), housing="outdoors")),
        Case("no bank: phone on a travel panel", castile, PHONE_BY_SUN, system(
            5, (TRAVEL_10, 1, 1, 50, S)), days=365),
        Case("no bank: two classes on a travel panel", castile,
             LIGHT_5.replace("hours_per_day = 3", 'from = "10:00"\nuntil = "14:00"')
             + PHONE_5.replace("19:00", "09:00").replace("22:00", "16:00"),
             system(5, (TRAVEL_10, 1, 1, 50, S)), days=120),
        Case("washing waits for sun", castile, FRIDGE + WASHING, system(
            12, (P250, 1, 2, 45, S), bank=(LITHIUM_100, 1, 1), controller=MPPT_40,
            inverter=INV_600), days=365),
        Case("tools above 70 %", ruhr, TOOLS + FENCE, system(
            12, (P100, 1, 1, 60, S), bank=(AGM_60, 1, 1), controller=PWM_10_SET), days=365),
        Case("tools by sun to spare", "Lesotho", TOOLS_BY_SUN + LAMP, system(
            12, (P50, 1, 1, 45, N), bank=(GEL_60, 1, 1), controller=PWM_10_SET), days=365),
        Case("generator behind a small array", ireland, FENCE + LAMP + RADIO, system(
            12, (P50, 1, 1, 65, S), bank=(AGM_100, 1, 1), controller=PWM_10_SET),
            source_w=150.0, days=120),
        Case("mains charger behind LiFePO4", ruhr, LAPTOP, system(
            12, (P160, 1, 1, 65, S), bank=(LITHIUM_50, 1, 1), controller=MPPT_20,
            inverter=INV_300), source_w=255.0, days=365),
        Case("east and west on one MPPT", castile, LAMP + RADIO, system(
            12, (P160, 1, 1, 45, E), (P160, 1, 1, 45, W), bank=(AGM_60, 1, 1),
            controller=MPPT_20)),
        Case("east and west on one PWM", "Patagonia", LAMP + RADIO, system(
            12, (P50, 1, 1, 50, E), (P100, 1, 1, 60, W), bank=(GEL_60, 1, 1),
            controller=PWM_20_SET)),
        Case("two controllers", ruhr, FENCE + LAMP + RADIO, system(
            12, (P160, 1, 2, 60, S), bank=(LEISURE_110, 1, 2), controller=PWM_10_SET, count=2)),
        Case("night light, hot knee", "Kenya", NIGHT, system(
            12, (P20, 1, 1, 5, N), bank=(AGM_18, 1, 1), controller=PWM_5)),
        Case("33-cell panel in the heat", "Sahel", NIGHT + RADIO + LAMP, replace(
            system(12, (P50, 1, 1, 15, S), bank=(LEISURE_75, 1, 1), controller=PWM_10),
            arrays=(Array(OLD_33, 1, 1, (15.0,) * 12, S),)), days=120),
        Case("inverter switched off at night", "Lesotho", TELEVISION + LAPTOP, system(
            12, (P250, 1, 1, 50, N), bank=(AGM_100, 1, 1), controller=MPPT_20, inverter=INV_300),
            inverter_by_day=True),
        Case("quarter hours", ireland, FENCE + LAMP + RADIO, system(
            12, (P100, 1, 1, 65, S), bank=(AGM_60, 1, 1), controller=PWM_10_SET),
            days=40, step_h=0.25),
        Case("a compressor's start opens the disconnect", castile, COMPRESSOR + LAMP, system(
            12, (P100, 1, 1, 50, S), bank=(AGM_18, 1, 1), controller=PWM_10), capacity_left=0.8),
        Case("a waiting pump's start opens the disconnect", ruhr, PUMP + FENCE, system(
            12, (P50, 1, 1, 60, S), bank=(LEISURE_75, 1, 1), controller=PWM_10_SET),
            capacity_left=0.8, days=120),
        Case("washing with a start, small battery", castile, WASHING.replace(
            'supply', 'surge = "1500 W"\nsupply') + FENCE, system(
            12, (P250, 1, 2, 45, S), bank=(AGM_35, 1, 1), controller=MPPT_40,
            inverter=INV_600), days=365),
        Case("load terminals too small", ireland, FENCE + LAMP + RADIO.replace("12 W", "70 W"),
             system(12, (P160, 1, 2, 65, S), bank=(AGM_100, 1, 1), controller=PWM_5),
             dc_on_terminals=True),
        Case("inverter and jobs on the load terminals", castile,
             TOOLS + LAPTOP.replace("45 W", "110 W") + FENCE, system(
            12, (P160, 1, 2, 50, S), bank=(AGM_100, 1, 2), controller=PWM_10_SET,
            inverter=INV_150), dc_on_terminals=True, inverter_on_terminals=True, days=365),
        Case("a ledge shades a third of each panel, MPPT", castile, LAMP + RADIO, shaded(1, system(
            12, (P250, 1, 1, 50, S), bank=(AGM_60, 1, 1), controller=MPPT_20))),
        Case("a pole shades a third of the panel, PWM", ireland, LAMP + FENCE, shaded(1, system(
            12, (P330, 1, 1, 65, S), bank=(GEL_60, 1, 1), controller=PWM_10))),
        Case("unlike strings on one MPPT", castile, LAMP + RADIO, system(
            12, (P250, 1, 1, 45, S), (P330, 1, 1, 45, S), bank=(AGM_60, 1, 1),
            controller=MPPT_40)),
        Case("polar day", "Lapland", FENCE + LAMP, system(
            12, (P100, 1, 1, 60, S), bank=(LEISURE_75, 1, 1), controller=PWM_10), days=365),
        Case("AGM whose label tells its capacity in 100 hours", ireland, LAMP + FENCE, labelled(
            100.0, 66.0, {}, system(
            12, (P50, 1, 1, 65, S), bank=(AGM_60, 1, 1), controller=PWM_10_SET))),
        Case("AGM with almost one capacity at every rate", castile, COMPRESSOR + LAMP, labelled(
            20.0, 60.0, {"5": 56.5, "10": 58.5, "100": 62.0}, system(
            12, (P100, 1, 1, 50, S), bank=(AGM_60, 1, 1), controller=PWM_10))),
        Case("lamp in the Antipodes", "Otago", LAMP + FENCE, system(
            12, (P50, 1, 1, 65, N), bank=(AGM_60, 1, 1), controller=PWM_10)),
    )  # fmt: skip
