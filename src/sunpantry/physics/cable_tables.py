"""Published tables for copper cables. Currents in A, sizes in mm², resistances in Ω/km."""

from __future__ import annotations

# IEC 60228, tables 1 to 3: largest direct-current resistance at 20 °C of plain copper.
# Class 2: stranded, for fixed wiring (class 1, solid, has the same limits here).
CLASS_2_OHM_PER_KM = {
    0.5: 36.0,
    0.75: 24.5,
    1.0: 18.1,
    1.5: 12.1,
    2.5: 7.41,
    4.0: 4.61,
    6.0: 3.08,
    10.0: 1.83,
    16.0: 1.15,
    25.0: 0.727,
    35.0: 0.524,
    50.0: 0.387,
    70.0: 0.268,
    95.0: 0.193,
    120.0: 0.153,
}
# Class 5: flexible, as solar, battery and appliance leads.
CLASS_5_OHM_PER_KM = {
    0.5: 39.0,
    0.75: 26.0,
    1.0: 19.5,
    1.5: 13.3,
    2.5: 7.98,
    4.0: 4.95,
    6.0: 3.30,
    10.0: 1.91,
    16.0: 1.21,
    25.0: 0.780,
    35.0: 0.554,
    50.0: 0.386,
    70.0: 0.272,
    95.0: 0.206,
    120.0: 0.161,
}
SIZES_MM2 = tuple(CLASS_5_OHM_PER_KM)
COPPER_PER_K = 0.00393  # IEC 60228 annex: temperature coefficient at 20 °C

_FIXED_MM2 = (1.5, 2.5, 4.0, 6.0, 10.0, 16.0, 25.0, 35.0, 50.0, 70.0, 95.0, 120.0)


def _fixed(*amps: float) -> dict[float, float]:
    return dict(zip(_FIXED_MM2[-len(amps) :], amps, strict=True))


# IEC 60364-5-52:2009 table B.52.2 (E: B.52.10): PVC, 70 °C conductor, two loaded
# conductors, 30 °C air, 20 °C ground.
PVC_CAPACITY_A = {
    "A1": _fixed(14.5, 19.5, 26, 34, 46, 61, 80, 99, 119, 151, 182, 210),
    "A2": _fixed(14, 18.5, 25, 32, 43, 57, 75, 92, 110, 139, 167, 192),
    "B1": _fixed(17.5, 24, 32, 41, 57, 76, 101, 125, 151, 192, 232, 269),
    "B2": _fixed(16.5, 23, 30, 38, 52, 69, 90, 111, 133, 168, 201, 232),
    "C": _fixed(19.5, 27, 36, 46, 63, 85, 112, 138, 168, 213, 258, 299),
    "D1": _fixed(22, 29, 37, 46, 60, 78, 99, 119, 140, 173, 204, 231),
    "D2": _fixed(22, 28, 38, 48, 64, 83, 110, 132, 156, 192, 230, 261),
    "E": _fixed(22, 30, 40, 51, 70, 94, 119, 148, 180, 232, 282, 328),
    # Single cores touching in free air, table B.52.10 (from memory).
    "F": _fixed(131, 162, 196, 251, 304, 352),
}
# The same, XLPE, 90 °C conductor: tables B.52.3.
XLPE_CAPACITY_A = {
    "B1": _fixed(23, 31, 42, 54, 75, 100, 133, 164, 198, 253, 306, 354),
    "C": _fixed(24, 33, 45, 58, 80, 107, 138, 171, 209, 269, 328, 382),
}
# EN 50618, H1Z2Z2-K single solar cable in free air, 60 °C air, 120 °C conductor (from memory).
SOLAR_CAPACITY_A = {
    "air": {1.5: 30.0, 2.5: 41.0, 4.0: 55.0, 6.0: 70.0, 10.0: 98.0, 16.0: 132.0, 25.0: 176.0,
            35.0: 218.0},
}  # fmt: skip
# BS 7671 table 4F3A, flexible cords, 30 °C air, 60 °C conductor (from memory).
CORD_CAPACITY_A = {
    "air": {0.5: 3.0, 0.75: 6.0, 1.0: 10.0, 1.5: 16.0, 2.5: 25.0, 4.0: 32.0},
}
# Insulation -> capacities by method, conductor limit [°C], reference air temperature [°C].
INSULATIONS: dict[str, tuple[dict[str, dict[float, float]], float, float]] = {
    "pvc": (PVC_CAPACITY_A, 70.0, 30.0),
    "xlpe": (XLPE_CAPACITY_A, 90.0, 30.0),
    "solar": (SOLAR_CAPACITY_A, 120.0, 60.0),
    "cord": (CORD_CAPACITY_A, 60.0, 30.0),
}
GROUND_REFERENCE_C = 20.0
BURIED_METHODS = ("D1", "D2")

# IEC 60364-5-52 table B.52.17, first row: circuits bunched or enclosed together.
GROUPING = {
    1: 1.00,
    2: 0.80,
    3: 0.70,
    4: 0.65,
    5: 0.60,
    6: 0.57,
    7: 0.54,
    8: 0.52,
    9: 0.50,
    12: 0.45,
    16: 0.41,
    20: 0.38,
}
