"""Stretches that stand alone: too short for an engine, and reached from no other stretch. They are a voice's.

A loud vowel has lines as an engine has, and the tracker may follow it for as long as it lasts and be sure of it. What
tells it from the engine is not its sound but that it comes out of nothing: a vowel lasts half a second at most, while
an engine that was heard before and after turns on in between, and cannot have got there and back in the gaps.
"""

import numpy as np
from numpy.typing import NDArray

Floats = NDArray[np.float64]
Flags = NDArray[np.bool_]

ALONE_S = 0.6
"""Shorter than this, a stretch needs another one that leads to it: vowels last 0.05 to 0.5 s (from memory)."""
STEEPEST_RPM_S = 5000.0
"""How fast an engine gets from one stretch to the next while it is not heard: a quarter above the 4000 rpm/s that the
tracker is made for (judgement)."""
ALIKE = 0.03
"""Speeds this share apart count as the same, as for the confidence."""


def alone(time_s: Floats, rpm: Floats, sure: Flags, step_s: float) -> Flags:
    """Which sure instants belong to stretches that stand alone, shape (n,).

    time_s, rpm, sure : (n,) of a track, step_s apart within a stretch
    Stretches that an engine can get to from one another are counted together.

    >>> t = np.arange(200) * 0.02
    >>> rpm = np.where((t > 1.5) & (t < 1.8), 9000.0, 3000.0)
    >>> sure = (t < 1.3) | ((t > 1.5) & (t < 1.8)) | (t > 2.1)
    >>> bool(alone(t, rpm, sure, 0.02)[80]), int(alone(t, rpm, sure, 0.02).sum())
    (True, 14)
    """
    places = np.flatnonzero(sure)
    if not places.size:
        return np.zeros(sure.size, bool)
    waited, at = np.diff(time_s[places]), rpm[places]
    way = np.abs(np.diff(at)) - ALIKE * np.minimum(at[1:], at[:-1])
    # Within a stretch the tracker itself has seen to it that the speed goes on.
    parted = (waited > 1.5 * step_s) & (way > STEEPEST_RPM_S * waited)
    group = np.concatenate([[0], np.cumsum(parted)])
    short = np.bincount(group) * step_s < ALONE_S
    found = np.zeros(sure.size, bool)
    found[places] = short[group]
    return found
