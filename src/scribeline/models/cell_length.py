"""How long a cell is: as far as sound gets in one and the same time, in hot gas and in cold.

A wave of one frequency is longer where sound is faster, so cells that grow with the speed of sound follow it equally
well everywhere, and none of them needs shorter time steps than the others. With cells of one length the hot exhaust
sets the step, and is finer than the cold ducts that wait for it. The speed of sound goes with the root of the
temperature; which gas is in a duct, burned or fresh, makes 4 to 9 % besides and is left out.

All judgement, no source, and no knob: a run does not depend on it but through the error that its cells leave.
"""

import math

REFERENCE_K = 500.0  # where a cell has the length that was asked for
# Gas to be expected at full load: rounded means, over a revolution and along the duct, of four invented engines from
# 4500 to 12500 rev/min, which have 610 to 790 K in the exhaust, 300 to 420 in transfers and 295 to 320 in the intake.
EXHAUST_K, CHARGE_K = 720.0, 320.0


def cell_length_m(asked_m: float, gas_k: float) -> float:
    """Length of the cells of a duct [m]: asked_m sqrt(gas_k / REFERENCE_K).

    asked_m : length of a cell in gas of REFERENCE_K [m]; gas_k : temperature to be expected in the duct [K]

    >>> [round(1e3 * cell_length_m(0.010, k), 1) for k in (EXHAUST_K, CHARGE_K)]
    [12.0, 8.0]
    """
    return asked_m * math.sqrt(gas_k / REFERENCE_K)
