"""Shapley values against every order of joining, published games and the axioms; interactions against their definition.

Published values: the glove game (one left glove, two right ones: 2/3, 1/6, 1/6; Shapley and Shubik, quoted from memory
as in most textbooks), the airport game of S. C. Littlechild and G. Owen, A simple expression for the Shapley value in a
special case, Management Science 20 (1973) 370 (its closed form, quoted from memory), a weighted voting game (the UN
Security Council is too large; [51; 50, 49, 1]: 2/3, 1/6, 1/6, from memory), and the Ishigami function with
a = 7, b = 0.1 (Sobol indices 0.3139, 0.4424, 0 and 0.2437 for x1 with x3, quoted from memory and integrated below).
"""

from fractions import Fraction
from itertools import permutations
from math import pi

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from hypothesis.extra.numpy import arrays
from scipy.stats import sobol_indices, uniform

from scribeline.errors import SearchError
from scribeline.plan.shares import interactions, members, shapley, shares_of

GAMES = st.integers(1, 5).flatmap(
    lambda n: arrays(np.float64, (2**n,), elements=st.floats(-100, 100, allow_subnormal=False))
)


def by_orders(values: np.ndarray) -> list[float]:
    """The mean of what each player adds, over every order of joining: the definition, by walking through all."""
    n = len(values).bit_length() - 1
    total = [0.0] * n
    orders = list(permutations(range(n)))
    for order in orders:
        there = 0
        for player in order:
            total[player] += values[there | 1 << player] - values[there]
            there |= 1 << player
    return [one / len(orders) for one in total]


def game(n: int, worth: object) -> np.ndarray:
    return np.array([float(worth({i for i in range(n) if mask >> i & 1})) for mask in range(2**n)])  # type: ignore[operator]


@given(GAMES)
@settings(max_examples=60, deadline=None)
def test_it_is_the_mean_over_every_order(values: np.ndarray) -> None:
    assert shapley(values) == pytest.approx(by_orders(values), abs=1e-9)


@given(GAMES)
@settings(max_examples=60, deadline=None)
def test_the_shares_add_up_to_the_whole(values: np.ndarray) -> None:
    assert shapley(values).sum() == pytest.approx(values[-1] - values[0], abs=1e-9)


@given(GAMES, st.data())
@settings(max_examples=60, deadline=None)
def test_a_player_that_adds_nothing_gets_nothing(values: np.ndarray, data: st.DataObject) -> None:
    n = len(values).bit_length() - 1
    idle = data.draw(st.integers(0, n - 1))
    values = values.copy()
    for mask in range(2**n):
        if mask >> idle & 1:
            values[mask] = values[mask & ~(1 << idle)]
    assert shapley(values)[idle] == pytest.approx(0.0, abs=1e-12)
    assert interactions(values)[idle] == pytest.approx(0.0, abs=1e-9) if n > 1 else True


@given(GAMES)
@settings(max_examples=40, deadline=None)
def test_two_that_do_the_same_get_the_same(values: np.ndarray) -> None:
    n = len(values).bit_length() - 1
    if n < 2:
        return
    swapped = [(m & ~3) | (m & 1) << 1 | (m >> 1 & 1) for m in range(2**n)]
    shares = shapley(0.5 * (values + values[swapped]))
    assert shares[0] == pytest.approx(shares[1], abs=1e-9)


def test_the_glove_game() -> None:
    values = game(3, lambda s: 0 in s and (1 in s or 2 in s))
    assert shapley(values) == pytest.approx([2 / 3, 1 / 6, 1 / 6])


def test_a_vote() -> None:
    weights = (50, 49, 1)
    values = game(3, lambda s: sum(weights[i] for i in s) >= 51)
    assert shapley(values) == pytest.approx([2 / 3, 1 / 6, 1 / 6])


def test_the_airport_game() -> None:
    """Runways of 8, 11, 13 and 18: each stretch is paid evenly by those that need it (Littlechild and Owen 1973)."""
    costs = (8, 11, 13, 18)
    values = game(4, lambda s: max((costs[i] for i in s), default=0))
    stretches = [Fraction(8, 4), Fraction(3, 3), Fraction(2, 2), Fraction(5, 1)]
    assert shapley(values) == pytest.approx([float(sum(stretches[: i + 1])) for i in range(4)])


def test_ishigami_by_its_published_indices_and_by_scipy() -> None:
    """Of independent inputs the Shapley share of the variance is the first index and half of each shared one."""

    def ishigami(x: np.ndarray) -> np.ndarray:
        return np.sin(x[0]) + 7.0 * np.sin(x[1]) ** 2 + 0.1 * x[2] ** 4 * np.sin(x[0])

    indices = sobol_indices(
        func=ishigami, n=4096, dists=[uniform(loc=-pi, scale=2 * pi)] * 3, rng=np.random.default_rng(1)
    )
    first, total = indices.first_order, indices.total_order
    # what a set of inputs explains: alone its first index, in pairs all but the third's total, together everything
    pair = {1 << i | 1 << j: 1.0 - total[3 - i - j] for i, j in ((0, 1), (0, 2), (1, 2))}
    values = np.array([0.0, first[0], first[1], pair[3], first[2], pair[5], pair[6], 1.0])
    published = [0.3139 + 0.2437 / 2, 0.4424, 0.2437 / 2]
    assert shapley(values) == pytest.approx(published, abs=0.01)
    assert interactions(values)[0, 2] == pytest.approx(0.2437, abs=0.02)
    assert sum(published) == pytest.approx(1.0, abs=2e-4)


@given(GAMES)
@settings(max_examples=40, deadline=None)
def test_interactions_are_the_mean_over_orders_in_which_the_pair_joins_as_one(values: np.ndarray) -> None:
    """Grabisch and Roubens 1999: let i and j join together, and average their surplus over orders of the others."""
    n = len(values).bit_length() - 1
    if n < 2:
        return
    got = interactions(values)
    for i in range(n):
        assert got[i, i] == 0.0
        for j in range(i):
            others = [k for k in range(n) if k not in (i, j)]
            surplus = []
            for order in permutations(["pair", *others]):
                there = 0
                for player in order:
                    if player == "pair":
                        a, b = 1 << i, 1 << j
                        surplus.append(values[there | a | b] - values[there | a] - values[there | b] + values[there])
                        break
                    there |= 1 << player
            assert got[i, j] == pytest.approx(np.mean(surplus), abs=1e-9)
            assert got[i, j] == got[j, i]


def test_several_quantities_at_once_are_each_by_itself() -> None:
    rng = np.random.default_rng(3)
    values = rng.normal(size=(16, 3))
    for k in range(3):
        assert shapley(values)[:, k] == pytest.approx(shapley(values[:, k]))
        assert interactions(values)[:, :, k] == pytest.approx(interactions(values[:, k]))


def test_shares_with_their_band() -> None:
    values = np.array([10.0, 11.0, 12.0, 15.0])
    drawn = [values + np.array([0.0, d, 0.0, d]) for d in (-1.0, 1.0)]
    got = shares_of("peak power", "kW", ("ports", "pipe"), values, drawn)
    assert got.gain == 5.0
    assert got.shares.tolist() == [2.0, 3.0]
    assert got.alone.tolist() == [1.0, 2.0]
    assert got.strongest_pair() == (0, 1, 2.0)
    # ports gain d in every order, pipe nothing of it: two standard deviations of (-1, 1), whose own is sqrt(2)
    assert got.plus_minus == pytest.approx([2.0 * 2.0**0.5, 0.0])
    assert got.gain_plus_minus == pytest.approx(2.0 * 2.0**0.5)
    assert got.order == (1, 0)
    assert not got.sure(1, 0)
    assert shares_of("peak power", "kW", ("ports", "pipe"), values, drawn[:1]).plus_minus == pytest.approx(
        [np.nan] * 2, nan_ok=True
    )


@pytest.mark.parametrize("count", [0, 1, 3, 12, 2**9])
def test_a_value_for_every_subset_is_needed(count: int) -> None:
    with pytest.raises(SearchError, match="every subset"):
        shapley(np.zeros(count))


def test_a_group_for_every_bit_is_needed() -> None:
    with pytest.raises(SearchError, match="3 groups for 4 values"):
        shares_of("x", "", ("a", "b", "c"), np.zeros(4))


def test_members() -> None:
    assert members(("a", "b", "c"), 0) == ()
    assert members(("a", "b", "c"), 6) == ("b", "c")
