"""The place: air for the battery, wind on the panels, the order of connecting."""

from __future__ import annotations

from sunpantry.figures import Figure, Given
from sunpantry.match.array_measures import highest_voc_v
from sunpantry.match.bank_measures import KIND_WORDS, cells
from sunpantry.match.case import Case, numbered_arrays
from sunpantry.match.changes import relabel
from sunpantry.match.finding import Finding, Need, Remedy, Said, Severity, rule, worked
from sunpantry.match.sources import PRACTICE, VENTILATION, WIND
from sunpantry.parts.system import Array
from sunpantry.phrases import phrase
from sunpantry.physics.ventilation import air_flow_m3_h, opening_cm2, spark_distance_mm

CLOSED_PLACES = ("house", "buried")
AIR_DENSITY_KG_M3 = 1.25
PRESSURE_COEFFICIENT = 1.5
NEWTON_PER_KG = 9.81
# A panel of unknown size: rated watts for each square metre, common practice, no source.
PANEL_W_PER_M2 = 190.0


def needed_opening_cm2(case: Case) -> float:
    """Free opening, low and again high, that a charging bank needs [cm²]."""
    bank = case.system.bank
    if bank is None:
        return 0.0
    flow = air_flow_m3_h(
        cells=cells(bank), capacity_ah=bank.capacity_ah, chemistry=bank.battery.chemistry
    )
    return opening_cm2(flow)


def stifled(case: Case) -> bool:
    """Whether gas would gather: too small an opening, or flooded cells in a closed place."""
    bank = case.system.bank
    if bank is None:
        return False
    opening = case.choices.vent_opening_cm2
    if opening is not None:
        return opening < needed_opening_cm2(case)
    return bank.battery.chemistry == "flooded" and bank.housing in CLOSED_PLACES


@rule(
    "ventilation",
    asks="Is there enough air for a charging lead-acid battery?",
    limit="openings low and high, each 28 cm² for every m³/h of Q = 0.05·n·Igas·C·10⁻³",
    source=VENTILATION,
    worst=Severity.DANGER,
    breaks=stifled,
)
def ventilation(case: Case) -> Said:
    """Hydrogen from charging burns from 4 % up."""
    bank, needed = case.system.bank, needed_opening_cm2(case)
    if bank is None or needed <= 0.0:
        return
    opening, chemistry = case.choices.vent_opening_cm2, bank.battery.chemistry
    away_mm = spark_distance_mm(capacity_ah=bank.capacity_ah, chemistry=chemistry)
    want = phrase(
        "an opening of {needed:.0f} cm² low down and one as large near the top, to the outside",
        needed=max(needed, 1.0),
    )
    if stifled(case):
        severity = Severity.DANGER
        if opening is not None:
            gathers = phrase("with openings of {opening:.0f} cm² it would gather", opening=opening)
        elif bank.housing == "house":
            gathers = phrase("in the house it would gather")
        else:
            gathers = phrase("in the ground it would gather")
        words = phrase(
            "While it charges, this battery gives off explosive gas; {gathers}. It needs {want}, "
            "and nothing that sparks within {away_cm:.0f} cm.",
            gathers=gathers,
            want=want,
            away_cm=away_mm / 10.0,
        )
    elif opening is None:
        severity = Severity.WORTH_KNOWING
        words = phrase(
            "Give the battery's place {want}, and keep anything that sparks {away_cm:.0f} cm away.",
            want=want,
            away_cm=away_mm / 10.0,
        )
    else:
        severity = Severity.FINE
        words = phrase(
            "Openings of {opening:.0f} cm² are enough; {needed:.0f} cm² are needed.",
            opening=opening,
            needed=needed,
        )
    yield Finding(
        severity,
        words,
        ("battery",),
        (_air_figure(case, needed),),
        Given("free opening, low and high each", needed, "cm²"),
        options=_aired(case, needed) if severity < Severity.FINE else (),
    )


def _air_figure(case: Case, needed: float) -> Figure:
    bank = case.system.bank
    return worked(
        "free opening the battery needs",
        needed,
        "cm²",
        "28 × 0.05 × cells × gas current × capacity / 1000",
        VENTILATION,
        ("cells in series", 0 if bank is None else cells(bank), ""),
        ("capacity", 0.0 if bank is None else bank.capacity_ah, "Ah"),
        ("kind of battery", "" if bank is None else KIND_WORDS[bank.battery.chemistry], ""),
    )


def _aired(case: Case, needed: float) -> tuple[Remedy, ...]:
    bank = case.system.bank
    open_it = Remedy(
        phrase(
            "Make openings of {needed:.0f} cm², one low down and one near the top.",
            needed=max(needed, 1.0),
        ),
        case.chosen(vent_opening_cm2=float(round(needed + 0.5))),
    )
    if bank is None or bank.battery.chemistry != "flooded":
        return (open_it,)
    sealed = relabel(bank.battery, chemistry="agm")
    return (
        open_it,
        Remedy(
            phrase("Take a sealed battery, which gives off far less gas."),
            case.with_bank(battery=sealed),
            (Need("battery", "chemistry", "is", "agm"),),
        ),
    )


def panel_area_m2(array: Array) -> float:
    """Area of one panel: from its label, else from its power [m²]."""
    panel = array.panel
    if panel.length_m and panel.width_m:
        return panel.length_m * panel.width_m
    return panel.power_w / PANEL_W_PER_M2


def wind_force_n(array: Array, gust_m_s: float) -> float:
    """Force of a gust on one panel.

    Parameters
    ----------
    array : Array
        The array.
    gust_m_s : float
        Gust [m/s].

    Returns
    -------
    float
        Force [N].

    References
    ----------
    EN 1991-1-4: velocity pressure ½ρv² with ρ = 1.25 kg/m³; pressure coefficient 1.5,
    common practice, no source.
    """
    pressure_pa = 0.5 * AIR_DENSITY_KG_M3 * gust_m_s * gust_m_s
    return pressure_pa * PRESSURE_COEFFICIENT * panel_area_m2(array)


_MOUNTED = {
    "ground": phrase("Anchor the frame in the ground or weigh it down"),
    "roof": phrase(
        "Fix it to the rafters, not to the roof skin, and let no one work up there without a "
        "safe scaffold; ask whether the roof bears it"
    ),
    "wall": phrase("Fix it to sound masonry or timber with through bolts"),
    "pole": phrase("Set the pole in concrete, and mind that it takes the whole load at its foot"),
}


@rule(
    "wind-on-panels",
    asks="What does a gale do to the panels?",
    limit="the fixing holds each panel against the strongest gust",
    source=WIND,
    worst=Severity.WORTH_KNOWING,
)
def wind_on_panels(case: Case) -> Said:
    """A panel is a sail."""
    if not case.whole:
        return
    mountings = case.choices.mounting or ("ground",)
    for role, index, array in numbered_arrays(case):
        mounting = mountings[min(index, len(mountings) - 1)]
        if mounting not in _MOUNTED:
            continue
        force_n = wind_force_n(array, case.choices.gust_m_s)
        yield Finding(
            Severity.WORTH_KNOWING,
            phrase(
                "A gust of {gust_km_h:.0f} km/h can lift each panel with the weight of "
                "{weight_kg:.0f} kg. {mounted}; ask what the local code demands.",
                gust_km_h=case.choices.gust_m_s * 3.6,
                weight_kg=force_n / NEWTON_PER_KG,
                mounted=_MOUNTED[mounting],
            ),
            (role, "mounting"),
            (
                worked(
                    phrase("force of the strongest gust on one panel of the {role}", role=role),
                    force_n,
                    "N",
                    "½ × 1.25 kg/m³ × gust² × pressure coefficient × area",
                    WIND,
                    ("gust", case.choices.gust_m_s, "m/s"),
                    ("pressure coefficient", PRESSURE_COEFFICIENT, ""),
                    ("area of a panel", panel_area_m2(array), "m²"),
                ),
            ),
        )


@rule(
    "order-of-connecting",
    asks="In which order are the parts connected?",
    limit="battery first, panels last; apart in reverse",
    source=PRACTICE,
    worst=Severity.WORTH_KNOWING,
)
def order_of_connecting(case: Case) -> Said:
    """A controller takes its bearings from the battery."""
    system = case.system
    if not case.whole or system.controller is None or system.bank is None or not system.arrays:
        return
    arc = (
        phrase(" An arc of direct current does not go out by itself: never pull a plug under load.")
        if highest_voc_v(case, case.coldest_c) > 30.0
        else ""
    )
    yield Finding(
        Severity.WORTH_KNOWING,
        phrase(
            "Cover the panels, check the polarity with a meter, connect the battery to the "
            "controller first and the panels last; take apart in the reverse order. No rings or "
            "watch straps near the battery, and a fuse right at its positive pole.{arc}",
            arc=arc,
        ),
        ("controller", "battery", "array"),
    )


RULES = (ventilation, wind_on_panels, order_of_connecting)
