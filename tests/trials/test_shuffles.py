"""Exact tests against scipy's own, and what they can never show."""

import doctest

import numpy as np
import pytest
from scipy import stats

from scribeline.trials import describe, least_squares, pairs, planning, shuffles
from scribeline.trials.shuffles import sign_flips, smallest_p, two_groups

DICE = np.random.default_rng(11)


@pytest.mark.parametrize("module", [describe, least_squares, pairs, planning, shuffles], ids=lambda m: m.__name__)
def test_examples_in_the_docstrings(module: object) -> None:
    results = doctest.testmod(module)  # type: ignore[arg-type]
    assert results.attempted >= 1
    assert results.failed == 0


def difference(x: np.ndarray, y: np.ndarray, axis: int = 0) -> np.ndarray:
    return np.asarray(np.mean(y, axis=axis) - np.mean(x, axis=axis))


@pytest.mark.parametrize(("n1", "n2"), [(3, 3), (4, 6), (7, 5)])
def test_every_way_agrees_with_scipy(n1: int, n2: int) -> None:
    a, b = DICE.normal(size=n1).round(2), DICE.normal(0.8, 1.0, n2).round(2)
    found = two_groups([*a, *b], [0] * n1 + [1] * n2)
    # Two-sided by the size of the difference; scipy's own two-sided doubles the smaller tail instead.
    both = [
        stats.permutation_test((a, b), difference, alternative=side, n_resamples=np.inf).pvalue
        for side in ("less", "greater")
    ]
    every = stats.permutation_test((a, b), lambda x, y, axis=0: abs(difference(x, y, axis)), alternative="greater")
    assert found.exact
    assert found.p == pytest.approx(every.pvalue, rel=1e-9)
    assert found.p >= min(both)


def test_too_many_ways_are_drawn_and_say_so() -> None:
    a, b = DICE.normal(size=12), DICE.normal(1.0, 1.0, 12)
    found = two_groups([*a, *b], [0] * 12 + [1] * 12)
    assert not found.exact
    assert found.ways == 2704156
    theirs = stats.ttest_ind(a, b).pvalue
    assert found.p == pytest.approx(theirs, abs=0.01)
    assert two_groups([*a, *b], [0] * 12 + [1] * 12) == found


def test_a_wind_that_blows_all_day_cannot_pass_for_a_difference() -> None:
    """A was driven mostly with the wind, B mostly against it; within each way they are the same."""
    ways = ["with"] * 4 + ["against"] * 4
    second = [0, 0, 0, 1, 0, 1, 1, 1]
    y = np.array([7.0, 7.1, 7.2, 7.1, 8.1, 8.0, 8.1, 8.2])
    assert two_groups(y, second).p < 0.4
    within = two_groups(y, second, ways)
    assert (within.ways, within.p) == (16, 1.0)


def test_signs_agree_with_scipy() -> None:
    d = np.array([0.09, 0.05, 0.07, -0.02, 0.03, 0.05, 0.13])
    theirs = stats.permutation_test((d,), np.mean, permutation_type="samples", n_resamples=np.inf).pvalue
    assert sign_flips(d).p == pytest.approx(theirs)


@pytest.mark.parametrize(("n1", "n2"), [(3, 3), (3, 4), (4, 4), (2, 2)])
def test_no_data_give_less_than_the_smallest_p(n1: int, n2: int) -> None:
    apart = two_groups([*range(n1), *range(100, 100 + n2)], [0] * n1 + [1] * n2)
    assert apart.p == pytest.approx(smallest_p(n1, n2))
