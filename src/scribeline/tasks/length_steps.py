"""Steps of a length for fingers and keys: round numbers in whatever it is read in."""

from math import floor, log10
from typing import Any

from scribeline.units import MM_PER_INCH, Units


def round_step(inches: float) -> float:
    """The nearest of 1, 2 and 5 times a power of ten.

    >>> [round_step(mm / 25.4) for mm in (0.05, 0.1, 0.5, 1.0)]
    [0.002, 0.005, 0.02, 0.05]
    """
    power = 10.0 ** floor(log10(inches))
    near = min((power * one for one in (1.0, 2.0, 5.0, 10.0)), key=lambda one: abs(log10(one / inches)))
    return round(near, 12)


def for_browser(units: Units, fine_mm: float, coarse_mm: float) -> dict[str, Any]:
    """How a browser writes and steps lengths that it moves before the server hears of it.

    Returns the unit, how many mm it has, with how many decimals it is written, and how far an arrow key goes, alone
    and with Shift; in mm as given, in inches about as far.

    >>> for_browser("inch", 0.1, 1.0)
    {'unit': 'in', 'mm': 25.4, 'decimals': 3, 'fine': 0.005, 'coarse': 0.05}
    """
    if units == "mm":
        return {"unit": "mm", "mm": 1.0, "decimals": 2, "fine": fine_mm, "coarse": coarse_mm}
    per_inch = float(MM_PER_INCH)
    fine, coarse = (round_step(mm / per_inch) for mm in (fine_mm, coarse_mm))
    return {"unit": "in", "mm": per_inch, "decimals": 3, "fine": fine, "coarse": coarse}
