"""The comb on sounds made of nothing but sines, whose frequency is known exactly."""

import numpy as np
import pytest

from scribeline.recordings.sound.comb import FASTEST, HOP, RATE_HZ, STEP, Comb

COMB = Comb(25.0, 233.0)


def sines(at_middle_hz: float, rate_per_s: float, orders: list[float], seconds: float = 1.0) -> np.ndarray:
    """Lines at these orders of a fundamental that changes evenly; its speed holds in the middle of the sound."""
    t = np.arange(-seconds / 2, seconds / 2, 1 / RATE_HZ)
    turns = at_middle_hz * (t + rate_per_s * t**2 / 2)
    return sum(np.sin(2 * np.pi * k * turns + k) for k in orders).astype(np.float32)  # type: ignore[union-attr]


def middle(samples: np.ndarray) -> np.ndarray:
    scores = COMB.scores(samples)
    return scores[len(scores) // 2]


@pytest.mark.parametrize("firing_hz", [34.0, 60.0, 110.0, 199.0])
def test_a_steady_engine_scores_highest_at_its_own_speed(firing_hz: float) -> None:
    score = middle(sines(firing_hz, 0.0, list(range(1, 12))))
    warp, best = np.unravel_index(score.argmax(), score.shape)
    assert abs(np.log(COMB.firing_hz[best] / firing_hz)) < STEP
    assert abs(warp - FASTEST) <= 1
    still = score[FASTEST]
    for octave in (0.5, 2.0):
        other = int(np.argmin(np.abs(COMB.firing_hz - octave * firing_hz)))
        if 30.0 < octave * firing_hz < 230.0:
            assert still[other - 2 : other + 3].max() < 0.9 * still[best]


@pytest.mark.parametrize("warp", [-6, -3, 4, 7])
def test_the_warp_that_holds_the_engine_still_scores_highest(warp: int) -> None:
    rate_per_s = warp * STEP * RATE_HZ / HOP
    samples = sines(100.0, rate_per_s, list(range(1, 12)), seconds=0.5)
    scores = COMB.scores(samples)
    half = len(scores) // 2
    score = scores[half]
    true_hz = 100.0 * (1 + rate_per_s * (COMB.instants_s(half + 1)[-1] - 0.25))
    found, best = np.unravel_index(score.argmax(), score.shape)
    assert found - FASTEST == warp
    assert abs(np.log(COMB.firing_hz[best] / true_hz)) < STEP
    assert score[FASTEST].max() < 0.8 * score[found, best]


def test_a_missing_fundamental_changes_little() -> None:
    score = middle(sines(60.0, 0.0, list(range(4, 20))))[FASTEST]
    assert abs(np.log(COMB.firing_hz[score.argmax()] / 60.0)) < STEP


def test_noise_scores_about_nothing_and_silence_nothing() -> None:
    noise = np.random.default_rng(3).standard_normal(8 * RATE_HZ).astype(np.float32)
    assert abs(COMB.scores(noise).mean()) < 0.1
    assert not COMB.scores(np.zeros(RATE_HZ, np.float32)).any()
    assert COMB.scores(np.zeros(10, np.float32)).shape[0] == 0


def test_loudness_does_not_matter() -> None:
    samples = sines(80.0, 0.0, [1, 2, 3, 4])
    samples += 0.01 * np.random.default_rng(4).standard_normal(len(samples)).astype(np.float32)
    assert np.allclose(COMB.scores(samples), COMB.scores(samples * np.float32(1e-4)), atol=0.01)


def test_instants_are_the_middles_of_their_windows() -> None:
    assert COMB.window == 640
    assert COMB.instants_s(3) == pytest.approx([319.5 / 4000, 399.5 / 4000, 479.5 / 4000])
