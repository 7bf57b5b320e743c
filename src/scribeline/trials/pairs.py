"""Runs that belong together two by two: the test of their differences, and Holm's step-down for several questions."""

from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike, NDArray

from scribeline.errors import TrialError
from scribeline.trials.contrast import Contrast

Floats = NDArray[np.float64]


@dataclass(frozen=True)
class Paired:
    """The test of paired differences, second less first."""

    contrast: Contrast
    pairs: int


def paired(first: ArrayLike, second: ArrayLike, least_sd: float = 0.0, beside: ArrayLike | None = None) -> Paired:
    """Student's test of the differences of runs that were driven as pairs (student-1908).

    first, second : (..., pairs), same order; least_sd : as for `contrast`, of a single run
    beside : (pairs,) or (pairs, k) by how much the second setup's run had more of something, such as its place in the
        day. Given, the difference is that of a pair driven alike: difference of a pair = d + b * beside, by least
        squares, one degree of freedom less for each. Places take out a drift which is the same from run to run.
    Raises TrialError for too few pairs, and where `beside` is the same for all of them.

    >>> round(float(paired([8.42, 8.51, 8.38], [8.33, 8.46, 8.31]).contrast.difference), 3)
    -0.07
    """
    a, b = np.asarray(first, np.float64), np.asarray(second, np.float64)
    d = b - a
    n = d.shape[-1]
    columns = np.ones((n, 1))
    if beside is not None:
        columns = np.column_stack([columns, np.asarray(beside, np.float64).reshape(n, -1)])
    unknowns = columns.shape[1]
    if n <= unknowns or np.linalg.matrix_rank(columns) < unknowns:
        raise TrialError(
            f"{n} pair{'s' if n != 1 else ''} of runs\n    accepted: at least {unknowns + 1} pairs"
            + ("" if beside is None else ", each setup first in some of them")
            + "\n    what to do: do more runs, one of each setup in turn"
        )
    solved = np.linalg.pinv(columns)
    found = d @ solved.T
    left_over = d - found @ columns.T
    sd = np.sqrt((left_over**2).sum(axis=-1) / (n - unknowns))
    sd = np.maximum(sd, np.sqrt(2.0) * least_sd)
    # Both setups are given the scatter that, if they shared it, would make that of the differences.
    both = np.stack([sd, sd], axis=-1) / np.sqrt(2.0)
    df = np.full(sd.shape, float(n - unknowns))
    se = sd * np.sqrt((solved[0] ** 2).sum())
    return Paired(Contrast(found[..., 0], se, df, both, found[..., 1:], np.ones_like(se)), n)


def holm(p: ArrayLike) -> Floats:
    """Holm's step-down adjustment (holm-1979) of several p, in the order in which they came.

    >>> holm([0.011, 0.04, 0.002]).round(3).tolist()
    [0.022, 0.04, 0.006]
    """
    given = np.asarray(p, np.float64)
    order = np.argsort(given)
    stepped = given[order] * (given.size - np.arange(given.size))
    adjusted = np.empty_like(given)
    adjusted[order] = np.minimum(np.maximum.accumulate(stepped), 1.0)
    return adjusted
