"""The difference between two setups with its interval, whatever the scatter of each and whatever was recorded beside.

The model is one line: time = a + d * (setup is the second) + sum of b_k * covariate_k + scatter, where each setup has
a scatter of its own. d is estimated by least squares; the two variances without bias from the residuals (MINQUE with
the identity as prior, rao-1971); the degrees of freedom follow from Satterthwaite's approximation (satterthwaite-1946).
Without covariates all of this is exactly Welch's test (welch-1947), and a test says so.

Where the runs are so few that this approximation does not hold, the standard error is scaled for the design in hand
(few_runs.py): with covariates below five runs of a setup, without them below four where the other setup has clearly
more. Otherwise, in particular for two setups of the same number of runs, Welch's test stands as it was published.

Everything takes a leading shape, so that thousands of synthetic trials go through the same lines as one real one.
Nothing here knows a clock, a file or an engine.
"""

from dataclasses import dataclass, replace
from functools import lru_cache

import numpy as np
from numpy.typing import ArrayLike, NDArray
from scipy import special

from scribeline.errors import TrialError
from scribeline.trials.few_runs import scale_at, widths

Floats = NDArray[np.float64]
FEW = 5
"""From so many runs of each setup on, 94 to 96.5 % are covered with covariates as well, in any order."""
FEW_WITHOUT, ALIKE = 4, 4 / 3
"""Without covariates Welch's test covers 94 to 96.5 % from four runs of each setup on, and below that where neither has
more than a third more runs than the other."""


@dataclass(frozen=True)
class Contrast:
    """Second setup less first. Shapes are the leading shape of the values.

    difference : in the unit of the values; se : its standard error; df : degrees of freedom
    scale : by which the standard error was multiplied for few runs, 1 where it was not
    sd : (..., 2) scatter of the first and of the second setup, with what the covariates explain taken out
    slopes : (..., k) by how much the value changes for 1 of each covariate
    """

    difference: Floats
    se: Floats
    df: Floats
    sd: Floats
    slopes: Floats
    scale: Floats

    @property
    def t(self) -> Floats:
        """Difference over its standard error; nan where there is no scatter at all."""
        with np.errstate(divide="ignore", invalid="ignore"):
            return self.difference / self.se

    @property
    def p(self) -> Floats:
        """Two-sided p from Student's distribution."""
        return np.asarray(2.0 * special.stdtr(self.df, -np.abs(self.t)))

    def half_width(self, level: float = 0.95) -> Floats:
        """Half the interval that covers the true difference with this probability."""
        return np.asarray(special.stdtrit(self.df, 0.5 + 0.5 * level) * self.se)

    def interval(self, level: float = 0.95) -> tuple[Floats, Floats]:
        """Low and high end of the interval."""
        half = self.half_width(level)
        return self.difference - half, self.difference + half


def contrast(
    values: ArrayLike,
    second: ArrayLike,
    covariates: ArrayLike | None = None,
    least_sd: float = 0.0,
) -> Contrast:
    """Compare two setups.

    values : (..., n) one value for each run, any unit
    second : (n,) False for a run of the first setup, True for one of the second; at least two runs of each
    covariates : (n, k) what was recorded beside, such as the place in the day; None for nothing
    least_sd : a scatter below this is taken for this, because the clock cannot show less; unit of the values

    Raises TrialError where the runs cannot carry the question. Sources: welch-1947, satterthwaite-1946, rao-1971,
    beran-1987.

    >>> round(float(contrast([8.4, 8.5, 8.6, 8.1, 8.2, 8.3], [0, 0, 0, 1, 1, 1]).difference), 3)
    -0.3
    """
    y = np.asarray(values, dtype=np.float64)
    is_second = np.asarray(second, dtype=bool)
    n = is_second.size
    beside = np.empty((n, 0)) if covariates is None else np.asarray(covariates, dtype=np.float64).reshape(n, -1)
    design = np.column_stack([np.ones(n), is_second, beside - beside.mean(axis=0)])
    refuse_what_cannot_be_told(design, is_second, y)
    found, share = _estimate(y, is_second, design, least_sd)
    if not _few(is_second, beside.shape[1]):
        return found
    scale = scale_at(share, _widths(tuple(map(tuple, design)), tuple(is_second)))
    return replace(found, se=found.se * scale, scale=scale)


def _few(is_second: NDArray[np.bool_], covariates: int) -> bool:
    """Whether the runs are so few that the standard error has to be scaled."""
    less, more = sorted((int(is_second.sum()), int((~is_second).sum())))
    return less < FEW if covariates else less < FEW_WITHOUT and more > ALIKE * less


@lru_cache(maxsize=64)
def _widths(rows: tuple[tuple[float, ...], ...], second: tuple[bool, ...]) -> Floats:
    design, is_second = np.array(rows), np.array(second, bool)
    df = np.geomspace(1.0, max(len(rows), 2), 500)
    quantiles = special.stdtrit(df, 0.975)  # once, as it is slow

    def driven(dice: Floats, ratio: float) -> tuple[Floats, Floats]:
        found, share = _estimate(dice * np.where(is_second, ratio, 1.0), is_second, design, 0.0)
        return np.abs(found.difference) / (np.interp(found.df, df, quantiles) * found.se), share

    return widths(len(rows), driven)


def _estimate(y: Floats, is_second: NDArray[np.bool_], design: Floats, least_sd: float) -> tuple[Contrast, Floats]:
    """Least squares, both variances, Satterthwaite's degrees of freedom; and the second setup's share of se².

    design : (n, 2 + k) ones, setup, covariates
    """
    n = is_second.size
    to_coefficients = np.linalg.pinv(design)
    left_over = np.eye(n) - design @ to_coefficients
    groups = np.stack([~is_second, is_second]).astype(np.float64)

    coefficients = y @ to_coefficients.T
    squares = ((y - coefficients @ design.T) ** 2) @ groups.T
    variances = _variances(squares, groups @ (left_over**2) @ groups.T)
    variances = np.maximum(variances, least_sd**2)

    weights = groups @ (to_coefficients[1] ** 2)
    se2 = variances @ weights
    spread_of_se2 = _spread(left_over, groups, weights)
    with np.errstate(divide="ignore", invalid="ignore"):
        df = se2**2 / np.einsum("...i,ij,...j->...", variances, spread_of_se2, variances)
        share = np.nan_to_num(variances[..., 1] * weights[1] / se2, nan=0.5)
    df = np.clip(np.nan_to_num(df, nan=1.0), 1.0, float(n - design.shape[1]))
    sd, slopes = np.sqrt(variances), coefficients[..., 2:]
    return Contrast(coefficients[..., 1], np.sqrt(se2), df, sd, slopes, np.ones_like(se2)), share


def refuse_what_cannot_be_told(design: Floats, is_second: NDArray[np.bool_], y: Floats) -> None:
    """TrialError for too few runs, a value that is none, and covariates that say the same as the setup."""
    n, unknowns = design.shape
    counts = [int((~is_second).sum()), int(is_second.sum())]
    if not np.isfinite(y).all() or not np.isfinite(design).all():
        raise TrialError(
            "a run has no value here\n    accepted: a number for each run that is compared\n"
            "    what to do: leave the run out of this measure, or drop it with a reason"
        )
    if min(counts) < 2:
        raise TrialError(
            f"{counts[0]} and {counts[1]} runs\n    accepted: at least 2 of each setup; from one run alone nobody can "
            "tell scatter from difference\n    what to do: do more runs"
        )
    if np.linalg.matrix_rank(design) < unknowns or n - unknowns < 1:
        raise TrialError(
            f"{n} runs for {unknowns} unknowns that cannot be told apart\n    accepted: an order in which each setup "
            "was driven early and late, and in both directions\n    what to do: leave a covariate out, or do more "
            "runs in turns (A B B A)"
        )


def _variances(squares: Floats, expected: Floats) -> Floats:
    """Variance of each setup from its sum of squared residuals, whose expectation is `expected` @ variances.

    A negative estimate, which unbiased ones can be, becomes 0 and the other setup takes all of the scatter.
    """
    if np.linalg.cond(expected) > 1e8:  # the residuals of both are the same numbers: one scatter for both
        return np.broadcast_to((squares.sum(axis=-1) / expected.sum())[..., np.newaxis], squares.shape).copy()
    variances = np.asarray(squares @ np.linalg.inv(expected).T)
    all_of_it = squares.sum(axis=-1, keepdims=True) / expected.sum(axis=0)
    for one, other in ((0, 1), (1, 0)):
        negative = variances[..., one] < 0.0
        variances[..., other] = np.where(negative, all_of_it[..., other], variances[..., other])
        variances[..., one] = np.where(negative, 0.0, variances[..., one])
    return variances


def _spread(left_over: Floats, groups: Floats, weights: Floats) -> Floats:
    """The matrix K with Var(se2)/2 = variances' K variances: trace of ((A Sigma)^2), split by setup."""
    expected = groups @ (left_over**2) @ groups.T
    shares = np.linalg.lstsq(expected.T, weights, rcond=None)[0]
    a = left_over @ np.diag(shares @ groups) @ left_over
    return np.asarray(groups @ (a**2) @ groups.T)
