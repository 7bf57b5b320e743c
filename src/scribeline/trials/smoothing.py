"""A speed trace made smooth, and its slope, each with its standard error: a local parabola through the neighbours.

At every moment a parabola is fitted to the values within `reach_s` of it, near ones counting more (tricube weights);
its height is the speed and its slope the acceleration. It is stated, local, and linear in the readings, so the scatter
of both follows from the scatter of the readings and needs no belief. It invents no peak: a bump counts only where it
stands out from its surroundings by more than the +/- says.
Source: fan-gijbels-1996.
"""

from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike, NDArray

from scribeline.errors import TrialError

Floats = NDArray[np.float64]

REACHES_S = (0.3, 0.45, 0.7, 1.0, 1.5, 2.2, 3.3)
"""What `choose_reach` tries, from sharp to calm (judgement)."""
WANTED_SHARE = 0.04
"""Standard error of the acceleration that is good enough, as a share of its usual size (judgement)."""


@dataclass(frozen=True)
class Smooth:
    """A smooth trace: shapes (n,). sd is the scatter of the readings about it, found from what is left over."""

    time_s: Floats
    value: Floats
    slope: Floats
    value_se: Floats
    slope_se: Floats
    reach_s: float
    sd: float


def smooth(
    time_s: ArrayLike, values: ArrayLike, reach_s: float, at_s: ArrayLike | None = None, sd: float | None = None
) -> Smooth:
    """Fit a local parabola at each moment.

    time_s : (n,) ascending [s]; values : (n,), any unit; reach_s : how far the neighbours reach to either side [s]
    at_s : moments wanted, the readings' own where left out; sd : scatter of one reading, from the residuals where None
    Raises TrialError for fewer than five readings within reach of some moment.

    >>> t = np.linspace(0.0, 4.0, 41)
    >>> round(float(smooth(t, 3.0 + 2.0 * t, 0.5).slope[20]), 9)
    2.0
    """
    t, y = np.asarray(time_s, np.float64), np.asarray(values, np.float64)
    own = _weights(t, t, reach_s)
    if sd is None:
        left_over = y - own.of(y, 0)
        # Degrees of freedom of a linear smoother: n - 2 tr S + tr S'S.
        degrees = t.size - 2.0 * own.trace() + float((own.weights[0] ** 2).sum())
        sd = float(np.sqrt((left_over**2).sum() / max(degrees, 1.0)))
    at, there = (t, own) if at_s is None else (np.asarray(at_s, np.float64), None)
    there = there or _weights(t, at, reach_s)
    value_se, slope_se = (sd * np.sqrt((one**2).sum(axis=1)) for one in there.weights)
    return Smooth(at, there.of(y, 0), there.of(y, 1), value_se, slope_se, reach_s, sd)


def choose_reach(time_s: ArrayLike, values: ArrayLike, wanted_share: float = WANTED_SHARE) -> float:
    """The smallest reach [s] whose slope is known to `wanted_share` of its usual size, of a fixed list.

    The largest of the list where none is good enough; never one that holds fewer than seven readings.
    """
    t = np.asarray(time_s, np.float64)
    step = float(np.median(np.diff(t)))
    possible = [reach for reach in REACHES_S if reach >= 3.5 * step and 2.0 * reach <= t[-1] - t[0]]
    possible = possible or [max(3.5 * step, REACHES_S[0])]
    for reach in possible:
        tried = smooth(t, values, reach)
        if np.median(tried.slope_se) <= wanted_share * np.median(np.abs(tried.slope)):
            return reach
    return possible[-1]


@dataclass(frozen=True)
class _Weights:
    """What each reading counts for: places (m, k) of the readings, weights (2, m, k) of the value and of the slope."""

    places: NDArray[np.intp]
    weights: Floats

    def of(self, values: Floats, which: int) -> Floats:
        return np.asarray(np.einsum("mk,mk->m", self.weights[which], values[self.places]))

    def trace(self) -> float:
        """Sum of what each reading counts for in its own moment; only where the moments are the readings'."""
        own = self.places == np.arange(len(self.places))[:, np.newaxis]
        return float(self.weights[0][own].sum())


def _weights(t: Floats, at: Floats, reach_s: float) -> _Weights:
    ends = [_at_least_five(t, float(moment), reach_s) for moment in at]
    first, last = np.array([low for low, _ in ends]), np.array([high for _, high in ends])
    width = int((last - first).max())
    # Narrower neighbourhoods are filled up with readings that count for nothing.
    places = np.clip(first[:, np.newaxis] + np.arange(width), 0, t.size - 1)
    counted = np.arange(width) < (last - first)[:, np.newaxis]
    away = np.where(counted, t[places] - at[:, np.newaxis], 0.0)
    span = np.maximum(np.abs(away).max(axis=1) * 1.001, reach_s)[:, np.newaxis]
    tricube = np.where(counted, (1.0 - (np.abs(away) / span) ** 3) ** 3, 0.0)
    scaled = away / span
    powers = np.stack([np.ones_like(scaled), scaled, scaled**2])
    moments = np.einsum("imk,jmk,mk->mij", powers, powers, tricube)
    solved = np.linalg.solve(moments, np.einsum("imk,mk->mik", powers, tricube))
    return _Weights(places, np.stack([solved[:, 0], solved[:, 1] / span]))


def _at_least_five(t: Floats, moment: float, reach_s: float) -> tuple[int, int]:
    """The readings within reach; at an end of the trace, or where it is sparse, the five nearest."""
    low, high = np.searchsorted(t, moment - reach_s), np.searchsorted(t, moment + reach_s, side="right")
    if high - low >= 5:
        return int(low), int(high)
    if t.size < 5:
        raise TrialError(
            f"{t.size} readings\n    accepted: at least 5 within a pull\n    what to do: record more often, or use "
            "typed gate times"
        )
    while high - low < 5:
        if low == 0 or (high < t.size and t[high] - moment < moment - t[low - 1]):
            high += 1
        else:
            low -= 1
    if t[high - 1] - t[low] > max(6.0 * reach_s, 6.0):
        raise TrialError(
            f"readings {np.diff(t[low:high]).max():.1f} s apart\n    accepted: no hole in a pull that is longer than "
            "what is smoothed over\n    what to do: record more often, or cut the pull before the hole"
        )
    return int(low), int(high)
