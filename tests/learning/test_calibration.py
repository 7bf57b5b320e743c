"""How often bands hold and how far measured and predicted lie apart, against published figures and other libraries."""

import math
from collections.abc import Sequence

import numpy as np
import pytest
from scipy import stats
from statsmodels.stats.proportion import proportion_confint

from scribeline.errors import LedgerError
from scribeline.learning import Beside, Learned, Measurement, Prediction, beside, coverage, learned, scaled
from scribeline.learning.calibration import ENOUGH_TO_COUNT, ENOUGH_TO_SCALE, PROMISED
from scribeline.learning.words import beside_words, learned_words


def pair(
    measured: float, occasion: str, *, quantity: str = "gate time", way: str = "simulation", half: float = 1.0
) -> Beside:
    promise = Prediction(quantity, "25 to 50 km/h", "s", 8.0, 8.0 - half, 8.0 + half, way, occasion)
    return beside(promise, Measurement(measured, 0.1))


def only(besides: Sequence[Beside]) -> Learned:
    (found,) = learned(besides)
    return found


# NIST/SEMATECH e-Handbook of Statistical Methods, 7.2.4.1: 4 defectives in 20, a 90 % interval, 0.071354 to 0.401029.
# From memory; and the rule of thumb for none in n, 1 - 0.025 ** (1 / n), which is the same equation solved by hand.
PUBLISHED = [
    (4, 20, 0.90, 0.071354, 0.401029),
    (0, 10, 0.95, 0.0, 1.0 - 0.025 ** (1 / 10)),
    (10, 10, 0.95, 0.025 ** (1 / 10), 1.0),
]


@pytest.mark.parametrize(("held", "of", "confidence", "low", "high"), PUBLISHED)
def test_published_exact_intervals(held: int, of: int, confidence: float, low: float, high: float) -> None:
    found = coverage(held, of, confidence)
    assert (found.low, found.high) == pytest.approx((low, high), abs=1.5e-6)


@pytest.mark.parametrize("of", [1, 2, 6, 19, 72])
def test_exact_intervals_of_other_libraries(of: int) -> None:
    for held in range(of + 1):
        found = coverage(held, of)
        by_scipy = stats.binomtest(held, of).proportion_ci(0.95, method="exact")
        assert (found.low, found.high) == pytest.approx((by_scipy.low, by_scipy.high), abs=1e-9)
        by_statsmodels = proportion_confint(held, of, 0.05, method="beta")
        assert (found.low, found.high) == pytest.approx(by_statsmodels, abs=1e-9)


def test_the_interval_covers_at_least_as_often_as_it_says() -> None:
    """By adding up the binomial probabilities of every count whose interval holds the truth."""
    for share in (0.5, 0.8, 0.95):
        counts = np.arange(13)
        holds = np.array([coverage(int(k), 12).low <= share <= coverage(int(k), 12).high for k in counts])
        assert stats.binom.pmf(counts, 12, share)[holds].sum() >= 0.95


@pytest.mark.parametrize("of", [6, 10, 20, 40, 120])
def test_honest_bands_are_seldom_called_too_narrow_or_too_wide(of: int) -> None:
    """Adding up the binomial probabilities of the counts that would be called so: at most 2.5 % to either side."""
    counts = np.arange(of + 1)
    narrow = np.array([coverage(int(held), of).high < PROMISED for held in counts])
    wide = np.array([coverage(int(held), of).low > PROMISED for held in counts])
    chances = stats.binom.pmf(counts, of, PROMISED)
    assert chances[narrow].sum() <= 0.025
    assert chances[wide].sum() <= 0.025


def test_bands_that_are_off_are_called_so_sooner_or_later() -> None:
    counts = np.arange(31)
    narrow = np.array([coverage(int(held), 30).high < PROMISED for held in counts])
    assert stats.binom.pmf(counts, 30, 0.6)[narrow].sum() > 0.95  # bands that hold 6 times of 10, after 30 occasions


def test_honest_bands_and_readings_hold_as_often_as_two_standard_deviations_promise() -> None:
    """Simulated truth: errors of prediction and of reading are normal, each with a +/- of two of its deviations."""
    dice = np.random.default_rng(20261126)
    truth = 8.0 + dice.normal(size=(4000, 2)) * [0.4, 0.15]
    held = sum(
        beside(
            Prediction("x", "x", "s", predicted, predicted - 0.8, predicted + 0.8, "way", "a"), Measurement(read, 0.3)
        ).held
        for predicted, read in truth
    )
    assert held / 4000 == pytest.approx(1.0 - 2.0 * stats.norm.sf(2.0), abs=0.01)


def test_enough_is_where_all_held_first_says_more_than_half() -> None:
    assert coverage(ENOUGH_TO_COUNT, ENOUGH_TO_COUNT).low > 0.5 > coverage(ENOUGH_TO_COUNT - 1, ENOUGH_TO_COUNT - 1).low


def test_the_mean_ratio_against_another_library() -> None:
    ratios = [1.08, 1.03, 1.12, 0.99, 1.05]
    logs = np.log(ratios)
    low, high = stats.t.interval(0.95, 4, logs.mean(), stats.sem(logs))
    found = scaled(ratios)
    assert (found.ratio, found.low, found.high) == pytest.approx((stats.gmean(ratios), math.exp(low), math.exp(high)))
    assert not found.shown
    assert scaled([1.08, 1.09, 1.10]).shown


@pytest.mark.parametrize("counts", [(3, 2, 0.95), (-1, 2, 0.95), (1, 2, 0.0), (1, 2, 1.0)])
def test_counts_that_cannot_be(counts: tuple[int, int, float]) -> None:
    with pytest.raises(LedgerError, match="what to do: count again"):
        coverage(*counts)


@pytest.mark.parametrize("ratios", [[], [1.0], [1.0, 0.0], [1.0, -1.0], [1.0, math.nan]])
def test_ratios_that_have_no_mean(ratios: list[float]) -> None:
    with pytest.raises(LedgerError, match="at least 2, each above 0"):
        scaled(ratios)


def test_three_gates_of_one_curve_are_one_witness() -> None:
    found = only([pair(12.0, "kart"), pair(8.0, "kart"), pair(8.1, "kart"), pair(8.2, "moped")])
    assert (found.coverage.held, found.coverage.of) == (1, 2)  # the first of each occasion speaks
    assert len(found.besides) == 4
    assert "(4 numbers; those of one occasion err together and count once)" in learned_words(found)[0]


def test_only_like_is_counted_with_like() -> None:
    found = learned([pair(8.0, "a"), pair(8.0, "a", way="plan"), pair(8.0, "a", quantity="power"), pair(8.0, "b")])
    assert [(one.quantity, one.came_from, one.coverage.of) for one in found] == [
        ("gate time", "simulation", 2),
        ("gate time", "plan", 1),
        ("power", "simulation", 1),
    ]


def test_too_few_teach_nothing_and_say_how_many_are_missing() -> None:
    found = only([pair(12.0, "a"), pair(12.1, "b"), pair(12.2, "c")])
    assert found.scaled is None
    assert learned_words(found) == [
        "gate time (simulation): 0 of 3 held. Too few for a word on the bands: 3 more occasions are needed at least",
        "gate time (simulation): too few for a factor between measured and predicted: "
        "1 more occasion is needed at least",
    ]


def test_a_factor_is_said_and_not_applied() -> None:
    besides = [pair(8.0 * ratio, name) for ratio, name in zip((1.05, 1.06, 1.07, 1.06), "abcd", strict=True)]
    found = only(besides)
    assert found.scaled is not None
    assert found.scaled.occasions == ENOUGH_TO_SCALE
    said = learned_words(found)[1]
    assert "1.060 on the whole (1.047 to 1.073, 4 occasions)" in said
    assert "the last prediction of 8.00 s would have read 8.48" not in said  # a band of 1 s has one digit and one more
    assert "the last prediction of 8.0 s would have read 8.5" in said
    assert "applied nowhere" in said
    assert besides[-1].prediction.value == 8.0


def test_a_factor_that_may_be_none_is_not_offered() -> None:
    besides = [pair(8.0 * ratio, name) for ratio, name in zip((0.95, 1.06, 1.07, 0.96), "abcd", strict=True)]
    said = learned_words(only(besides))[1]
    assert said.endswith("1 is among them, so no factor is shown")
    assert "would have read" not in said


@pytest.mark.parametrize(
    ("held", "of", "said"),
    [(1, 6, "these bands are too narrow"), (6, 6, "the 95 % promised is among them"),
     (120, 120, "these bands are wider than they need be")],
)  # fmt: skip
def test_what_is_said_of_the_bands(held: int, of: int, said: str) -> None:
    besides = [pair(8.0 + 0.01 * (i % 3) if i < held else 12.0, f"cylinder {i}") for i in range(of)]
    assert said in learned_words(only(besides))[0]


def test_a_quantity_that_passes_zero_has_no_factor() -> None:
    promise = Prediction("length", "deck", "mm", 0.0, -0.1, 0.1, "plan", "a")
    found = only(
        [beside(promise, Measurement(0.02, 0.01)), *(pair(8.0, n, quantity="length", way="plan") for n in "bcd")]
    )
    assert found.scaled is None
    assert len(learned_words(found)) == 1


def test_one_pair_in_words() -> None:
    assert beside_words(pair(9.4, "a", half=0.5)) == (
        "25 to 50 km/h: predicted 8.00 s (7.50 to 8.50), measured 9.40 ± 0.10 s: 1.40 s more, outside the band, by 2.7 "
        "times both +/- together"
    )
    assert beside_words(pair(8.0, "a")).endswith("no difference, inside the band")
    assert "by no more than both +/- together explain" in beside_words(pair(9.001, "a"))
