"""What the rules rest on, said once."""

from __future__ import annotations

from sunpantry.phrases import phrase

PRACTICE = phrase("common practice, no source")
LABEL = phrase("the labels of the parts")
NEC_COLD = phrase(
    "NEC 690.7(A): temperature coefficient of the label, or Table 690.7(A) where the label "
    "gives none (table from memory)"
)
NEC_BRIGHT = phrase(
    "NEC 690.8(A)(1): 1.25 × short-circuit current for bright cloud edges (from memory)"
)
ELV = phrase("IEC 61140 Band I and IEC 60364-4-41 §414.4.5: 120 V and 60 V DC (from memory)")
VENTILATION = phrase("EN IEC 62485-2 §7.2")
CHARGE_POINTS = phrase("usual set points of battery makers, V per cell at 25 °C (from memory)")
LITHIUM = phrase("usual limits of LiFePO4 makers (from memory)")
FREEZING = phrase("US Army TM 5-1185 Table III: freezing point of the acid by its density")
EXPLICIT_CURVE = phrase(
    "explicit curve of a panel from four label figures: I = Isc[1 − C1(exp(V/(C2·Voc)) − 1)] "
    "(Rauschenbach, Solar Cell Array Design Handbook, 1980; from memory)"
)
USB = phrase(
    "USB 2.0: 0.5 A; USB 3: 0.9 A; USB Battery Charging 1.2: 1.5 A; USB Type-C: 3 A, "
    "each at 5 V (from memory)"
)
SOCKET = phrase("vehicle sockets: 10 A continuous, common practice, no source")
RCD = phrase("IEC 60364-4-41: 30 mA residual-current protection, 50 V AC touch limit (from memory)")
WIND = phrase(
    "EN 1991-1-4: q = ½·1.25 kg/m³·v²; pressure coefficient 1.5, common practice, no source"
)
