"""Coarse simulations of the demonstration engines, run once for all tests that look at them."""

from functools import cache

from scribeline.cycle.simulate import Settings
from scribeline.tasks.curve import Curve, power_curve
from scribeline.tasks.trace import Trace, trace
from tests.examples import KART, edited

COARSE = Settings(cell_m=0.025, patient=False)


@cache
def curve_of(name: str = KART) -> Curve:
    """Three speeds of a demonstration engine."""
    return power_curve(edited(name=name), (7000.0, 8500.0, 10000.0), COARSE)


@cache
def half_failed() -> Curve:
    """The kart at a speed that settles and at one that is refused."""
    return power_curve(edited(), (8500.0, 31000.0), COARSE)


@cache
def trace_of(name: str = KART) -> Trace:
    """One speed of a demonstration engine."""
    return trace(edited(name=name), 9000.0, COARSE)
