"""Tests by trying every other way the labels could have fallen: exact, whatever the scatter looks like.

With few runs there are few ways, and p cannot fall below 2 / (number of ways): three runs against three give 20 ways
and never less than 0.1, four against four 70 ways and never less than 0.029. `smallest_p` says so beforehand.
"""

import itertools
import math
from collections.abc import Iterator, Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike, NDArray

Floats = NDArray[np.float64]
Ways = NDArray[np.bool_]
Blocks = list[NDArray[np.intp]]

MOST_WAYS = 200_000
DRAWS = 50_000
_ALIKE = 1e-10  # of the values' size: sums of the same numbers in another order count as equal


@dataclass(frozen=True)
class Shuffled:
    """p : two-sided; ways : in how many ways the labels could have fallen; exact : whether all of them were tried."""

    p: float
    ways: int
    exact: bool


def smallest_p(first: int, second: int) -> float:
    """The smallest two-sided p that shuffling two groups of these sizes can give.

    >>> smallest_p(3, 3), round(smallest_p(4, 4), 3)
    (0.1, 0.029)
    """
    ways = math.comb(first + second, first)
    return (2.0 if first == second else 1.0) / ways


def two_groups(values: ArrayLike, second: ArrayLike, strata: Sequence[object] | None = None) -> Shuffled:
    """Permutation test of the difference of means, two-sided.

    values : (n,); second : (n,) True for the second setup
    strata : (n,) what the labels are only exchanged within, such as the direction driven: then a wind that blows all
        day cannot pass for a difference
    All ways are tried where there are at most 200 000; otherwise 50 000 of them are drawn, always the same ones.
    Source: fisher-1935.
    """
    y, is_second = np.asarray(values, np.float64), np.asarray(second, bool)
    y = y - y[0]
    blocks = _blocks(y.size, strata)
    ways = math.prod(math.comb(block.size, int(is_second[block].sum())) for block in blocks)
    # The difference within each stratum, summed with the weights that the observed one has.
    seen, alike = _difference(y, is_second[np.newaxis], blocks)[0], _ALIKE * float(np.ptp(y))
    if ways <= MOST_WAYS:
        extreme = 0
        for chunk in _chunks(_every_way(is_second, blocks), 4096):
            extreme += _at_least(_difference(y, chunk, blocks), seen, alike)
        return Shuffled(extreme / ways, ways, True)
    dice = np.random.default_rng(20261125)
    drawn = np.tile(is_second, (DRAWS, 1))
    for block in blocks:
        drawn[:, block] = dice.permuted(drawn[:, block], axis=1)
    return Shuffled((_at_least(_difference(y, drawn, blocks), seen, alike) + 1) / (DRAWS + 1), ways, False)


def sign_flips(differences: ArrayLike) -> Shuffled:
    """Exact test of paired differences: every sign that each could have had (at most 17 pairs, else drawn)."""
    d = np.asarray(differences, np.float64)
    ways, alike = 2**d.size, _ALIKE * float(np.abs(d).sum())
    if ways <= MOST_WAYS:
        signs = 1.0 - 2.0 * ((np.arange(ways)[:, np.newaxis] >> np.arange(d.size)) & 1)
        return Shuffled(_at_least(signs @ d, float(d.sum()), alike) / ways, ways, True)
    signs = np.random.default_rng(20261125).choice([-1.0, 1.0], (DRAWS, d.size))
    return Shuffled((_at_least(signs @ d, float(d.sum()), alike) + 1) / (DRAWS + 1), ways, False)


def _blocks(n: int, strata: Sequence[object] | None) -> Blocks:
    if strata is None:
        return [np.arange(n)]
    return [np.flatnonzero([one == name for one in strata]) for name in dict.fromkeys(strata)]


def _difference(y: Floats, is_second: Ways, blocks: Blocks) -> Floats:
    """Second less first, (ways,), the strata weighted by what they tell: n1 n2 / (n1 + n2)."""
    total, weights = np.zeros(is_second.shape[0]), 0.0
    for block in blocks:
        inside = is_second[:, block]
        count = int(inside[0].sum())
        if 0 < count < block.size:
            weight = count * (block.size - count) / block.size
            mean_second = (inside @ y[block]) / count
            total += weight * (mean_second - (y[block].sum() - count * mean_second) / (block.size - count))
            weights += weight
    return total / weights if weights else total


def _every_way(is_second: Ways, blocks: Blocks) -> Iterator[Ways]:
    choices = [itertools.combinations(block, int(is_second[block].sum())) for block in blocks]
    for chosen in itertools.product(*choices):
        way = np.zeros(is_second.size, bool)
        for some in chosen:
            way[list(some)] = True
        yield way


def _chunks(ways: Iterator[Ways], size: int) -> Iterator[Ways]:
    while some := list(itertools.islice(ways, size)):
        yield np.array(some)


def _at_least(differences: Floats, seen: float, alike: float) -> int:
    return int((np.abs(differences) >= abs(seen) - alike).sum())
