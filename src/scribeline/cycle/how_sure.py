"""How sure the arithmetic of one speed is: by cells twice as long, and by turning on after it seemed to have settled.

Slow modes exist that no look at a few revolutions can tell from rest: an engine that comes past a state it does not
keep changes by a hundredth of a per cent a revolution, for more than a hundred revolutions. Turning on shows it.
What no run can tell is whether the model is like the engine.
"""

from collections.abc import Callable
from dataclasses import dataclass, replace

import numpy as np

from scribeline.cycle.engine import LONGEST_CELL_M, Engine
from scribeline.cycle.simulate import CycleResult, Running, Settings, run
from scribeline.errors import CycleError

TURNED_ON = 120
"""Revolutions: ten times what the gas needs to travel through a usual pipe."""
MEAN_OF = 24
"""Of the last so many, whole numbers of swings that come back after 2, 3, 4, 6, 8 or 12 revolutions. Judgement."""


@dataclass(frozen=True)
class Sure:
    """One speed with its numerical uncertainty: the result, the same with cells twice as long, and turned on."""

    result: CycleResult
    coarser: CycleResult
    later: CycleResult

    def plus_minus(self, name: str) -> float:
        """Numerical uncertainty of a number of the result, in its unit: what either of the two changes, added.

        name : of a number of CycleResult, such as "power_w". With second order the finer cells are three times nearer
        to the truth than they are to the longer ones, so this is on the wide side.
        """
        here = getattr(self.result, name)
        return float(sum(abs(getattr(other, name) - here) for other in (self.coarser, self.later)))


def turn_on(running: Running, result: CycleResult, revolutions: int = TURNED_ON) -> CycleResult:
    """Turn a running engine further, after it has settled to a result, and return the mean of the last revolutions.

    Its `distance` is how far the result was from there, relative, the worst of what is monitored.
    """
    further = np.zeros((revolutions, result.history.shape[1]))
    for i in range(revolutions):
        running.turn()
        further[i] = running.monitored()
    many = min(MEAN_OF, revolutions, running.recent.maxlen or MEAN_OF)
    then, now = result.history[-result.averaged :].mean(axis=0), further[-many:].mean(axis=0)
    history = np.vstack([result.history, further])
    later = running.result(history, float(np.abs(then / now - 1.0).max()), many)
    return replace(later, cycles=len(history))


def how_sure(
    engine: Engine,
    speed_rpm: float,
    settings: Settings | None = None,
    progress: Callable[[int, int], bool | None] | None = None,
) -> Sure:
    """Simulate one speed with its numerical uncertainty: once, once with cells twice as long, and once turned on.

    As `simulate`, and takes some ten times as long. Cells may be half of LONGEST_CELL_M at most.
    """
    s = settings or Settings()
    if 2.0 * s.cell_m > LONGEST_CELL_M:
        raise CycleError(
            f"cells of {1e3 * s.cell_m:g} mm\n    accepted: at most {500.0 * LONGEST_CELL_M:g} mm, as they are doubled "
            "to see what that changes\n    what to do: choose shorter ones"
        )
    running = Running(engine, speed_rpm, s)
    result = run(running, progress=progress)
    coarser = run(Running(engine, speed_rpm, replace(s, cell_m=2.0 * s.cell_m)), progress=progress)
    return Sure(result, coarser, turn_on(running, result))
