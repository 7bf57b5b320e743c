"""What many predictions set beside measurements teach: how often the bands held, and a common factor.

Predictions that err together are not independent witnesses: three gate times from one simulated curve are one. Of each
occasion and quantity the prediction that was kept first speaks, chosen before anything was measured; for the factor,
the mean of the occasion does.
"""

import math
from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from scipy import special

from scribeline.errors import LedgerError
from scribeline.learning.ledger import Beside

CONFIDENCE = 0.95
PROMISED = 0.95
"""The share of bands that should hold: each is meant for about 95 % (jcgm-100)."""
ENOUGH_TO_COUNT = 6
"""Fewest occasions for a word on bands: with 6 of 6 held the interval first leaves out one half, 0.025 ** (1 / 6)."""
ENOUGH_TO_SCALE = 4
"""Fewest occasions for a word on a factor: judgement; the interval of 3 is 4.3 standard errors to either side."""


@dataclass(frozen=True)
class Coverage:
    """In how many of so many cases a band held, and between which shares that leaves the truth."""

    held: int
    of: int
    low: float
    high: float

    @property
    def share(self) -> float:
        """Share that held; nan of none."""
        return self.held / self.of if self.of else math.nan


@dataclass(frozen=True)
class Scaled:
    """Mean of measured over predicted, geometric, with its interval; occasions : how many it rests on."""

    ratio: float
    low: float
    high: float
    occasions: int

    @property
    def shown(self) -> bool:
        """Whether the interval leaves 1 out: measured and predicted differ on the whole."""
        return not self.low <= 1.0 <= self.high


@dataclass(frozen=True)
class Learned:
    """What the ledger teaches about one quantity, predicted in one way.

    coverage : of one prediction for each occasion; scaled : None where there are too few, or a ratio means nothing
    """

    quantity: str
    came_from: str
    unit: str
    besides: tuple[Beside, ...]
    coverage: Coverage
    scaled: Scaled | None

    @property
    def enough_to_count(self) -> bool:
        """Whether there are occasions enough for a word on the bands."""
        return self.coverage.of >= ENOUGH_TO_COUNT


def coverage(held: int, of: int, confidence: float = CONFIDENCE) -> Coverage:
    """How often a band held, with the exact interval of its share (clopper-pearson-1934).

    The ends are quantiles of the beta distribution: low of B(held, of - held + 1), high of B(held + 1, of - held). It
    covers at least with its confidence, whatever the truth. Raises LedgerError for counts that cannot be.

    >>> found = coverage(4, 20, 0.9)
    >>> round(found.low, 6), round(found.high, 6)
    (0.071354, 0.401028)
    """
    if not 0 <= held <= of or not 0.0 < confidence < 1.0:
        raise LedgerError(
            f"{held} of {of} held, at a confidence of {confidence:g}\n    accepted: 0 to as many as there are, 0 to 1\n"
            "    what to do: count again"
        )
    tail = 0.5 * (1.0 - confidence)
    low = float(special.betaincinv(held, of - held + 1, tail)) if held else 0.0
    high = float(special.betaincinv(held + 1, of - held, 1.0 - tail)) if held < of else 1.0
    return Coverage(held, of, low, high)


def scaled(ratios: Sequence[float], confidence: float = CONFIDENCE) -> Scaled:
    """Geometric mean of ratios with its interval: the mean of their logarithms -+ Student's t (student-1908).

    ratios : one for each occasion, at least 2, each above 0. Raises LedgerError otherwise.

    >>> found = scaled([1.02, 1.06, 1.05, 1.07])
    >>> round(found.ratio, 4), round(found.low, 4), round(found.high, 4)
    (1.0498, 1.0158, 1.085)
    """
    if len(ratios) < 2 or not all(math.isfinite(one) and one > 0.0 for one in ratios):
        raise LedgerError(
            f"a mean of {len(ratios)} ratios\n    accepted: at least 2, each above 0\n"
            "    what to do: set more measurements beside predictions"
        )
    logs = np.log(np.asarray(ratios, np.float64))
    half = special.stdtrit(logs.size - 1, 0.5 * (1.0 + confidence)) * logs.std(ddof=1) / math.sqrt(logs.size)
    middle = float(logs.mean())
    return Scaled(math.exp(middle), math.exp(middle - half), math.exp(middle + half), logs.size)


def learned(besides: Sequence[Beside]) -> list[Learned]:
    """What pairs teach, for each quantity and way of predicting, in the order in which they first appear.

    besides : in the order in which their predictions were kept
    """
    found: list[Learned] = []
    for quantity, came_from in dict.fromkeys((one.prediction.quantity, one.prediction.came_from) for one in besides):
        like = [one for one in besides if (one.prediction.quantity, one.prediction.came_from) == (quantity, came_from)]
        occasions: dict[str, list[Beside]] = {}
        for one in like:
            occasions.setdefault(one.prediction.occasion, []).append(one)
        speaking = [group[0] for group in occasions.values()]
        counted = coverage(sum(one.held for one in speaking), len(speaking))
        ratios = [one for one in map(_mean_ratio, occasions.values()) if math.isfinite(one)]
        factor = scaled(ratios) if len(ratios) >= ENOUGH_TO_SCALE and len(ratios) == len(occasions) else None
        found.append(Learned(quantity, came_from, like[0].prediction.unit, tuple(like), counted, factor))
    return found


def _mean_ratio(besides: Sequence[Beside]) -> float:
    """Geometric mean of the ratios of one occasion; nan where one of them means nothing."""
    return math.exp(sum(math.log(one.ratio) for one in besides) / len(besides))
