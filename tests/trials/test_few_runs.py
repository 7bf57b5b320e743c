"""Widths for few runs, against methods of which it is known how wide they have to be."""

import numpy as np
import pytest
from scipy import special

from scribeline.trials.few_runs import AIM, SHARES, scale_at, widths

N = 6


def student(dice: np.ndarray, half: float) -> np.ndarray:
    """How far the mean of N runs misses, over Student's half width (exact) times `half`."""
    se = dice.std(axis=1, ddof=1) / np.sqrt(N)
    return np.abs(dice.mean(axis=1)) / (half * special.stdtrit(N - 1, 0.975) * se)


@pytest.mark.parametrize("half", [1.0, 0.7])
def test_an_exact_interval_stays_and_one_that_is_too_short_is_made_longer(half: float) -> None:
    found = widths(N, lambda dice, _: (student(dice, half), np.linspace(0.0, 1.0, len(dice))))
    aimed = special.stdtrit(N - 1, 0.5 + 0.5 * AIM) / special.stdtrit(N - 1, 0.975)
    assert found == pytest.approx(aimed / half, rel=0.05)


def test_what_is_too_short_for_some_days_only_is_made_longer_there_only() -> None:
    """Days on which the first setup has most of the scatter get two thirds of the width that they need."""

    def driven(dice: np.ndarray, ratio: float) -> tuple[np.ndarray, np.ndarray]:
        share = np.full(len(dice), ratio**2 / (1.0 + ratio**2))
        return student(dice, 2 / 3 if ratio < 1.0 else 1.0), share

    found = widths(N, driven)
    assert found[0] == pytest.approx(1.5, rel=0.1)
    assert found[-1] == pytest.approx(1.0, rel=0.1)


def test_between_the_shares_the_logarithm_lies_on_a_line() -> None:
    wide = np.array([1.0, 4.0, 1.0, 1.0, 2.0])
    assert scale_at(SHARES, wide) == pytest.approx(wide)
    assert scale_at(np.array(0.5 * (SHARES[0] + SHARES[1])), wide) == pytest.approx(2.0)
