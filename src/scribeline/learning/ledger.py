"""One prediction beside one measurement: did it hold, and by how much did it miss."""

import math
from dataclasses import dataclass
from typing import Literal

from scribeline.errors import LedgerError

Verdict = Literal["inside", "at the edge", "outside"]


@dataclass(frozen=True)
class Prediction:
    """What was promised, before it was measured.

    quantity : what is told apart in the ledger, such as "gate time"; what : in words, such as "25 to 50 km/h"
    low, high : ends of its band, about 95 %; both finite, low <= value <= high
    came_from : by which way it was predicted, such as "simulation"; only like is counted with like
    occasion : predictions of one occasion rest on one calculation or one set of readings, and err together
    """

    quantity: str
    what: str
    unit: str
    value: float
    low: float
    high: float
    came_from: str
    occasion: str

    def __post_init__(self) -> None:
        if not all(map(math.isfinite, (self.value, self.low, self.high))) or not self.low <= self.value <= self.high:
            raise LedgerError(
                f"a prediction of {self.value:g} {self.unit} with a band from {self.low:g} to {self.high:g}\n"
                "    accepted: three numbers, the value between the ends of its band\n"
                "    what to do: predict again; a prediction without a band cannot be right or wrong"
            )


@dataclass(frozen=True)
class Measurement:
    """What was measured afterwards, in the unit of its prediction. plus_minus : about 95 %, 0 or more."""

    value: float
    plus_minus: float

    def __post_init__(self) -> None:
        if not math.isfinite(self.value) or not math.isfinite(self.plus_minus) or self.plus_minus < 0.0:
            raise LedgerError(
                f"a measurement of {self.value:g} with a +/- of {self.plus_minus:g}\n"
                "    accepted: two numbers, the +/- 0 or more\n    what to do: measure again, or say how sure it is"
            )


@dataclass(frozen=True)
class Beside:
    """A prediction with its measurement.

    difference : measured less predicted, in the unit of both
    in_plus_minus : the difference in units of both +/- together; beyond 1 they contradict each other
    ratio : measured over predicted; nan where the prediction is 0 or of the other sign
    """

    prediction: Prediction
    measurement: Measurement
    difference: float
    in_plus_minus: float
    ratio: float
    verdict: Verdict

    @property
    def held(self) -> bool:
        """Whether it counts as held: inside its band, or outside by no more than both +/- together explain."""
        return self.verdict != "outside"


def beside(prediction: Prediction, measurement: Measurement) -> Beside:
    """Set a measurement beside a prediction.

    The difference over the root of the sum of squares of both expanded uncertainties, E = (x - X) / sqrt(U_x^2 +
    U_X^2), at most 1 where they agree: the E_n number by which laboratories are compared (iso-13528). Of a band that
    reaches further to one side, the side on which the measurement lies counts. Where both are exact, the difference
    counts as none or as without end.

    >>> found = beside(Prediction("gate time", "25 to 50 km/h", "s", 8.0, 7.4, 8.6, "simulation", "kart 2"),
    ...                Measurement(8.7, 0.8))
    >>> found.verdict, round(found.in_plus_minus, 2), round(found.ratio, 4)
    ('at the edge', 0.7, 1.0875)
    """
    difference = measurement.value - prediction.value
    band = prediction.high - prediction.value if difference > 0.0 else prediction.value - prediction.low
    together = math.hypot(band, measurement.plus_minus)
    if together > 0.0:
        in_plus_minus = difference / together
    else:
        in_plus_minus = math.copysign(math.inf, difference) if difference else 0.0
    if prediction.low <= measurement.value <= prediction.high:
        verdict: Verdict = "inside"
    else:
        verdict = "at the edge" if abs(in_plus_minus) <= 1.0 else "outside"
    same_sign = prediction.value * measurement.value > 0.0
    ratio = measurement.value / prediction.value if same_sign else math.nan
    return Beside(prediction, measurement, difference, in_plus_minus, ratio, verdict)
