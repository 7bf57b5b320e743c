"""The forward-backward passes against every path added up one by one."""

from itertools import product

import numpy as np

from scribeline.recordings.sound import smoothing
from scribeline.recordings.sound.smoothing import _forward_backward, likeliest


def by_enumeration(likelihood: np.ndarray) -> np.ndarray:
    """Probability of each candidate at each instant: the sum over all paths of states (rate, candidate) and None."""
    n, rates, count = likelihood.shape
    states = [None, *product(range(rates), range(count))]
    enter = smoothing.FOUND / (rates * count)

    def start(state: tuple[int, int] | None) -> float:
        return 0.5 if state is None else 0.5 / (rates * count)

    def step(a: tuple[int, int] | None, b: tuple[int, int] | None) -> float:
        if a is None:
            return 1 - smoothing.FOUND if b is None else enter
        if b is None:
            return smoothing.LOST
        moved = b[1] == a[1] + a[0] - rates // 2
        changed = {0: smoothing.STEADY, 1: (1 - smoothing.STEADY) / 2}.get(abs(a[0] - b[0]), 0.0)
        return (1 - smoothing.LOST) * changed * moved

    total = np.zeros((n, count))
    whole = 0.0
    for path in product(states, repeat=n):
        weight = start(path[0])
        for i, state in enumerate(path):
            weight *= 1.0 if state is None else float(likelihood[i][state])
            weight *= step(path[i - 1], state) if i else 1.0
        whole += weight
        for i, state in enumerate(path):
            if state is not None:
                total[i, state[1]] += weight
    return total / whole


def test_the_probabilities_are_those_of_all_paths_together() -> None:
    """The order of moving and changing the rate is the code's: move by the old rate, then change it."""
    rng = np.random.default_rng(5)
    likelihood = rng.uniform(0.2, 40.0, (4, 3, 3)).astype(np.float32)
    probability, _ = _forward_backward(likelihood)
    assert np.allclose(probability, by_enumeration(likelihood), rtol=2e-4, atol=1e-6)


def test_a_lone_peak_is_met_between_candidates() -> None:
    """A parabola with its top at 20.3, still: the candidate is read off it, not rounded."""
    scores = np.broadcast_to(8.0 - 0.5 * (np.arange(50) - 20.3) ** 2, (30, 5, 50)).astype(np.float32)
    best = likeliest(scores)
    assert np.allclose(best.candidate[5:-5], 20.3, atol=0.02)
    assert best.confidence.min() > 0.9


def test_two_equal_candidates_share_the_confidence() -> None:
    scores = np.zeros((20, 5, 60), np.float32)
    scores[:, :, [15, 45]] = 8.0
    assert np.allclose(likeliest(scores).confidence, 0.5, atol=0.02)


def test_a_prior_decides_between_them() -> None:
    scores = np.zeros((20, 5, 60), np.float32)
    scores[:, :, [15, 45]] = 8.0
    prior = np.ones((20, 60), np.float32)
    prior[:, 45] = 0.5
    best = likeliest(scores, prior)
    assert np.allclose(best.candidate, 15.0, atol=0.5)
    assert best.confidence.min() > 0.9
