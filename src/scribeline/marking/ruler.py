"""Where the ticks of a rule go, in millimetres or in decimal inches."""

from collections.abc import Iterator
from dataclasses import dataclass
from typing import Literal

from scribeline.units import MM_PER_INCH, Units

_PER_INCH = 20  # a tick every 0.05 in, 1.27 mm: about as close as millimetres, which the eye still parts


@dataclass(frozen=True)
class Tick:
    """One tick. kind : how long it is drawn; words : its number, empty for most"""

    at_mm: float
    kind: Literal["number", "half", "small"]
    words: str = ""


def ruler(long_mm: float, units: Units = "mm") -> Iterator[Tick]:
    """The ticks from 0 on, as far as the rule is long: each mm with a number every 10, or each 0.05 in, every 0.5.

    >>> [tick.words for tick in ruler(26.0, "inch") if tick.words], len(list(ruler(26.0)))
    (['0', '0.5', '1'], 27)
    """
    every, half, number = (1.0, 5, 10) if units == "mm" else (float(MM_PER_INCH) / _PER_INCH, 2, 10)
    for place in range(int(long_mm / every + 1e-9) + 1):
        if place % number == 0:
            yield Tick(place * every, "number", f"{place if units == 'mm' else place / _PER_INCH:g}")
        else:
            yield Tick(place * every, "half" if place % half == 0 else "small")
