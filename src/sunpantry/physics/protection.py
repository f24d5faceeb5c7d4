"""Fuses and breakers: the ratings sold, and the rules by which one is chosen.

References
----------
.. [1] IEC 60364-4-43 §433.1: Ib ≤ In ≤ Iz and I2 ≤ 1.45·Iz.
.. [2] IEC 62548:2016 §6.3: string fuses.
.. [3] ISO 8820-3 and 8820-5 (blade and bolted fuses), IEC 60269 (gG), IEC 60269-6 (gPV),
   IEC 60127 (small tubes), IEC 60898-1 (breakers).
.. [4] NFPA 70 (National Electrical Code), articles 690.8 and 690.9.

All of the figures here are from memory of these standards.
"""

from __future__ import annotations

from typing import Literal

from sunpantry.errors import InputError
from sunpantry.phrases import phrase

Device = Literal["gG", "gPV", "tube", "blade", "maxi", "midi", "mega", "breaker"]

RATINGS_A: dict[Device, tuple[float, ...]] = {
    "gG": (2, 4, 6, 8, 10, 12, 16, 20, 25, 32, 40, 50, 63, 80, 100, 125, 160, 200, 250, 315, 400),
    "gPV": (1, 2, 3, 4, 5, 6, 8, 10, 12, 15, 16, 20, 25, 30),
    "tube": (0.5, 0.63, 0.8, 1, 1.25, 1.6, 2, 2.5, 3.15, 4, 5, 6.3, 8, 10),
    "blade": (1, 2, 3, 4, 5, 7.5, 10, 15, 20, 25, 30, 35, 40),
    "maxi": (20, 25, 30, 35, 40, 50, 60, 70, 80, 100),
    "midi": (30, 40, 50, 60, 70, 80, 100, 125, 150, 200),
    "mega": (60, 80, 100, 125, 150, 175, 200, 225, 250, 300, 350, 400, 500),
    "breaker": (6, 10, 13, 16, 20, 25, 32, 40, 50, 63, 80, 100, 125),
}
# Colours of blade fuses, ISO 8820-3.
BLADE_COLOURS = {
    2.0: phrase("grey"),
    3.0: phrase("violet"),
    4.0: phrase("pink"),
    5.0: phrase("tan"),
    7.5: phrase("brown"),
    10.0: phrase("red"),
    15.0: phrase("blue"),
    20.0: phrase("yellow"),
    25.0: phrase("white"),
    30.0: phrase("green"),
    35.0: phrase("blue-green"),
    40.0: phrase("amber"),
}
# Rated DC voltage [V] and breaking capacity [A] usual for each kind. The bolted and gG
# values vary with the make: common practice, no source.
DC_VOLTAGE_V: dict[Device, float] = {
    "gG": 250.0,
    "gPV": 1000.0,
    "tube": 32.0,
    "blade": 32.0,
    "maxi": 32.0,
    "midi": 58.0,
    "mega": 58.0,
    "breaker": 60.0,
}
BREAKING_CAPACITY_A: dict[Device, float] = {
    "gG": 25_000.0,
    "gPV": 10_000.0,
    "tube": 100.0,
    "blade": 1_000.0,
    "maxi": 1_000.0,
    "midi": 2_000.0,
    "mega": 2_000.0,
    "breaker": 6_000.0,
}
# Magnetic release of breakers in multiples of the rating, IEC 60898-1.
MAGNETIC_RELEASE = {"B": (3.0, 5.0), "C": (5.0, 10.0), "D": (10.0, 20.0)}
STRING_LEAST, STRING_MOST = 1.5, 2.4
CONTINUOUS_MARGIN = 1.25


def fusing_current_a(device: Device, rating_a: float) -> float:
    """Conventional current at which a device opens for certain within its set time.

    Parameters
    ----------
    device : str
        Kind of fuse or breaker.
    rating_a : float
        Its rating [A].

    Returns
    -------
    float
        I2 [A].

    References
    ----------
    [3]_: gG 1.6 In from 16 A, 1.9 In between 4 and 16 A, 2.1 In up to 4 A; breakers and
    gPV 1.45 In; blade and bolted 1.35 In. Departure: small tubes taken as 2.1 In.
    """
    if device == "gG":
        factor = 1.6 if rating_a >= 16 else 1.9 if rating_a > 4 else 2.1
    elif device == "tube":
        factor = 2.1
    elif device in ("gPV", "breaker"):
        factor = 1.45
    else:
        factor = 1.35
    return factor * rating_a


def is_coordinated(
    device: Device, *, rating_a: float, design_current_a: float, capacity_a: float
) -> bool:
    """Whether a device lets the load run and protects the cable.

    Parameters
    ----------
    device : str
        Kind of fuse or breaker.
    rating_a : float
        Its rating In [A].
    design_current_a : float
        Largest lasting current Ib [A].
    capacity_a : float
        What the cable may carry Iz [A].

    Returns
    -------
    bool
        Ib ≤ In ≤ Iz and I2 ≤ 1.45·Iz.

    References
    ----------
    [1]_.
    """
    return (
        design_current_a <= rating_a <= capacity_a
        and fusing_current_a(device, rating_a) <= 1.45 * capacity_a + 1e-9
    )


def choose_rating_a(device: Device, *, design_current_a: float, capacity_a: float) -> float | None:
    """Smallest rating sold that is coordinated with the load and the cable.

    Parameters
    ----------
    device : str
        Kind of fuse or breaker.
    design_current_a : float
        Largest lasting current [A].
    capacity_a : float
        What the cable may carry [A].

    Returns
    -------
    float or None
        Rating [A]; ``None`` when only a thicker cable would do.

    References
    ----------
    [1]_, [3]_.
    """
    for rating_a in RATINGS_A[device]:
        if is_coordinated(
            device, rating_a=rating_a, design_current_a=design_current_a, capacity_a=capacity_a
        ):
            return float(rating_a)
    return None


def capacity_needed_a(device: Device, rating_a: float) -> float:
    """Least capacity of a cable behind a device of this rating.

    Parameters
    ----------
    device : str
        Kind of fuse or breaker.
    rating_a : float
        Its rating [A].

    Returns
    -------
    float
        Iz [A]: the larger of In and I2/1.45.

    References
    ----------
    [1]_.
    """
    return max(rating_a, fusing_current_a(device, rating_a) / 1.45)


def next_rating_a(device: Device, current_a: float) -> float | None:
    """Smallest rating sold that is not below a current.

    Parameters
    ----------
    device : str
        Kind of fuse or breaker.
    current_a : float
        Current [A].

    Returns
    -------
    float or None
        Rating [A]; ``None`` when the series ends below.

    References
    ----------
    [3]_.
    """
    return next((float(rating) for rating in RATINGS_A[device] if rating >= current_a), None)


def string_fuses_needed(*, parallel: int, isc_a: float, max_series_fuse_a: float | None) -> bool:
    """Whether strings in parallel need a fuse each.

    Parameters
    ----------
    parallel : int
        Strings in parallel [-].
    isc_a : float
        Short-circuit current of one string at standard test conditions [A].
    max_series_fuse_a : float or None
        Largest fuse the panel allows, from its label [A]; ``None``: not known.

    Returns
    -------
    bool
        True when the other strings together could drive more than the panel bears;
        without the label, from three strings up.

    References
    ----------
    [2]_ §6.3.3: (Np − 1)·Isc > I_MOD_MAX_OCPR.
    """
    if max_series_fuse_a is None:
        return parallel >= 3
    return (parallel - 1) * isc_a > max_series_fuse_a


def string_fuse_a(*, isc_a: float, max_series_fuse_a: float | None = None) -> float | None:
    """Rating of a string fuse: 1.5 to 2.4 times the short-circuit current.

    Parameters
    ----------
    isc_a : float
        Short-circuit current of the string at standard test conditions [A].
    max_series_fuse_a : float or None
        Largest fuse the panel allows, from its label [A].

    Returns
    -------
    float or None
        Smallest gPV rating in the window [A]; ``None`` when the label forbids it.

    References
    ----------
    [2]_ §6.3.5.
    """
    rating_a = next_rating_a("gPV", STRING_LEAST * isc_a)
    if rating_a is None or rating_a > STRING_MOST * isc_a:
        return None
    if max_series_fuse_a is not None and rating_a > max_series_fuse_a:
        return None
    return rating_a


def code_pv_current_a(isc_a: float) -> tuple[float, float]:
    """Currents of an array's circuit by the American code.

    Parameters
    ----------
    isc_a : float
        Short-circuit current at standard test conditions [A].

    Returns
    -------
    maximum_a : float
        1.25·Isc [A].
    protection_a : float
        1.5625·Isc, the least rating and the least capacity [A].

    References
    ----------
    [4]_ 690.8(A)(1) and 690.9(B).
    """
    return 1.25 * isc_a, 1.25 * 1.25 * isc_a


def battery_short_circuit_a(
    *, open_circuit_v: float, internal_ohm: float, cable_ohm: float = 0.0
) -> float:
    """Current a battery drives into a short circuit.

    Parameters
    ----------
    open_circuit_v : float
        Rest voltage of the full bank [V].
    internal_ohm : float
        Internal resistance of the bank [Ω].
    cable_ohm : float
        Resistance of the leads to the fault, there and back [Ω].

    Returns
    -------
    float
        Prospective current [A].

    Raises
    ------
    InputError
        When no resistance is left.

    References
    ----------
    Ohm's law; IEEE Std 946 uses about ten times the one-minute rating of a lead-acid
    battery, which comes to the same (from memory).
    """
    total_ohm = internal_ohm + cable_ohm
    if total_ohm <= 0.0:
        raise InputError.one(
            "internal_resistance", f"{internal_ohm:g} Ω", "above 0", "take it from the label"
        )
    return open_circuit_v / total_ohm


def battery_main_fuse_a(
    *, continuous_a: float, capacity_a: float, prospective_a: float, bank_v: float
) -> tuple[Device, float] | None:
    """Main fuse of a battery: 1.25 times the lasting current, and able to break its fault.

    Parameters
    ----------
    continuous_a : float
        Largest lasting current [A].
    capacity_a : float
        What the main cable may carry [A].
    prospective_a : float
        Short-circuit current of the bank [A].
    bank_v : float
        Highest voltage of the bank [V].

    Returns
    -------
    tuple of (str, float) or None
        Kind and rating [A] of the first that suits, from the smallest kind to the
        largest; ``None`` when only a thicker cable would do.

    References
    ----------
    [1]_, [3]_; the margin of 1.25 and the place within reach of the terminal (about
    200 mm in small craft) are common practice.
    """
    kinds: tuple[Device, ...] = ("blade", "maxi", "midi", "mega", "gG")
    for device in kinds:
        if BREAKING_CAPACITY_A[device] < prospective_a or DC_VOLTAGE_V[device] < bank_v:
            continue
        rating_a = choose_rating_a(
            device, design_current_a=CONTINUOUS_MARGIN * continuous_a, capacity_a=capacity_a
        )
        if rating_a is not None:
            return device, rating_a
    return None
