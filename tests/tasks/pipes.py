"""A pipe designed for the demonstration kart, coarsely, once for all tests that look at it."""

from functools import cache

from scribeline.cycle.simulate import Settings
from scribeline.tasks import pipe as tasks
from scribeline.tasks.pipe import PipeReport, Wanted, design_pipe, read_pipe
from tests.examples import KART, edited

COARSE = Settings(cell_m=0.030, patient=False)


@cache
def designed() -> PipeReport:
    """A search of one round and a sweep of every third speed: what counts is that it all hangs together."""
    usual = tasks.SWEEP, tasks.refine
    tasks.SWEEP = usual[0][::3]
    tasks.refine = lambda *given, **named: usual[1](*given, **named | {"most_rounds": 1})
    try:
        return design_pipe(edited(name=KART), Wanted(9000.0), coarse=COARSE, fine=COARSE)
    finally:
        tasks.SWEEP, tasks.refine = usual


@cache
def first() -> PipeReport:
    """By the rules alone."""
    return design_pipe(edited(name=KART), Wanted(9000.0, first_only=True))


@cache
def fitted() -> PipeReport:
    """The kart's own pipe, read and simulated at every third speed."""
    usual = tasks.SWEEP
    tasks.SWEEP = usual[::3]
    try:
        return read_pipe(edited(name=KART), settings=COARSE)
    finally:
        tasks.SWEEP = usual
