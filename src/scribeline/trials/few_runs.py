"""How wide an interval has to be for few runs, found by driving the same days thousands of times with dice.

With few runs of a setup nobody knows its scatter well, and Satterthwaite's approximation is too short for some ratios
of the two scatters and far too wide for others. Which of them it is shows in the runs themselves: in the share of the
squared standard error that comes of the second setup. So the interval is scaled by an amount that depends on that
share, one for each design: the amounts with which 95 of 100 intervals hold the truth for every ratio of scatters that
one is likely to meet. This is prepivoting (beran-1987) with Welch's statistic, as welch-1947 itself asks for a
critical value that depends on the ratio of the two variances seen.

The dice are always the same, and no time is looked at: the same order of runs has the same widths for ever.
"""

from collections.abc import Callable

import numpy as np
from numpy.typing import NDArray
from scipy import special

Floats = NDArray[np.float64]

RATIOS = (1 / 9, 1 / 3, 1 / 2, 1 / 2**0.5, 1.0, 2**0.5, 2.0, 3.0, 9.0)
"""Scatter of the second setup over that of the first: up to three times is likely, nine the utmost (judgement)."""
AIM = 0.9495
"""Share of intervals that shall hold the truth. A little above 95 %, as the widths themselves are known to 0.3 %."""
TOO_SHORT = 3.0
"""How much worse it is to miss the aim below than above: an interval that is too short is a false alarm (judgement)."""
DAYS = 20_000
SHARES = np.linspace(0.0, 1.0, 5)
"""Of the second setup in the squared standard error; between them the logarithms lie on straight lines."""
_SOFT = 0.03  # a day counts as half missed where its truth lies on the end of the interval, within about this share
_CALM = (0.002, 0.005)  # how little it costs to stay near 1 and near a straight line, where the days tell nothing

Driven = Callable[[Floats, float], tuple[Floats, Floats]]
"""(days, n) of dice and a ratio -> how far the truth was missed, over half the interval; and the share in SHARES."""


def widths(runs: int, driven: Driven) -> Floats:
    """By how much to scale the standard error at each of SHARES, shape (5,).

    runs : how many there are; driven : what the method makes of days without a difference
    Source: beran-1987.
    """
    from scipy import optimize  # takes a moment to import, and most commands do not need it

    dice = np.random.default_rng(20261126).normal(size=(DAYS, runs))
    days = [driven(dice, ratio) for ratio in RATIOS]
    with np.errstate(divide="ignore"):
        days = [(np.log(missed), share) for missed, share in days]

    def off(logs: Floats) -> Floats:
        held = [float(special.expit((np.interp(share, SHARES, logs) - log) / _SOFT).mean()) for log, share in days]
        short = AIM - np.array(held)
        weighed = np.where(short > 0.0, TOO_SHORT * short, short)
        return np.concatenate([weighed, _CALM[0] * logs, _CALM[1] * np.diff(logs, 2)])

    found = optimize.least_squares(off, np.zeros(SHARES.size), bounds=(-1.5, 1.5), diff_step=0.02, xtol=1e-3)
    return np.asarray(np.exp(found.x))


def scale_at(share: Floats, wide: Floats) -> Floats:
    """The scale for runs in which the second setup has this share of the squared standard error, any shape."""
    return np.asarray(np.exp(np.interp(share, SHARES, np.log(wide))))
