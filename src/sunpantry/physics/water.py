"""Water up a pipe: energy, friction, suction, and what an array must give for it.

References
----------
.. [1] F. M. White, "Fluid Mechanics", McGraw-Hill: Darcy-Weisbach and Colebrook, minor
   losses; the friction factor is that of the ``fluids`` package.
"""

from __future__ import annotations

import math
from dataclasses import dataclass

from sunpantry.errors import InputError

GRAVITY_M_S2 = 9.81
WATER_KG_M3 = 1000.0
# Kinematic viscosity of water at 20 °C [m²/s]; at 10 °C it is 30 % more, which raises the
# friction of a plastic pipe by about 5 %.
VISCOSITY_M2_S = 1.004e-6
# Roughness [mm], from memory of handbook tables.
ROUGHNESS_MM = {"plastic": 0.007, "copper": 0.0015, "steel": 0.045, "galvanised": 0.15}
# Loss coefficients in velocity heads, from memory of handbook tables (screwed fittings).
ELBOW, GATE_VALVE, CHECK_VALVE, ENTRY, EXIT = 0.9, 0.2, 2.0, 0.5, 1.0
# Inside diameter of polyethylene pipe, SDR 11, by outside diameter [mm] (from memory).
PIPE_BORES_MM = {20: 16.0, 25: 20.4, 32: 26.0, 40: 32.6, 50: 40.8, 63: 51.4}
# Lift a surface pump can be trusted with at sea level; the theory says 10.33 m.
SENSIBLE_LIFT_M = 6.5
LIFT_LOST_M_PER_KM = 1.2


@dataclass(frozen=True, slots=True)
class Pipe:
    """A pipe with its fittings, from the water to the outlet.

    Parameters
    ----------
    static_head_m : float
        From the surface of the water to the outlet [m].
    length_m : float
        Length of pipe [m].
    bore_mm : float
        Inside diameter [mm].
    material : str
        'plastic', 'copper', 'steel' or 'galvanised'.
    elbows, valves, check_valves : int
        Fittings [-].
    """

    static_head_m: float
    length_m: float
    bore_mm: float
    material: str = "plastic"
    elbows: int = 0
    valves: int = 0
    check_valves: int = 1

    def __post_init__(self) -> None:
        if self.material not in ROUGHNESS_MM:
            raise InputError.one(
                "pipe", self.material, f"one of {', '.join(ROUGHNESS_MM)}", "choose the nearest"
            )

    @property
    def loss_coefficient(self) -> float:
        """Loss in entry, fittings and outlet, in velocity heads [-]."""
        return (
            ENTRY
            + EXIT
            + ELBOW * self.elbows
            + GATE_VALVE * self.valves
            + CHECK_VALVE * self.check_valves
        )

    def head_m(self, flow_l_min: float) -> float:
        """Head a pump must give to drive a flow.

        Parameters
        ----------
        flow_l_min : float
            Flow [L/min].

        Returns
        -------
        float
            Static head and losses [m].

        References
        ----------
        [1]_ in the module docstring.
        """
        return self.static_head_m + friction_head_m(
            flow_l_min=flow_l_min,
            length_m=self.length_m,
            bore_mm=self.bore_mm,
            roughness_mm=ROUGHNESS_MM[self.material],
            loss_coefficient=self.loss_coefficient,
        )


def hydraulic_energy_wh(*, volume_m3: float, head_m: float) -> float:
    """Energy in lifted water.

    Parameters
    ----------
    volume_m3 : float
        Volume [m³].
    head_m : float
        Head, static and friction [m].

    Returns
    -------
    float
        Energy [Wh]: 2.725 for a cubic metre and a metre.

    References
    ----------
    ρ·g·V·H.
    """
    return WATER_KG_M3 * GRAVITY_M_S2 * volume_m3 * head_m / 3600.0


def hydraulic_power_w(*, flow_l_min: float, head_m: float) -> float:
    """Power in flowing water.

    Parameters
    ----------
    flow_l_min : float
        Flow [L/min].
    head_m : float
        Head [m].

    Returns
    -------
    float
        Power [W].

    References
    ----------
    ρ·g·Q·H.
    """
    return WATER_KG_M3 * GRAVITY_M_S2 * flow_l_min / 60_000.0 * head_m


def velocity_m_s(*, flow_l_min: float, bore_mm: float) -> float:
    """Mean velocity in a pipe.

    Parameters
    ----------
    flow_l_min : float
        Flow [L/min].
    bore_mm : float
        Inside diameter [mm].

    Returns
    -------
    float
        Velocity [m/s].

    References
    ----------
    Continuity.
    """
    return flow_l_min / 60_000.0 / (math.pi / 4.0 * (bore_mm / 1000.0) ** 2)


def friction_factor(*, reynolds: float, relative_roughness: float) -> float:
    """Darcy friction factor: 64/Re when laminar, Colebrook's when turbulent.

    Parameters
    ----------
    reynolds : float
        Reynolds number [-].
    relative_roughness : float
        Roughness over diameter [-].

    Returns
    -------
    float
        Factor [-].

    References
    ----------
    [1]_; solved by ``fluids.friction_factor``, turbulent from Re 2040.
    """
    import fluids

    return float(fluids.friction_factor(Re=reynolds, eD=relative_roughness))


def friction_head_m(
    *,
    flow_l_min: float,
    length_m: float,
    bore_mm: float,
    roughness_mm: float = ROUGHNESS_MM["plastic"],
    loss_coefficient: float = 0.0,
    viscosity_m2_s: float = VISCOSITY_M2_S,
) -> float:
    """Head lost in a pipe and its fittings.

    Parameters
    ----------
    flow_l_min : float
        Flow [L/min].
    length_m : float
        Length of pipe [m].
    bore_mm : float
        Inside diameter [mm].
    roughness_mm : float
        Roughness of the wall [mm].
    loss_coefficient : float
        Fittings, in velocity heads [-].
    viscosity_m2_s : float
        Kinematic viscosity [m²/s].

    Returns
    -------
    float
        Head [m].

    References
    ----------
    [1]_: (f·L/D + K)·v²/2g.
    """
    if flow_l_min <= 0.0:
        return 0.0
    bore_m = bore_mm / 1000.0
    velocity = velocity_m_s(flow_l_min=flow_l_min, bore_mm=bore_mm)
    factor = friction_factor(
        reynolds=velocity * bore_m / viscosity_m2_s, relative_roughness=roughness_mm / bore_mm
    )
    return (factor * length_m / bore_m + loss_coefficient) * velocity**2 / (2.0 * GRAVITY_M_S2)


def sensible_lift_m(altitude_m: float = 0.0) -> float:
    """Height a pump can be trusted to suck water.

    Parameters
    ----------
    altitude_m : float
        Altitude of the place [m].

    Returns
    -------
    float
        Lift, friction in the suction pipe included [m].

    References
    ----------
    Handbook rule: 6 to 7 m at sea level, 1.2 m less for each 1000 m.
    """
    return max(SENSIBLE_LIFT_M - LIFT_LOST_M_PER_KM * altitude_m / 1000.0, 0.0)


def pump_array_w(*, head_m: float, volume_m3: float, sun_kwh_m2: float) -> float:
    """Peak power of an array that pumps water straight from the sun, by rule of thumb.

    Parameters
    ----------
    head_m : float
        Total head [m].
    volume_m3 : float
        Water a day [m³/d].
    sun_kwh_m2 : float
        Irradiation of the design month [kWh/m²/d].

    Returns
    -------
    float
        Peak power [W].

    References
    ----------
    Rule of development agencies (GIZ, FAO; from memory): 8.0·H·V/G, which is 34 % of the
    label's energy in the water.
    """
    return 8.0 * head_m * volume_m3 / sun_kwh_m2
