"""The difference between two setups: against scipy and statsmodels, and against a truth that was put in."""

import doctest
import itertools

import numpy as np
import pytest
import statsmodels.api as sm
from scipy import stats

from scribeline.errors import TrialError
from scribeline.trials import contrast as module
from scribeline.trials.contrast import contrast
from scribeline.trials.pairs import paired

DICE = np.random.default_rng(5)
TRUE = -0.3
SYNTHETIC = 20_000


def test_examples_in_the_docstrings() -> None:
    results = doctest.testmod(module)
    assert results.attempted >= 1
    assert results.failed == 0


@pytest.mark.parametrize(("n1", "n2", "ratio"), [(3, 3, 1.0), (3, 4, 4.0), (9, 4, 0.2), (2, 2, 1.0)])
def test_without_covariates_it_is_welchs_test(n1: int, n2: int, ratio: float) -> None:
    a, b = DICE.normal(8.0, 0.1, n1), DICE.normal(7.9, 0.1 * ratio, n2)
    found = contrast([*a, *b], [0] * n1 + [1] * n2)
    theirs = stats.ttest_ind(b, a, equal_var=False)
    low, high = theirs.confidence_interval(0.95)
    np.testing.assert_allclose([found.t, found.df, found.p], [theirs.statistic, theirs.df, theirs.pvalue], rtol=1e-10)
    np.testing.assert_allclose(found.interval(), (low, high), rtol=1e-9)


@pytest.mark.parametrize(("n1", "n2"), [(2, 3), (2, 6), (6, 3)])
@pytest.mark.parametrize("ratio", [1.0 / 3.0, 1.0, 3.0])
def test_few_runs_of_one_setup_and_many_of_the_other(n1: int, n2: int, ratio: float) -> None:
    """Where Welch's own test says 95 % and covers as little as 89, as scipy's does on the same days."""
    second = np.arange(n1 + n2) >= n1
    y = np.random.default_rng(4).normal(size=(SYNTHETIC, n1 + n2)) * np.where(second, ratio, 1.0)
    found = contrast(y, second)
    assert 0.93 <= np.mean(found.p >= 0.05) <= 0.975
    if min(n1, n2) >= 3:
        assert np.mean(found.p < 0.05) <= 0.06
    if (n1, n2, ratio) == (2, 6, 1.0 / 3.0):
        theirs = stats.ttest_ind(y[:, n1:], y[:, :n1], axis=1, equal_var=False)
        assert np.mean(theirs.pvalue >= 0.05) < 0.91
        np.testing.assert_allclose(found.df, theirs.df)  # only the width is another
        np.testing.assert_allclose(found.t * found.scale, theirs.statistic)


def test_with_covariates_the_estimates_are_those_of_least_squares() -> None:
    second, order = np.array([0, 1, 1, 0, 0, 1]), np.arange(6.0)
    y = DICE.normal(8.0, 0.1, 6)
    theirs = sm.OLS(y, np.column_stack([np.ones(6), second, order])).fit()
    found = contrast(y, second, order)
    np.testing.assert_allclose([found.difference, found.slopes[0]], theirs.params[1:], rtol=1e-10)


def test_both_scatters_are_found_without_bias() -> None:
    """The mean over many synthetic trials of each variance is the variance that was put in."""
    second, order = np.array([0, 1, 1, 0] * 5), np.arange(20.0)
    y = DICE.normal(size=(SYNTHETIC, 20)) * np.where(second, 2.0, 1.0) + 0.5 * order
    found = contrast(y, second, order)
    assert np.mean(found.sd**2, axis=0) == pytest.approx([1.0, 4.0], rel=0.02)


# Order of the setups; scatter of the second over that of the first; drift a run in scatters of the first; which way.
SCENARIOS = {
    "three and three": ("ABABAB", 1.0, 0.0, False),
    "three and three, unequal scatter": ("ABABAB", 2.0, 0.0, False),
    "three and three, very unequal scatter": ("ABABAB", 4.0, 0.0, False),
    "three and three, drift": ("ABBAAB", 1.0, 0.5, False),
    "three and three, drift and unequal scatter": ("ABBAAB", 2.0, 0.5, False),
    "three and three, A first, drift": ("AAABBB", 1.0, 0.5, False),
    "four and three, unequal scatter": ("AABABBA", 2.0, 0.0, False),
    "four and four, drift and unequal scatter": ("ABBAABBA", 3.0, 0.5, False),
    "four and four, drift, both ways, unequal scatter": ("AABBBBAA", 2.0, 0.5, True),
    "eight and eight, drift and unequal scatter": ("ABBA" * 4, 2.0, 0.3, False),
}


@pytest.mark.parametrize(("order", "ratio", "drift", "ways"), SCENARIOS.values(), ids=SCENARIOS.keys())
def test_intervals_cover_the_truth_and_false_alarms_are_rare(
    order: str, ratio: float, drift: float, ways: bool
) -> None:
    """Of 20 000 synthetic trials 93 to 97 % of the 95 % intervals hold the truth, and at most 6 % cry wolf."""
    second, place = np.array([name == "B" for name in order]), np.arange(len(order), dtype=float)
    columns = [place] if drift else []
    y = DICE.normal(size=(SYNTHETIC, len(order))) * np.where(second, ratio, 1.0) + drift * place
    if ways:
        up = np.where(place % 2 == 0, 0.5, -0.5)
        columns, y = [*columns, up], y + 0.7 * up
    beside = np.column_stack(columns) if columns else None
    low, high = contrast(y + TRUE * second, second, beside).interval()
    assert 0.93 <= np.mean((low <= TRUE) & (high >= TRUE)) <= 0.97
    assert np.mean(contrast(y, second, beside).p < 0.05) <= 0.06


THREE_AND_THREE = ["".join("B" if i in b else "A" for i in range(6)) for b in itertools.combinations(range(1, 6), 3)]
"""Every order of three and three that begins with A; those that begin with B are the same with the names changed."""


@pytest.mark.parametrize("ways", [False, True], ids=["drift", "drift and out and back in turn"])
def test_three_and_three_hold_in_every_order(ways: bool) -> None:
    """A straight drift beside, and scatters that differ up to three times either way."""
    place, alarms = np.arange(6.0), []
    beside = np.column_stack([place, place % 2]) if ways else place
    for order in THREE_AND_THREE:
        second = np.array([name == "B" for name in order])
        if ways and order in ("ABABAB", "BABABA"):  # one setup out, the other back: nothing can tell them apart
            continue
        for ratio in (1.0 / 3.0, 1.0, 3.0):
            y = np.random.default_rng(9).normal(size=(SYNTHETIC, 6)) * np.where(second, ratio, 1.0) + 0.5 * place
            found = contrast(y, second, beside)
            alarms.append(np.mean(found.p < 0.05))
            low, high = found.interval()
            assert 0.93 <= np.mean((low <= 0.0) & (high >= 0.0)) <= 0.97, (order, ratio)
    assert max(alarms) <= 0.06


# Order, and what is written down beside: its place, or out (1) and back (0) as they came.
UNEVEN = {
    "three and five, drift": ("ABBABABB", None),
    "five and three, directions as they came": ("AAABBABA", [1, 0, 1, 1, 0, 0, 1, 0]),
    "three and six, drift": ("BBABBABAB", None),
    "four and three, directions as they came": ("ABBAABA", [1, 1, 0, 0, 1, 0, 1]),
    "four and four, drift": ("AABBBBAA", None),
    "four and six, directions as they came": ("ABBABBABBA", [1, 0, 0, 1, 1, 0, 0, 1, 0, 1]),
}


@pytest.mark.parametrize(("order", "ways"), UNEVEN.values(), ids=UNEVEN.keys())
def test_unequal_numbers_of_runs_hold_with_something_beside(order: str, ways: list[int] | None) -> None:
    """Whichever of the two scatters more. A width that is the same whatever is seen cannot do it: up to 99 %."""
    second = np.array([name == "B" for name in order])
    beside = np.arange(float(len(order))) if ways is None else np.array(ways, float)
    for ratio in (1.0 / 3.0, 0.5, 1.0, 2.0, 3.0):
        y = np.random.default_rng(9).normal(size=(SYNTHETIC, len(order))) * np.where(second, ratio, 1.0) + 0.5 * beside
        covered = np.mean(contrast(y, second, beside).p >= 0.05)
        assert 0.94 <= covered <= 0.97, (ratio, covered)


def test_five_runs_of_each_need_no_scaling() -> None:
    y, place = DICE.normal(size=(3, 10)), np.arange(10.0)
    assert (contrast(y, place % 2, place).scale == 1.0).all()
    assert (contrast(y[:, :9], place[:9] % 2, place[:9]).scale != 1.0).all()


def test_a_drift_that_is_left_out_does_cry_wolf() -> None:
    """What the test above would say if the covariate did nothing."""
    second, place = np.array([0, 0, 0, 0, 1, 1, 1, 1]), np.arange(8.0)
    y = DICE.normal(size=(2000, 8)) + 0.5 * place
    assert np.mean(contrast(y, second).p < 0.05) > 0.2


@pytest.mark.parametrize(("pairs", "ratio", "drift"), [(3, 1.0, 0.0), (3, 4.0, 0.5), (4, 2.0, 0.5), (8, 2.0, 0.2)])
def test_intervals_of_pairs_cover_the_truth(pairs: int, ratio: float, drift: float) -> None:
    """Pairs share a day of their own; a drift within the pair cancels when the first of the pair takes turns."""
    day = DICE.normal(size=(SYNTHETIC, pairs)) * 5.0
    a_first = np.arange(pairs) % 2 == 0
    a = day + DICE.normal(size=day.shape) + drift * np.where(a_first, 0.0, 1.0)
    b = day + ratio * DICE.normal(size=day.shape) + drift * np.where(a_first, 1.0, 0.0)
    low, high = paired(a, b + TRUE).contrast.interval()
    left = drift * np.mean(np.where(a_first, 1.0, -1.0))  # what an odd pair leaves of the drift
    covered = np.mean((low <= TRUE + left) & (high >= TRUE + left))
    assert 0.93 <= covered <= 0.97 if pairs % 2 == 0 or drift == 0.0 else covered >= 0.93
    assert np.mean(paired(a + left, b).contrast.p < 0.05) <= 0.06


@pytest.mark.parametrize(("pairs", "ratio", "drift"), [(5, 1.0, 0.5), (5, 3.0, 0.5), (7, 2.0, 1.0)])
def test_with_the_turns_beside_an_odd_number_of_pairs_keeps_no_drift(pairs: int, ratio: float, drift: float) -> None:
    """The truth itself is covered, not the truth and what the odd pair leaves; and nothing cries wolf."""
    day = DICE.normal(size=(SYNTHETIC, pairs)) * 5.0
    later = np.where(np.arange(pairs) % 2 == 0, 1.0, -1.0)
    a = day + DICE.normal(size=day.shape) - 0.5 * drift * later
    b = day + ratio * DICE.normal(size=day.shape) + 0.5 * drift * later
    low, high = paired(a, b + TRUE, beside=later).contrast.interval()
    assert 0.93 <= np.mean((low <= TRUE) & (high >= TRUE)) <= 0.97
    assert np.mean(paired(a, b, beside=later).contrast.p < 0.05) <= 0.06


def test_with_the_turns_beside_the_estimates_are_those_of_least_squares() -> None:
    later = np.array([1.0, -1.0, 1.0, -1.0, 3.0])
    a, b = DICE.normal(8.0, 0.1, 5), DICE.normal(7.9, 0.1, 5)
    theirs = sm.OLS(b - a, np.column_stack([np.ones(5), later])).fit()
    found = paired(a, b, beside=later).contrast
    np.testing.assert_allclose([found.difference, found.slopes[0]], theirs.params, rtol=1e-10)
    np.testing.assert_allclose([found.se, found.df, found.p], [theirs.bse[0], theirs.df_resid, theirs.pvalues[0]])


def test_pairs_that_cannot_carry_the_turns_are_refused() -> None:
    with pytest.raises(TrialError, match="2 pairs of runs"):
        paired([1.0, 2.0], [1.0, 2.5], beside=[1.0, -1.0])
    with pytest.raises(TrialError, match="each setup first in some of them"):
        paired([1.0, 2.0, 3.0], [1.0, 2.5, 3.5], beside=[1.0, 1.0, 1.0])


def test_a_clock_that_cannot_show_a_difference_does_not_prove_one() -> None:
    """Three equal readings each: without the clock's own +/- the interval would have no width at all."""
    blind = contrast([4.2, 4.2, 4.2, 4.1, 4.1, 4.1], [0, 0, 0, 1, 1, 1])
    assert blind.half_width() == pytest.approx(0.0, abs=1e-9)
    seeing = contrast([4.2, 4.2, 4.2, 4.1, 4.1, 4.1], [0, 0, 0, 1, 1, 1], least_sd=0.05)
    assert seeing.half_width() > 0.1


@pytest.mark.parametrize(
    ("values", "second", "beside", "said"),
    [
        ([1.0, 2.0, 3.0], [0, 1, 1], None, "at least 2 of each setup"),
        ([1.0, 2.0, np.nan, 4.0], [0, 0, 1, 1], None, "a run has no value"),
        ([1.0, 2.0, 3.0, 4.0], [0, 0, 1, 1], [5.0, 5.0, 6.0, 6.0], "cannot be told apart"),
        ([1.0, 2.0, 3.0, 4.0], [0, 1, 0, 1], [[1, 2], [1, 3], [2, 5], [2, 1]], "cannot be told apart"),
    ],
)
def test_what_cannot_be_told_is_refused(values: object, second: object, beside: object, said: str) -> None:
    with pytest.raises(TrialError, match=said):
        contrast(values, second, beside)  # type: ignore[arg-type]
