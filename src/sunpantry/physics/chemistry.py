"""What the chemistries of small batteries have in common, as numbers.

Each constant names its source; most manufacturers print only a few of them, and the
rest is trade practice. ``sunpantry.physics.battery`` turns a label and one of these
sets into the model of a bank.

Validity: batteries for small solar systems as sold for leisure, standby and deep cycling; a label
that prints a figure of its own replaces the typical one. Departures: none of these constants
changes with age except through the capacity and the resistance of a worn bank.

References
----------
J. Schiffer, D. U. Sauer, H. Bindner et al., "Model prediction for ranking lead-acid
batteries according to expected lifetime in renewable energy systems and autonomous
power-supply systems", J. Power Sources 168 (2007) 66-78: shape of the charge curve
(Mc, Cc), of the discharge curve (Md, Cd) and gassing constants; values from memory.
J. B. Copetti, E. Lorenzo, F. Chenlo, "A general battery model for PV system simulation", Prog.
Photovolt. 1 (1993) 283-292: the resistance of lead-acid on charge grows by 2.5 % for each kelvin
below 25 °C; from memory.
E. Prada et al., J. Electrochem. Soc. 160 (2013) A616: LiFePO4/graphite cell; its equilibrium
voltage as the open parameter set of that name completes it, LiFePO4 after S. Afshar et al.,
arXiv 1709.03970 (2017), graphite after C.-H. Chen et al., J. Electrochem. Soc. 167 (2020) 080534.
"""

from __future__ import annotations

from dataclasses import dataclass


@dataclass(frozen=True, slots=True)
class Chemistry:
    """Constants of one chemistry, per cell where a voltage or resistance is meant.

    Parameters
    ----------
    cell_v : float
        Nominal cell voltage [V].
    rest_points : tuple of (float, float)
        Rest voltage [V/cell] against rated state of charge [-], rising.
    empty_v : float
        Voltage of the available well when it is drained [V/cell].
    rate_ratios : tuple of (float, float)
        Typical capacity at a discharge time [h] as a share of the 20-hour one, where the
        label gives one capacity only; empty for a cell whose capacity hardly depends on
        the rate (catalogue practice, from memory). Not below five hours: two wells cannot
        follow a catalogue's whole curve, and small solar systems discharge slowly. In one
        hour the model gives up to a fifth of the capacity more than a catalogue does.
    discharge_ohm_ah, charge_ohm_ah : float
        Resistance times capacity [Ω Ah per cell] on the scale of an hour, at 25 °C.
    surge_ohm_ah : float
        The same for a surge of a second (ohmic part only).
    taper, taper_reach : float
        Shepherd terms ``M`` and ``C``: resistance on charge grows by ``1 + M x/(C - x)``.
    drain, drain_reach : float
        The same on discharge, against the depth of discharge in rated capacities.
    coulombic : float
        Charge efficiency apart from gassing [-].
    gas_ma_per_100ah : float
        Gassing current at 2.23 V/cell and 20 °C [mA per 100 Ah]; 0: none.
    capacity_per_k : float
        Fraction of the capacity out of reach per kelvin below 25 °C [1/K].
    resistance_per_k, charge_resistance_per_k : float
        Relative growth of the resistance on discharge, and of that on charge, per kelvin below
        25 °C [1/K]; on charge, of lead-acid, after Copetti et al. (from memory).
    self_discharge_per_month : float
        Share lost in a month at 20 °C [-].
    cycles_at_half : float
        Cycles of 50 % depth to 80 % of the capacity [-].
    depth_exponent : float
        Wear of a cycle grows with its depth to this power [-].
    calendar_years : float
        Life on the shelf or on float at 20 °C [years].
    charge_c_rate, discharge_c_rate : float
        Usual current limits as a multiple of the capacity [1/h].
    min_charge_c, max_charge_c : float
        No charging below or above this cell temperature [°C]; lithium: makers' data sheets,
        from memory. Nothing stops the charge of lead-acid in the heat.
    min_discharge_c : float
        Colder than this it gives nothing at all [°C]: the electronics of a lithium battery open
        (makers' data sheets, from memory); of lead-acid the cold takes the capacity only.
    absorption_v, float_v, disconnect_v, reconnect_v : float
        Usual set points [V/cell] at 25 °C.
    compensation_mv_per_k : float
        Right temperature compensation of the charge voltages [mV/K per cell].
    """

    cell_v: float
    rest_points: tuple[tuple[float, float], ...]
    empty_v: float
    rate_ratios: tuple[tuple[float, float], ...]
    discharge_ohm_ah: float
    charge_ohm_ah: float
    surge_ohm_ah: float
    taper: float
    taper_reach: float
    drain: float
    drain_reach: float
    coulombic: float
    gas_ma_per_100ah: float
    capacity_per_k: float
    resistance_per_k: float
    charge_resistance_per_k: float
    self_discharge_per_month: float
    cycles_at_half: float
    depth_exponent: float
    calendar_years: float
    charge_c_rate: float
    discharge_c_rate: float
    min_charge_c: float
    max_charge_c: float
    min_discharge_c: float
    absorption_v: float
    float_v: float
    disconnect_v: float
    reconnect_v: float
    compensation_mv_per_k: float

    @property
    def is_lead_acid(self) -> bool:
        """Whether the cell is a lead-acid one."""
        return self.cell_v < 2.5


# Rest voltages: the table printed in many battery handbooks (11.89 ... 12.65 V at 12 V);
# sealed kinds 0.1-0.2 V higher (common practice, from memory).
_FLOODED_REST = ((0.0, 1.982), (0.25, 2.010), (0.5, 2.040), (0.75, 2.075), (1.0, 2.108))
_SEALED_REST = ((0.0, 1.972), (0.25, 2.015), (0.5, 2.055), (0.75, 2.100), (1.0, 2.138))

FLOODED = Chemistry(
    cell_v=2.0,
    rest_points=_FLOODED_REST,
    empty_v=1.78,
    rate_ratios=((5.0, 0.82), (10.0, 0.90), (20.0, 1.0), (100.0, 1.18)),
    discharge_ohm_ah=0.35,
    charge_ohm_ah=0.42,
    surge_ohm_ah=0.10,
    taper=0.888,
    taper_reach=1.001,
    drain=0.0464,
    drain_reach=1.75,
    coulombic=0.97,
    gas_ma_per_100ah=20.0,
    capacity_per_k=0.0075,
    resistance_per_k=0.012,
    charge_resistance_per_k=0.025,
    self_discharge_per_month=0.06,
    cycles_at_half=550.0,
    depth_exponent=1.2,
    calendar_years=8.0,
    charge_c_rate=0.15,
    discharge_c_rate=0.5,
    min_charge_c=-40.0,
    max_charge_c=100.0,
    min_discharge_c=-100.0,
    absorption_v=2.42,
    float_v=2.23,
    disconnect_v=1.90,
    reconnect_v=2.10,
    compensation_mv_per_k=-5.0,
)
AGM = Chemistry(
    cell_v=2.0,
    rest_points=_SEALED_REST,
    empty_v=1.78,
    rate_ratios=((5.0, 0.87), (10.0, 0.94), (20.0, 1.0), (100.0, 1.10)),
    discharge_ohm_ah=0.25,
    charge_ohm_ah=0.36,
    surge_ohm_ah=0.07,
    taper=0.888,
    taper_reach=1.001,
    drain=0.0464,
    drain_reach=1.75,
    coulombic=0.98,
    gas_ma_per_100ah=6.0,
    capacity_per_k=0.0075,
    resistance_per_k=0.012,
    charge_resistance_per_k=0.025,
    self_discharge_per_month=0.02,
    cycles_at_half=550.0,
    depth_exponent=1.2,
    calendar_years=7.0,
    charge_c_rate=0.20,
    discharge_c_rate=1.0,
    min_charge_c=-40.0,
    max_charge_c=100.0,
    min_discharge_c=-100.0,
    absorption_v=2.42,
    float_v=2.28,
    disconnect_v=1.90,
    reconnect_v=2.10,
    compensation_mv_per_k=-4.0,
)
GEL = Chemistry(
    cell_v=2.0,
    rest_points=_SEALED_REST,
    empty_v=1.78,
    rate_ratios=((5.0, 0.83), (10.0, 0.91), (20.0, 1.0), (100.0, 1.15)),
    discharge_ohm_ah=0.32,
    charge_ohm_ah=0.42,
    surge_ohm_ah=0.09,
    taper=0.888,
    taper_reach=1.001,
    drain=0.0464,
    drain_reach=1.75,
    coulombic=0.98,
    gas_ma_per_100ah=5.0,
    capacity_per_k=0.0075,
    resistance_per_k=0.012,
    charge_resistance_per_k=0.025,
    self_discharge_per_month=0.02,
    cycles_at_half=700.0,
    depth_exponent=1.2,
    calendar_years=10.0,
    charge_c_rate=0.15,
    discharge_c_rate=0.5,
    min_charge_c=-40.0,
    max_charge_c=100.0,
    min_discharge_c=-100.0,
    absorption_v=2.37,
    float_v=2.28,
    disconnect_v=1.90,
    reconnect_v=2.10,
    compensation_mv_per_k=-4.0,
)
LIFEPO4 = Chemistry(
    cell_v=3.2,
    rest_points=(
        (0.0, 2.50),
        (0.05, 2.80),
        (0.10, 2.98),
        (0.20, 3.169),
        (0.30, 3.206),
        (0.40, 3.253),
        (0.50, 3.266),
        (0.60, 3.269),
        (0.70, 3.274),
        (0.80, 3.310),
        (0.90, 3.314),
        (0.95, 3.316),
        (1.0, 3.40),
    ),
    empty_v=2.50,
    rate_ratios=(),
    discharge_ohm_ah=0.25,
    charge_ohm_ah=0.25,
    surge_ohm_ah=0.15,
    taper=0.05,
    taper_reach=1.02,
    drain=0.0,
    drain_reach=1.75,
    coulombic=0.99,
    gas_ma_per_100ah=0.0,
    capacity_per_k=0.003,
    resistance_per_k=0.02,
    charge_resistance_per_k=0.02,
    self_discharge_per_month=0.02,
    cycles_at_half=5500.0,
    depth_exponent=1.1,
    calendar_years=15.0,
    charge_c_rate=0.5,
    discharge_c_rate=1.0,
    min_charge_c=0.0,
    max_charge_c=45.0,
    min_discharge_c=-20.0,
    absorption_v=3.55,
    float_v=3.38,
    disconnect_v=3.00,
    reconnect_v=3.25,
    compensation_mv_per_k=0.0,
)
# A power bank is a lithium-ion cell behind two converters; volts are those of its cell
# scaled to the 5 V socket, so the curve is given relative to a nominal 5 V 'cell'.
POWER_BANK = Chemistry(
    cell_v=5.0,
    rest_points=((0.0, 4.3), (0.1, 4.75), (0.5, 5.0), (0.9, 5.45), (1.0, 5.65)),
    empty_v=4.05,
    rate_ratios=(),
    discharge_ohm_ah=0.5,
    charge_ohm_ah=0.5,
    surge_ohm_ah=0.3,
    taper=0.05,
    taper_reach=1.02,
    drain=0.0,
    drain_reach=1.75,
    coulombic=0.99,
    gas_ma_per_100ah=0.0,
    capacity_per_k=0.004,
    resistance_per_k=0.02,
    charge_resistance_per_k=0.02,
    self_discharge_per_month=0.03,
    cycles_at_half=900.0,
    depth_exponent=1.1,
    calendar_years=6.0,
    charge_c_rate=0.5,
    discharge_c_rate=0.7,
    min_charge_c=0.0,
    max_charge_c=45.0,
    min_discharge_c=-20.0,
    absorption_v=5.75,
    float_v=5.70,
    disconnect_v=4.2,
    reconnect_v=4.6,
    compensation_mv_per_k=0.0,
)

CHEMISTRIES: dict[str, Chemistry] = {
    "flooded": FLOODED,
    "agm": AGM,
    "gel": GEL,
    "lifepo4": LIFEPO4,
    "power_bank": POWER_BANK,
}
