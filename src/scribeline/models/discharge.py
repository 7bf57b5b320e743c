"""Discharge coefficients: how much of an opening's drawn area the flow really uses.

Constants by kind of opening and direction of flow, for the port fully open. Common practice, no source: steady-flow
benches usually find 0.6 to 0.85 for ports. A port that is barely open is a slot with rounded, close walls and passes
more of its area; that rise is from memory of the maps in blair-1996, which were not to hand. All of them are knobs.
"""

import numpy as np

from scribeline.kernels.gas import FloatArray
from scribeline.models.relation import Constant, Knob, Relation

EXHAUST_OUT, EXHAUST_IN = 0.75, 0.70
TRANSFER_OUT, TRANSFER_IN = 0.70, 0.75  # out of and into the transfer duct
INTAKE_OUT, INTAKE_IN = 0.75, 0.70  # out of and into the intake duct
REED_OUT, REED_IN = 0.70, 0.70
FUNNEL_OUT, FUNNEL_IN = 1.0, 0.95  # open end with a rounded lip; a plain cut pipe draws in with about 0.8
BARELY_OPEN = 1.15  # coefficient of a port that just opens over that of the same port fully open
# A plate or slide across a round bore. Judgement between the sharp-edged hole of the textbooks (0.61) and a wide-open
# slide, which is in nobody's way (1).
THROTTLE = 0.75


def used_area_m2(area_m2: FloatArray, barely_open: float = BARELY_OPEN) -> FloatArray:
    """Open areas of a port [m^2] times how the coefficient rises as it closes: 1 fully open, barely_open just open.

    area_m2 : any shape, one port. In between it falls evenly with the open share. The constant by direction is not in
    it. Source: common-practice; the rise from memory of blair-1996.

    >>> used_area_m2(np.array([0.0, 1e-4, 2e-4])).round(8).tolist()
    [0.0, 0.0001075, 0.0002]
    """
    most = float(area_m2.max())
    if most <= 0.0:
        return area_m2
    return np.asarray(area_m2 * (barely_open + (1.0 - barely_open) * area_m2 / most))


def throttle_area_m2(open_share: float, bore_area_m2: float, coefficient: float = THROTTLE) -> float:
    """Area that the flow uses past a throttle [m^2]: the open part, with its coefficient rising to 1 when wide open.

    open_share : open part of the carburettor's bore, 0.1 to 1 [-]. Half open at 0.75 is 0.4375 of the bore.

    >>> throttle_area_m2(0.5, 1.0)
    0.4375
    """
    return open_share * (coefficient + (1.0 - coefficient) * open_share) * bore_area_m2


RELATION = Relation(
    "discharge coefficients",
    "how much of an opening the flow uses",
    ("common-practice", "blair-1996", "judgement"),
    (
        Knob("exhaust_out", EXHAUST_OUT, "", "common-practice", 0.3, 1.0),
        Knob("exhaust_in", EXHAUST_IN, "", "common-practice", 0.3, 1.0),
        Knob("transfer_out", TRANSFER_OUT, "", "common-practice", 0.3, 1.0),
        Knob("transfer_in", TRANSFER_IN, "", "common-practice", 0.3, 1.0),
        Knob("intake_out", INTAKE_OUT, "", "common-practice", 0.3, 1.0),
        Knob("intake_in", INTAKE_IN, "", "common-practice", 0.3, 1.0),
        Knob("reed_out", REED_OUT, "", "common-practice", 0.3, 1.0),
        Knob("reed_in", REED_IN, "", "common-practice", 0.3, 1.0),
        Knob("funnel_in", FUNNEL_IN, "", "common-practice", 0.3, 1.0),
        Knob("barely_open", BARELY_OPEN, "", "blair-1996", 0.5, 1.5),
        Knob("throttle_coefficient", THROTTLE, "", "judgement", 0.3, 1.0),
    ),
    (),
    (Constant("FUNNEL_OUT", FUNNEL_OUT, "", "common-practice"),),
)
