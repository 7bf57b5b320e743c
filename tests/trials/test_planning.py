"""Planning: power against statsmodels, and orders in which a drift does nobody a favour."""

import numpy as np
import pytest
from scipy import stats
from statsmodels.stats.power import TTestIndPower, TTestPower

from scribeline.errors import TrialError
from scribeline.trials.contrast import contrast
from scribeline.trials.planning import (
    detectable,
    directions_of,
    left_of_drift,
    order_of,
    power,
    runs_needed,
)


@pytest.mark.parametrize("n", [2, 3, 7, 40])
@pytest.mark.parametrize("effect", [0.2, 1.0, 3.0])
def test_power_agrees_with_statsmodels(n: int, effect: float) -> None:
    theirs = TTestIndPower().power(effect, n, 0.05, 1.0)
    paired = TTestPower().power(effect, n, 0.05)
    theirs, paired = (1.0 if np.isnan(one) else one for one in (theirs, paired))  # their far tail underflows
    assert power(effect, np.sqrt(2.0 / n), 2.0 * n - 2.0) == pytest.approx(theirs, rel=1e-9)
    assert power(effect, np.sqrt(1.0 / n), n - 1.0) == pytest.approx(paired, rel=1e-9)


def test_the_smallest_difference_is_found_as_often_as_promised() -> None:
    """Not by the formula again: by driving 20 000 synthetic trials with that difference in them."""
    second = np.array([0, 1, 1, 0, 0, 1, 1, 0, 0, 1])
    size = detectable(np.sqrt(2.0 / 5), 8.0)
    y = np.random.default_rng(3).normal(size=(20_000, 10)) + size * second
    pooled = np.mean(stats.ttest_ind(y[:, second == 1], y[:, second == 0], axis=1).pvalue < 0.05)
    assert pooled == pytest.approx(0.8, abs=0.01)
    # What giving each setup a scatter of its own costs where they share one: docs/decisions say so.
    assert np.mean(contrast(y, second).p < 0.05) == pytest.approx(0.775, abs=0.01)


def test_fewer_than_two_runs_are_never_enough_and_too_many_are_refused() -> None:
    assert runs_needed(100.0, 0.01) == 2.0
    with pytest.raises(TrialError, match="fewer than 10000 runs"):
        runs_needed(1e-6, 1.0)
    with pytest.raises(TrialError, match="not 0"):
        runs_needed(0.0, 1.0)


@pytest.mark.parametrize("runs", [2, 4, 6])
@pytest.mark.parametrize("setups", [["A", "B"], ["A", "B", "C"]])
def test_an_order_leaves_nothing_of_a_straight_drift(setups: list[str], runs: int) -> None:
    order = order_of(setups, runs)
    assert sorted(order) == sorted(setups * runs)
    assert left_of_drift(order) == 0.0
    assert left_of_drift([name for name in setups for _ in range(runs)]) == runs


def test_each_setup_is_driven_both_ways() -> None:
    order = order_of(["A", "B"], 4)
    ways = directions_of(order)
    for name in "AB":
        assert sorted(w for w, one in zip(ways, order, strict=True) if one == name) == ["down", "down", "up", "up"]
