"""Who limits what: the gain of a whole list of changes shared out among its groups, with what they do to each other.

Each group of changes is either made or not: 2^n engines. The share of a group is its Shapley value (shapley-1953): what
it adds, averaged over every order in which the groups could be made. The shares add up to the whole gain, two groups
that do the same get the same, and one that does nothing gets nothing. A change that only pays together with another
(a longer exhaust and the pipe for it) therefore does not look useless because it was tried first.

What two groups do together beyond what each does alone, averaged over the others, is their interaction
(grabisch-roubens-1999): above 0 they help each other, below 0 they do the same work twice.

Exact, no sampling; up to MOST_GROUPS groups. Nothing here knows an engine: values come in as an array whose row number
tells which groups are made, group i where bit i is set.
"""

from collections.abc import Sequence
from dataclasses import dataclass
from itertools import combinations
from math import factorial

import numpy as np

from scribeline.errors import SearchError
from scribeline.geometry.working import FloatArray

MOST_GROUPS = 8


def shapley(values: FloatArray) -> FloatArray:
    """Share of each group in the gain from no group to all of them.

        φ_i = Σ_S |S|! (n − |S| − 1)! / n! · (v(S + i) − v(S))        over all S without i

    values : shape (2**n, ...), row S holds the value with the groups whose bits are set in S
    Returns shape (n, ...), in the unit of the values; the sum over the groups is values[-1] - values[0].
    Raises SearchError unless the number of rows is 2**n, n from 1 to MOST_GROUPS.

    >>> shapley(np.array([0.0, 1.0, 2.0, 5.0])).tolist()
    [2.0, 3.0]
    """
    n = _groups(values)
    weight = [factorial(size) * factorial(n - size - 1) / factorial(n) for size in range(n)]
    masks = np.arange(2**n)
    sizes = _sizes(n)
    shares = np.zeros((n, *values.shape[1:]))
    for i in range(n):
        without = masks[(masks >> i) & 1 == 0]
        gains = values[without | 1 << i] - values[without]
        shares[i] = np.tensordot(np.take(weight, sizes[without]), gains, axes=1)
    return shares


def interactions(values: FloatArray) -> FloatArray:
    """What each pair of groups does together beyond what each does alone (Shapley interaction index).

        I_ij = Σ_S |S|! (n − |S| − 2)! / (n − 1)! · (v(S + ij) − v(S + i) − v(S + j) + v(S))   over S without i and j

    values : as for `shapley`. Returns shape (n, n, ...), symmetric, 0 on the diagonal.

    >>> interactions(np.array([0.0, 1.0, 2.0, 5.0]))[0, 1]
    np.float64(2.0)
    """
    n = _groups(values)
    masks = np.arange(2**n)
    sizes = _sizes(n)
    pairs = np.zeros((n, n, *values.shape[1:]))
    for i, j in combinations(range(n), 2):
        without = masks[((masks >> i) & 1 == 0) & ((masks >> j) & 1 == 0)]
        a, b = 1 << i, 1 << j
        weight = [factorial(size) * factorial(n - size - 2) / factorial(n - 1) for size in range(n - 1)]
        both = values[without | a | b] - values[without | a] - values[without | b] + values[without]
        pairs[i, j] = pairs[j, i] = np.tensordot(np.take(weight, sizes[without]), both, axes=1)
    return pairs


def members(groups: Sequence[str], mask: int) -> tuple[str, ...]:
    """Names of the groups whose bits are set.

    >>> members(("ports", "pipe", "intake"), 0b101)
    ('ports', 'intake')
    """
    return tuple(name for i, name in enumerate(groups) if mask >> i & 1)


@dataclass(frozen=True)
class Shares:
    """The shares of each group for one quantity.

    before, after : the quantity with no group and with all of them
    shares : by group; pairs : interaction of each pair, shape (n, n); alone : the gain of each group made alone
    plus_minus : +/- of each share, from engines drawn within the +/- of the readings; nan without draws
    after_plus_minus : that of the whole gain; draws : how many were drawn
    """

    quantity: str
    unit: str
    groups: tuple[str, ...]
    before: float
    after: float
    shares: FloatArray
    pairs: FloatArray
    alone: FloatArray
    plus_minus: FloatArray
    gain_plus_minus: float
    draws: int

    @property
    def gain(self) -> float:
        return self.after - self.before

    @property
    def order(self) -> tuple[int, ...]:
        """Groups by the size of their share, largest first."""
        return tuple(int(i) for i in np.argsort(-np.abs(self.shares), kind="stable"))

    def strongest_pair(self) -> tuple[int, int, float]:
        """The two groups that change each other's worth most; (0, 0, 0) with fewer than two groups."""
        n = len(self.groups)
        pairs = [(i, j, float(self.pairs[i, j])) for i, j in combinations(range(n), 2)]
        return max(pairs, key=lambda one: abs(one[2]), default=(0, 0, 0.0))

    def sure(self, first: int, second: int) -> bool:
        """Whether the first group's share is larger than the second's by more than the +/- of both together."""
        width = float(np.hypot(self.plus_minus[first], self.plus_minus[second]))
        return bool(abs(self.shares[first]) - abs(self.shares[second]) > width)


def shares_of(
    quantity: str, unit: str, groups: Sequence[str], values: FloatArray, drawn: Sequence[FloatArray] = ()
) -> Shares:
    """Shares of one quantity with their +/-.

    values : shape (2**n,), the engine as measured; drawn : the same of engines drawn within the +/- of the readings
    The +/- is two standard deviations of the drawn shares (jcgm-101); with few draws it is itself uncertain.
    """
    shares = shapley(values)
    n = len(groups)
    if shares.shape[0] != n:
        raise SearchError(f"{n} groups for {len(values)} values\n    accepted: {2**n} values\n    what to do: give all")
    spread, whole = np.full(n, np.nan), float("nan")
    if len(drawn) >= 2:
        spread = 2.0 * np.std([shapley(one) for one in drawn], axis=0, ddof=1)
        whole = float(2.0 * np.std([one[-1] - one[0] for one in drawn], ddof=1))
    return Shares(
        quantity,
        unit,
        tuple(groups),
        float(values[0]),
        float(values[-1]),
        shares,
        interactions(values) if n > 1 else np.zeros((n, n)),
        np.array([values[1 << i] - values[0] for i in range(n)]),
        spread,
        whole,
        len(drawn),
    )


def _groups(values: FloatArray) -> int:
    n = len(values).bit_length() - 1
    if not 1 <= n <= MOST_GROUPS or 2**n != len(values):
        raise SearchError(
            f"{len(values)} values\n    accepted: 2, 4, 8, ... {2**MOST_GROUPS}: one for every subset of the groups\n"
            "    what to do: give the value of every subset"
        )
    return n


def _sizes(n: int) -> FloatArray:
    return np.array([mask.bit_count() for mask in range(2**n)])
