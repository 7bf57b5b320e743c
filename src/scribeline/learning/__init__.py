"""What predictions were worth: each set beside what was measured afterwards, and what all of them teach together.

    ledger.py        one prediction beside one measurement: inside its band or not, and by how much it missed
    calibration.py   many of them: how often bands held, how far measured and predicted lie apart on the whole
    words.py         both in sentences

Everything here is numbers in, numbers or sentences out: what is kept where stands in `scribeline.tasks.ledger`.
"""

from scribeline.learning.calibration import Coverage, Learned, Scaled, coverage, learned, scaled
from scribeline.learning.ledger import Beside, Measurement, Prediction, Verdict, beside

__all__ = [
    "Beside",
    "Coverage",
    "Learned",
    "Measurement",
    "Prediction",
    "Scaled",
    "Verdict",
    "beside",
    "coverage",
    "learned",
    "scaled",
]
