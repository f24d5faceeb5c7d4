"""What the rules rest on, said once."""

from __future__ import annotations

PRACTICE = "common practice, no source"
LABEL = "the labels of the parts"
NEC_COLD = (
    "NEC 690.7(A): temperature coefficient of the label, or Table 690.7(A) where the label "
    "gives none (table from memory)"
)
NEC_BRIGHT = "NEC 690.8(A)(1): 1.25 × short-circuit current for bright cloud edges (from memory)"
ELV = "IEC 61140 Band I and IEC 60364-4-41 §414.4.5: 120 V and 60 V DC (from memory)"
VENTILATION = "EN IEC 62485-2 §7.2"
CHARGE_POINTS = "usual set points of battery makers, V per cell at 25 °C (from memory)"
LITHIUM = "usual limits of LiFePO4 makers (from memory)"
FREEZING = "US Army TM 5-1185 Table III: freezing point of the acid by its density"
EXPLICIT_CURVE = (
    "explicit curve of a panel from four label figures: I = Isc[1 − C1(exp(V/(C2·Voc)) − 1)] "
    "(Rauschenbach, Solar Cell Array Design Handbook, 1980; from memory)"
)
USB = (
    "USB 2.0: 0.5 A; USB 3: 0.9 A; USB Battery Charging 1.2: 1.5 A; USB Type-C: 3 A, "
    "each at 5 V (from memory)"
)
SOCKET = "vehicle sockets: 10 A continuous, common practice, no source"
RCD = "IEC 60364-4-41: 30 mA residual-current protection, 50 V AC touch limit (from memory)"
WIND = "EN 1991-1-4: q = ½·1.25 kg/m³·v²; pressure coefficient 1.5, common practice, no source"
