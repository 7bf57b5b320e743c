"""Numbers in single precision that lose nothing by it.

A kernel that meets only these and what it is given works in the precision of what it is given: a plain 0.5 would make
doubles of single numbers, a HALF takes nothing from doubles. A third is in two parts, as it is no such number.
"""

import numpy as np


def single(number: float) -> float:
    """The nearest number in single precision; called a float, as kernels take it for one.

    >>> single(0.5) == 0.5, single(0.1) == 0.1
    (True, False)
    """
    return np.float32(number)  # type: ignore[return-value]


NIL, QUARTER, HALF, ONE, TWO, THREE, THOUSAND = (single(x) for x in (0.0, 0.25, 0.5, 1.0, 2.0, 3.0, 1000.0))
THIRD = single(1.0 / 3.0)
REST_OF_THIRD = single(1.0 / 3.0 - float(THIRD))
