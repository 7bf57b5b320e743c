"""How well a piece of sound fits an engine of each speed, at each rate of change: the harmonic comb.

Firing at f Hz puts lines at f, 2f, 3f ... into the spectrum. A candidate f is scored by what stands on its lines less
what stands half way between them: half the true f finds every second line missing, twice the true f finds lines half
way between, so both score less than f itself. The lowest line may be missing, as phones hear little down there.

While the engine accelerates, line k sweeps k times as fast and smears over its neighbours. So each window is looked at
through several warps of time, each of which holds still an engine that changes at one rate (a chirp whose frequency
is straight in time); of all warps the right one shows the sharpest lines.
"""

import math
from dataclasses import dataclass
from functools import cached_property

import numpy as np
from numpy.typing import NDArray
from scipy import fft, ndimage

Floats = NDArray[np.float64]
Singles = NDArray[np.float32]

RATE_HZ = 4000  # lines above 1.8 kHz add little and cost time
TOP_HZ = 1800.0
HOP = 80  # samples from one instant to the next: 20 ms
STEP = 0.005  # natural logarithm of the ratio of neighbouring candidates: 0.5 %
FASTEST = 8  # warps each way; warp s holds still an engine that changes by s steps from instant to instant, 2/s at most
LINES = 20  # of one comb at most
# What follows is judgement, chosen on invented recordings (benchmarks/bench_sound.py shows what they give).
CYCLES = 4.0  # of the slowest firing in one window: what a Hann window needs to tell neighbouring lines apart
SHORTEST_S, LONGEST_S = 0.12, 0.4  # window
SURROUNDINGS = 0.75  # of the fastest firing, each way: over this a line is compared, so that lines are always in it
LOUDEST = 3.0  # how much one line may count at most, so that a single loud tone is no engine
UNEVEN_WEIGHT, CHANCE = 2.0, 0.3  # of even teeth that stand above odd ones, and how far they may by chance


@dataclass(frozen=True)
class Comb:
    """A comb for firing frequencies from slowest_hz to fastest_hz, at most 500 Hz."""

    slowest_hz: float
    fastest_hz: float

    @cached_property
    def firing_hz(self) -> Floats:
        """The candidates, shape (f,): each STEP above the one before."""
        count = int(np.ceil(np.log(self.fastest_hz / self.slowest_hz) / STEP)) + 1
        candidates: Floats = self.slowest_hz * np.exp(STEP * np.arange(count))
        return candidates

    @cached_property
    def window(self) -> int:
        """Samples in one window, even."""
        return 2 * round(float(np.clip(CYCLES / self.slowest_hz, SHORTEST_S, LONGEST_S)) * RATE_HZ / 2)

    def instants_s(self, count: int) -> Floats:
        """The middles of the first `count` windows, in seconds after the first sample."""
        middles: Floats = (np.arange(count) * HOP + (self.window - 1) / 2) / RATE_HZ
        return middles

    def scores(self, samples: Singles) -> Singles:
        """Score of each candidate at each instant and warp.

        samples : shape (n,), mono at RATE_HZ, of any loudness
        Returns shape (instants, 2 FASTEST + 1, f): about 0 for noise, 2 and more for an engine; no instants where the
        sound is shorter than one window.
        """
        count = max(0, (len(samples) - self.window) // HOP + 1)
        scores = np.zeros((count, 2 * FASTEST + 1, len(self.firing_hz)), np.float32)
        loudness = float(np.sqrt(np.mean(samples**2))) if count else 0.0
        if loudness < 1e-9:  # digital silence
            return scores
        frames = np.lib.stride_tricks.sliding_window_view(samples / np.float32(loudness), self.window)[::HOP]
        for warp in range(2 * FASTEST + 1):
            scores[:, warp] = self._comb(self._lines(frames, warp - FASTEST))
        return scores

    @cached_property
    def size(self) -> int:
        """Length of the transform; its lines lie RATE_HZ / size apart."""
        return int(fft.next_fast_len(int(1.6 * self.window), real=True))

    def outstanding(self, frames: Singles, warp: int = 0) -> Singles:
        """How far each frequency stands out of its surroundings: shape (instants, lines), 0 to LOUDEST.

        frames : shape (instants, window)
        """
        size = self.size
        left, share = self._warped(warp)
        warped = frames[:, left] * (1 - share) + frames[:, left + 1] * share
        warped *= np.hanning(self.window).astype(np.float32)
        power = np.abs(fft.rfft(warped, size, axis=1, workers=2)) ** 2
        width = int(2 * SURROUNDINGS * self.fastest_hz * size / RATE_HZ)
        # Mean of the roots, squared: less swayed by one loud tone than the mean, less by valleys than the logarithm's.
        around = ndimage.uniform_filter1d(np.sqrt(power), width, axis=1, mode="nearest") ** 2
        found: Singles = np.float32(LOUDEST) * np.tanh(np.log1p(power / (around + np.float32(1e-12))) / LOUDEST)
        return found

    def _lines(self, frames: Singles, warp: int) -> Singles:
        """The same on a logarithmic axis from half the slowest firing."""
        outstanding = self.outstanding(frames, warp)
        place = self._axis_hz * self.size / RATE_HZ
        below = place.astype(np.intp)
        part = (place - below).astype(np.float32)
        lines: Singles = outstanding[:, below] * (1 - part) + outstanding[:, below + 1] * part
        return lines

    def _comb(self, lines: Singles) -> Singles:
        """Sum over the comb's teeth, each less half of its two gaps, over the root of their number; less a penalty.

        An engine that fires weaker every second time ("four-strokes") fills the gaps half way. Half its speed then
        finds a line on every tooth, but every second one stronger: what the even teeth stand above the odd ones
        beside them, beyond what formants and chance make, speaks against a candidate.
        """
        firing = self.firing_hz
        teeth = np.minimum(LINES, np.floor(TOP_HZ / firing - 0.5).astype(int))
        root = np.sqrt(np.maximum(teeth, 1)).astype(np.float32)
        total = np.zeros((len(lines), len(firing)), np.float32)
        uneven = np.zeros_like(total)

        def add(to: Singles, orders: tuple[float, float, float], wanted: int) -> None:
            count = int((teeth >= wanted).sum())  # the slowest candidates have most teeth, so they are the first ones
            for order, weight in zip(orders, (1.0, -0.5, -0.5), strict=True):
                start = self._octave + round(math.log(order) / STEP)
                to[:, :count] += np.float32(weight) * lines[:, start : start + count]

        for k in range(1, int(teeth.max()) + 1):
            add(total, (k, k - 0.5, k + 0.5), k)
        for k in range(2, int(teeth.max()), 2):
            add(uneven, (k, k - 1, k + 1), k + 1)
        uneven /= np.maximum((teeth - 1) // 2, 1).astype(np.float32)
        scored: Singles = total / root - np.float32(UNEVEN_WEIGHT) * root * np.maximum(uneven - np.float32(CHANCE), 0)
        return scored

    @cached_property
    def _octave(self) -> int:
        return round(math.log(2.0) / STEP)

    @cached_property
    def _axis_hz(self) -> Floats:
        lowest = self.slowest_hz * np.exp(-STEP * self._octave)
        axis: Floats = lowest * np.exp(STEP * np.arange(int(np.log(1.03 * TOP_HZ / lowest) / STEP) + 1))
        return axis

    def _warped(self, warp: int) -> tuple[NDArray[np.intp], Singles]:
        """Where to read a window so that an engine of that warp stands still: left neighbours and parts of the way.

        The turns since the middle are t + a t^2/2, in units of those at the middle; they are read at even steps.
        """
        rate = warp * STEP * RATE_HZ / HOP
        t = (np.arange(self.window) - (self.window - 1) / 2) / RATE_HZ
        place = np.interp(t, t + rate * t**2 / 2, t) * RATE_HZ + (self.window - 1) / 2
        left = np.clip(place.astype(np.intp), 0, self.window - 2)
        return left, (place - left).astype(np.float32)
