"""Ordinary least squares with the standard errors of its coefficients, by an orthogonal decomposition.

For what has one scatter throughout: a drift through the day, a coast-down. Two setups with a scatter each are
compared by contrast.py.
"""

from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike, NDArray
from scipy import special

from scribeline.errors import TrialError

Floats = NDArray[np.float64]


@dataclass(frozen=True)
class Fit:
    """Coefficients with their standard errors, in the order of the columns; `sd` is that of the residuals."""

    coefficients: Floats
    se: Floats
    sd: float
    df: int
    residuals: Floats
    r_squared: float

    @property
    def p(self) -> Floats:
        """Two-sided p of each coefficient against 0."""
        return np.asarray(2.0 * special.stdtr(self.df, -np.abs(self.coefficients / self.se)))

    def half_width(self, level: float = 0.95) -> Floats:
        """Half the interval of each coefficient."""
        return np.asarray(special.stdtrit(self.df, 0.5 + 0.5 * level) * self.se)


def fit(columns: ArrayLike, values: ArrayLike, weights: ArrayLike | None = None) -> Fit:
    """Fit values = sum of coefficient * column.

    columns : (n, k); a column of ones makes the intercept. values : (n,). weights : (n,) 1/variance up to a factor.
    Raises TrialError where the columns cannot be told apart or there are not more values than columns.
    Source: anderson-1999 (LAPACK) for the decomposition; checked against certified sets (nist-strd).

    >>> [float(round(c, 9)) for c in fit([[1, 0], [1, 1], [1, 2]], [1.0, 3.0, 5.0]).coefficients]
    [1.0, 2.0]
    """
    x, y = np.asarray(columns, np.float64), np.asarray(values, np.float64)
    n, k = x.shape
    root = np.ones(n) if weights is None else np.sqrt(np.asarray(weights, np.float64))
    q, r = np.linalg.qr(x * root[:, np.newaxis])
    if n <= k or np.abs(np.diag(r)).min() < 1e-12 * np.abs(np.diag(r)).max():
        raise TrialError(
            f"{n} values for {k} unknowns that cannot be told apart\n    accepted: more values than unknowns, and no "
            "two columns that say the same\n    what to do: record more, or ask for less"
        )
    coefficients = np.linalg.solve(r, q.T @ (y * root))
    residuals = y - x @ coefficients
    squares = float(((residuals * root) ** 2).sum())
    sd = float(np.sqrt(squares / (n - k)))
    inverse = np.linalg.inv(r)
    about = y - np.average(y, weights=root**2)
    total = float(((about * root) ** 2).sum())
    return Fit(
        coefficients,
        sd * np.sqrt((inverse**2).sum(axis=1)),
        sd,
        n - k,
        residuals,
        1.0 - squares / total if total > 0.0 else float("nan"),
    )
