"""What a builder wants, in words, and the crank speeds it is judged over."""

import re
from dataclasses import dataclass, replace

import numpy as np

from scribeline.engine import EngineRecord
from scribeline.errors import SearchError
from scribeline.geometry.work_out import work_out
from scribeline.plan.merits import BY_KEY, Merit, Road, Speeds, road_of

POINTS = 9
# Shares of the record's own speed, judgement: where an engine of this kind works, and where it must still pull.
_FIRST, _LAST, _PULL_ENDS = 0.65, 1.2, 0.85

WORDS = {
    "most": "peak_kw",
    "pull": "low_nm",
    "top-speed": "top_km_h",
}
ACCEPTED = (
    "most (power, within all limits), pull (torque low down), top-speed (on the level, in the highest gear), or a band "
    "of crank speeds FIRST:LAST such as 8000:10500; each may end in =NUMBER, the least that is wanted (kW, Nm, km/h), "
    "such as most=13"
)


@dataclass(frozen=True)
class Goal:
    """What is wanted. typed : as the builder wrote it; merit : key of the number that should be high

    least : what should be reached, in the unit of the merit; None where as much as possible is wanted
    """

    typed: str
    merit: str
    band: tuple[float, float] | None = None
    least: float | None = None

    @property
    def number(self) -> Merit:
        """The number that should be high; a band keeps its name."""
        merit = BY_KEY[self.merit]
        if self.band is None:
            return merit
        return replace(merit, label=f"mean power from {self.band[0]:g} to {self.band[1]:g} rev/min")


def goal_of(typed: str) -> Goal:
    """A goal as typed; SearchError with what is accepted.

    >>> goal_of("8000:10500=12").band, goal_of("8000:10500=12").least
    ((8000.0, 10500.0), 12.0)
    """
    wanted, equals, number = typed.strip().partition("=")
    least = None
    if equals:
        if not re.fullmatch(r"\s*\d+(\.\d+)?\s*", number):
            raise _not_read(typed)
        least = float(number)
    if wanted in WORDS:
        return Goal(typed, WORDS[wanted], least=least)
    band = re.fullmatch(r"(\d{3,5}(?:\.\d+)?):(\d{3,5}(?:\.\d+)?)", wanted)
    if band is None:
        raise _not_read(typed)
    first, last = float(band[1]), float(band[2])
    if not 500.0 <= first < last <= 30000.0:
        raise _not_read(typed)
    return Goal(typed, "band_kw", (first, last), least)


def speeds_for(goal: Goal, record: EngineRecord) -> Speeds:
    """The crank speeds a goal is judged over: POINTS of them, evenly spread.

    They reach from _FIRST to _LAST of the record's own speed, further where the goal's band does. Pull is judged up to
    _PULL_ENDS of that speed, from the speed at which the clutch takes hold where that is higher.
    """
    rpm = record.speed_rpm
    band = goal.band or (0.85 * rpm, 1.1 * rpm)
    first, last = min(_FIRST * rpm, band[0]), max(_LAST * rpm, band[1])
    clutch = record.drivetrain.clutch_engages_rpm
    low = max(first, clutch.value if clutch else first)
    points = tuple(float(round(v)) for v in np.linspace(first, last, POINTS))
    pull_ends = max(_PULL_ENDS * rpm, low + (last - first) / (POINTS - 1))
    return Speeds(points, band, (low, min(pull_ends, last)))


def road_for(goal: Goal, record: EngineRecord) -> Road | None:
    """The road, where the record has what it takes; SearchError where the goal is a top speed and it has not."""
    road = road_of(work_out(record, draws=0))
    if road is None and goal.merit == "top_km_h":
        raise SearchError(
            f"--goal {goal.typed}: the record does not say how crank speed becomes road speed\n    accepted: final "
            "drive, tyre and mass with rider in [drivetrain] and [vehicle]\n    what to do: measure "
            "them, or ask for most"
        )
    return road


def _not_read(typed: str) -> SearchError:
    return SearchError(f"--goal {typed}\n    accepted: {ACCEPTED}\n    what to do: write it again")
