"""Plain facts about a row of values: mean, scatter, how alike neighbours are, which stand apart, whether groups differ.

Sums are taken about the first value, so that times of ten million with differences in the seventh digit keep them.
"""

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike, NDArray
from scipy import special

Floats = NDArray[np.float64]


def mean(values: ArrayLike) -> float:
    """Arithmetic mean.

    >>> mean([10000001.0, 10000003.0, 10000002.0])
    10000002.0
    """
    y = np.asarray(values, np.float64)
    return float(y[0] + np.mean(y - y[0]))


def scatter(values: ArrayLike) -> float:
    """Standard deviation with n - 1; nan for fewer than two values."""
    y = np.asarray(values, np.float64)
    if y.size < 2:
        return float("nan")
    about = (y - y[0]) - np.mean(y - y[0])
    return float(np.sqrt(np.sum(about**2) / (y.size - 1)))


def neighbours_alike(values: ArrayLike) -> float:
    """Lag-1 autocorrelation, sum (y_i - m)(y_{i+1} - m) / sum (y_i - m)^2 (nist-strd): near 1 where the day drifts."""
    y = np.asarray(values, np.float64)
    about = (y - y[0]) - np.mean(y - y[0])
    return float(np.sum(about[1:] * about[:-1]) / np.sum(about**2))


def stands_apart(values: ArrayLike) -> NDArray[np.bool_]:
    """Which values lie so far from the others that somebody should look: for showing, never for dropping.

    |0.6745 (y - median) / MAD| > 3.5 (iglewicz-hoaglin-1993); of fewer than 5 values none is named, because three
    cannot say which of them is the odd one.
    """
    y = np.asarray(values, np.float64)
    from_median = np.abs(y - np.median(y))
    mad = np.median(from_median)
    if y.size < 5 or mad == 0.0:
        return np.zeros(y.size, bool)
    return np.asarray(0.6745 * from_median / mad > 3.5)


@dataclass(frozen=True)
class OneWay:
    """Whether groups differ at all: one-way analysis of variance."""

    f: float
    ss_between: float
    ss_within: float
    df_between: int
    df_within: int

    @property
    def p(self) -> float:
        """Probability of an F at least as large where no group differs."""
        return float(special.fdtrc(self.df_between, self.df_within, self.f))


def one_way(groups: Sequence[ArrayLike]) -> OneWay:
    """One-way analysis of variance (nist-strd gives certified cases)."""
    origin = float(np.asarray(groups[0], np.float64)[0])
    shifted = [np.asarray(group, np.float64) - origin for group in groups]
    everything = np.concatenate(shifted)
    grand = everything.mean()
    between = float(sum(one.size * (one.mean() - grand) ** 2 for one in shifted))
    within = float(sum(((one - one.mean()) ** 2).sum() for one in shifted))
    df_between, df_within = len(shifted) - 1, everything.size - len(shifted)
    return OneWay(between / df_between / (within / df_within), between, within, df_between, df_within)


def combined(parts: ArrayLike, degrees_of_freedom: ArrayLike) -> tuple[float, float]:
    """Combined standard uncertainty of independent parts and its effective degrees of freedom (jcgm-100, G.2b).

    >>> [round(x, 1) for x in combined([25.0, 9.7, 2.9, 16.6], [18.0, 25.6, 50.0, 2.0])]
    [31.7, 16.8]
    """
    u, nu = np.asarray(parts, np.float64), np.asarray(degrees_of_freedom, np.float64)
    total = float(np.sum(u**2))
    with np.errstate(divide="ignore"):
        shares = float(np.sum(u**4 / nu))
    return float(np.sqrt(total)), total**2 / shares if shares > 0.0 else float("inf")
