"""Gate times: how long from one speed to another within a pull, and how well that is known.

The crossing is where the smooth trace passes the speed. Its +/- has two parts: the scatter of the readings, carried
through the fit and divided by the acceleration; and the time between readings, because a trace that bends between two
of them is not seen bending.
"""

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from scribeline.trials.smoothing import Smooth

Floats = NDArray[np.float64]


@dataclass(frozen=True)
class Gate:
    """Two speeds [m/s]. Falling ones (a braking or coasting test) are gates too."""

    from_m_s: float
    to_m_s: float

    @property
    def name(self) -> str:
        """In km/h, as riders say it.

        >>> Gate(30 / 3.6, 55 / 3.6).name
        '30 to 55 km/h'
        """
        return f"{round(3.6 * self.from_m_s, 1):g} to {round(3.6 * self.to_m_s, 1):g} km/h"


@dataclass(frozen=True)
class GateResult:
    """Time through a gate with its +/- (about 95 %), and the moments at which each speed was passed [s]."""

    gate: Gate
    seconds: float
    plus_minus_s: float
    start_s: float
    end_s: float


def gate_time(trace: Smooth, gate: Gate) -> GateResult | None:
    """The time through a gate, or None where the pull does not go from below it to above it.

    The last time the first speed is passed before the second one is, so that a stumble at the start does not count.
    """
    rising = gate.to_m_s > gate.from_m_s
    ends = _passes(trace, gate.to_m_s, rising)
    if not ends:
        return None
    starts = [one for one in _passes(trace, gate.from_m_s, rising) if one[0] < ends[0][0]]
    if not starts:
        return None
    (start, start_se), (end, end_se) = starts[-1], ends[0]
    return GateResult(gate, end - start, 2.0 * float(np.hypot(start_se, end_se)), start, end)


def _passes(trace: Smooth, speed: float, rising: bool) -> list[tuple[float, float]]:
    """Moments at which the trace passes a speed in the wanted sense, each with its standard error [s]."""
    t, v = trace.time_s, trace.value
    below = v[:-1] < speed
    crossing = (below & (v[1:] >= speed)) if rising else (~below & (v[1:] < speed))
    found = []
    bend = np.gradient(trace.slope, t)
    for i in np.flatnonzero(crossing):
        share = (speed - v[i]) / (v[i + 1] - v[i])
        step = t[i + 1] - t[i]
        slope = abs((v[i + 1] - v[i]) / step)
        unseen = abs(bend[i : i + 2]).max() * step**2 / 8.0 / np.sqrt(3.0)
        se = float(np.hypot(trace.value_se[i : i + 2].max(), unseen) / max(slope, 1e-6))
        found.append((float(t[i] + share * step), se))
    return found


def mean_acceleration_m_s2(result: GateResult) -> tuple[float, float]:
    """Mean acceleration through a gate with its +/- [m/s²]."""
    mean = (result.gate.to_m_s - result.gate.from_m_s) / result.seconds
    return mean, abs(mean) * result.plus_minus_s / result.seconds
