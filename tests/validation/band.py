"""Where an engine's power lies, in two figures that do not jump as the speed of best power does.

The best speed itself sits on the edge of a cliff. So a trend is judged on the centre of the band above 90 % of the best
power, and on the speed at which the exhaust traps best, of the speeds in that band: outside it, off the pipe, a few per
cent of a small charge may be trapped better still.
"""

from collections.abc import Sequence

import numpy as np

from scribeline.cycle.simulate import CycleResult

SHARE = 0.9


def band(results: Sequence[CycleResult]) -> tuple[float, float]:
    """Lowest and highest speed with more than SHARE of the best power [1/min], straight lines between the speeds."""
    speed = np.array([r.speed_rpm for r in results])
    fine = np.linspace(speed[0], speed[-1], 4001)
    power = np.interp(fine, speed, [r.power_w for r in results])
    above = fine[power > SHARE * power.max()]
    return float(above[0]), float(above[-1])


def band_centre(results: Sequence[CycleResult]) -> float:
    """Centre of the band above 90 % of the best power [1/min]."""
    return 0.5 * sum(band(results))


def best_trapping_rpm(results: Sequence[CycleResult]) -> float:
    """Speed of best trapping in that band [1/min]: top of the parabola that fits five speeds around the best one."""
    first, last = band(results)
    speed = np.array([r.speed_rpm for r in results])
    trapping = np.array([r.trapping_efficiency for r in results])
    inside = np.where((speed >= first) & (speed <= last), trapping, 0.0)
    best = int(np.clip(inside.argmax(), 2, len(speed) - 3))
    five = slice(best - 2, best + 3)
    curved, slope, _ = np.polyfit(speed[five] - speed[best], trapping[five], 2)
    if curved >= 0.0:
        return float(speed[inside.argmax()])
    return float(np.clip(speed[best] - 0.5 * slope / curved, speed[five][0], speed[five][-1]))
