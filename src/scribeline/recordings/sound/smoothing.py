"""From scores to the engine speed at every instant and how sure it is: a hidden Markov model of an engine.

The state is the speed and its rate of change: the speed moves on by its rate, the rate changes little from instant to
instant. One further state says "no engine to be heard"; through it the speed may jump, as when a clutch is pulled.
Forward and backward passes give the probability of every speed at every instant given the whole stretch of sound;
what lies within 3 % of the likeliest speed is the confidence.

The classical forward-backward algorithm (rabiner-1989), which weighs all paths where Viterbi's keeps the best one:
the second best path is what a confidence needs to know.
"""

from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray

from scribeline.recordings.sound.comb import STEP

Floats = NDArray[np.float64]
Singles = NDArray[np.float32]

NEAR = round(0.03 / STEP)
"""Candidates each way that count as the same speed: 3 %."""

# Judgement, chosen on invented recordings (benchmarks/bench_sound.py shows what they give).
WEIGHT = 0.5  # of a score as a log likelihood: instants overlap, so each says little that its neighbour did not
DOUBT = 1.7  # score from which on an engine is likelier than none
STEADY = 0.8  # probability that the rate of change stays
LOST, FOUND = 0.002, 0.02  # probability from one instant to the next that the engine is heard no more, or again


class Likeliest(NamedTuple):
    """At each instant, shape (n,): candidate (with a fraction), confidence 0 to 1, spread in candidates."""

    candidate: Floats
    confidence: Floats
    spread: Floats


def likeliest(scores: Singles, prior: Singles | None = None) -> Likeliest:
    """The likeliest candidate at every instant, given all of them.

    scores : shape (n, rates, f), n at least 1, as `Comb.scores` gives them
    prior : shape (n, f), what else speaks for each candidate; None for nothing
    """
    likelihood = np.exp(np.minimum(WEIGHT * (scores - DOUBT), 60.0))
    if prior is not None:
        likelihood *= prior[:, None, :]
    probability, best_rate = _forward_backward(likelihood)
    instants = np.arange(len(scores))
    best = probability.argmax(axis=1)
    padded = np.pad(probability, ((0, 0), (NEAR, NEAR)))
    near = np.take_along_axis(padded, best[:, None] + np.arange(2 * NEAR + 1), axis=1).astype(np.float64)
    confidence = near.sum(axis=1)
    offset = np.arange(-NEAR, NEAR + 1)
    mean = (near * offset).sum(axis=1) / np.maximum(confidence, 1e-30)
    spread = np.sqrt((near * (offset - mean[:, None]) ** 2).sum(axis=1) / np.maximum(confidence, 1e-30))
    inner = np.clip(best, 1, scores.shape[2] - 2)
    a, b, c = (scores[instants, best_rate, inner + d].astype(np.float64) for d in (-1, 0, 1))
    bend = a - 2 * b + c
    vertex = np.where(bend < -1e-6, np.clip((a - c) / np.where(bend < -1e-6, 2 * bend, 1.0), -0.5, 0.5), 0.0)
    # Where one candidate holds nearly all the probability, its score's peak says more than the mean over candidates.
    fine = np.where((np.abs(mean) < 0.5) & (spread < 1.0) & (inner == best), vertex, mean)
    return Likeliest(best + fine, np.clip(confidence, 0.0, 1.0), spread)


def _forward_backward(likelihood: Singles) -> tuple[Singles, NDArray[np.intp]]:
    """Probability of each candidate at each instant, shape (n, f), and the likeliest rate at the likeliest one."""
    n, rates, f = likelihood.shape
    move = np.arange(rates)[:, None] - rates // 2
    rows = np.arange(rates)[:, None] * f
    came, goes = np.arange(f)[None] - move, np.arange(f)[None] + move
    came_inside, goes_inside = ((x >= 0) & (x < f) for x in (came, goes))
    came, goes = (np.clip(x, 0, f - 1) + rows for x in (came, goes))
    enter = FOUND / (rates * f)

    forward = np.empty_like(likelihood)
    unheard = np.empty(n)
    now = np.full((rates, f), 0.5 / (rates * f), np.float32) * likelihood[0]
    none = 0.5
    for i in range(n):
        if i:
            none, now = (
                none * (1 - FOUND) + LOST * float(now.sum()),
                (_change_rate(now.ravel()[came] * came_inside) * (1 - LOST) + enter * none) * likelihood[i],
            )
        total = float(now.sum()) + none
        now, none = (now / total).astype(np.float32), none / total
        forward[i], unheard[i] = now, none

    probability = np.empty((n, f), np.float32)
    best_rate = np.empty(n, np.intp)
    later, later_none = np.ones((rates, f), np.float32), 1.0
    for i in range(n - 1, -1, -1):
        both, both_none = forward[i] * later, unheard[i] * later_none
        probability[i] = both.sum(axis=0) / (float(both.sum()) + both_none)
        best_rate[i] = both[:, probability[i].argmax()].argmax()
        ahead = later * likelihood[i]
        later, later_none = (
            (1 - LOST) * _change_rate(ahead).ravel()[goes] * goes_inside + LOST * later_none,
            (1 - FOUND) * later_none + enter * float(ahead.sum()),
        )
        most = max(float(later.max()), later_none)
        later, later_none = (later / most).astype(np.float32), later_none / most
    return probability, best_rate


def _change_rate(state: Singles) -> Singles:
    """Each rate of change stays, or becomes one of its two neighbours."""
    changed = np.float32(STEADY) * state
    changed[1:] += np.float32((1 - STEADY) / 2) * state[:-1]
    changed[:-1] += np.float32((1 - STEADY) / 2) * state[1:]
    return changed
