"""Full-throttle stretches in a speed trace: found by a stated rule, corrected by hand, never deleted.

What was found stays as it was found. A correction is a piece of data with a reason, laid over it each time anew:
trim a pull, leave it out (the rider gave up, the brakes dragged), say in which gear or direction it was, or add one
that was missed.
"""

from collections.abc import Sequence
from dataclasses import dataclass, replace
from typing import Literal

import numpy as np
from numpy.typing import ArrayLike, NDArray

from scribeline.errors import TrialError

Floats = NDArray[np.float64]
Action = Literal["trim", "leave out", "take back in", "gear", "direction", "add"]
ACTIONS: tuple[Action, ...] = ("trim", "leave out", "take back in", "gear", "direction", "add")

# The rule (judgement): on speeds averaged over 0.1 s and smoothed over 1 s.
LEAST_ACCELERATION_M_S2 = 0.25
LEAST_GAIN_M_S = 3.0
LEAST_TIME_S = 1.0
_STEP_S = 0.1
_WINDOW = 11
_BRIDGED_S = 0.4


@dataclass(frozen=True)
class Pull:
    """A stretch of a recording, from one moment to another [s], with what was said about it.

    number : counted from 1 in the order of the recording, as found; added ones come after
    found_start_s, found_end_s : where the rule put its ends, kept whatever is edited; None for one added by hand
    left_out : why it does not count; "" where it counts
    direction : which way it went, where somebody said so of this pull
    """

    number: int
    start_s: float
    end_s: float
    found_start_s: float | None
    found_end_s: float | None
    gear: int | None = None
    left_out: str = ""
    direction: str = ""
    reasons: tuple[str, ...] = ()

    @property
    def duration_s(self) -> float:
        return self.end_s - self.start_s


@dataclass(frozen=True)
class PullEdit:
    """One correction.

    pull : its number; 0 for "add"
    start_s, end_s : the new ends, for "trim" and "add"; for the others they say which pull was meant, so that a
        correction still finds its pull where a later rule numbers them otherwise
    gear : for "gear"; direction : for "direction"; reason : what happened, at least three letters
    """

    action: Action
    pull: int
    reason: str
    start_s: float | None = None
    end_s: float | None = None
    gear: int | None = None
    direction: str = ""


def find_pulls(time_s: ArrayLike, speed_m_s: ArrayLike, breaks_s: Sequence[float] = ()) -> list[Pull]:
    """Every stretch in which the speed rises for at least a second by at least 3 m/s, faster than 0.25 m/s².

    time_s, speed_m_s : (n,); breaks_s : moments that no pull may cross
    Returns them in order; none is an answer too.
    """
    t, v = np.asarray(time_s, np.float64), np.asarray(speed_m_s, np.float64)
    found: list[tuple[float, float]] = []
    cuts = np.searchsorted(t, np.asarray(sorted(breaks_s)), side="right")
    for stretch in np.split(np.arange(t.size), cuts):
        for steady in _without_holes(t, stretch):
            found += _in_stretch(t[steady], v[steady])
    return [Pull(i, start, end, start, end) for i, (start, end) in enumerate(found, start=1)]


def _without_holes(t: Floats, stretch: NDArray[np.intp]) -> list[NDArray[np.intp]]:
    """Pieces without a hole longer than 2 s or five usual steps."""
    if stretch.size < 5:
        return []
    steps = np.diff(t[stretch])
    holes = np.flatnonzero(steps > max(2.0, 5.0 * float(np.median(steps))))
    return [piece for piece in np.split(stretch, holes + 1) if piece.size >= 5]


def _in_stretch(t: Floats, v: Floats) -> list[tuple[float, float]]:
    if t[-1] - t[0] < LEAST_TIME_S:
        return []
    step = max(_STEP_S, float(np.median(np.diff(t))))
    even = np.arange(t[0], t[-1] + 0.5 * step, step)
    # Averaged over each step where readings are denser, interpolated where they are not.
    place = np.clip(np.round((t - t[0]) / step).astype(int), 0, even.size - 1)
    counts = np.bincount(place, minlength=even.size)
    sums = np.bincount(place, weights=v, minlength=even.size)
    there = counts > 0
    speed = np.interp(even, even[there], sums[there] / counts[there])
    window = min(_WINDOW if step < 0.3 else 5, even.size - (even.size + 1) % 2)
    if window < 3:
        return []
    rising = _slope(speed, window, step) > LEAST_ACCELERATION_M_S2
    edges = np.flatnonzero(np.diff(np.concatenate([[0], rising.astype(np.int8), [0]])))
    pieces = [(int(a), int(b) - 1) for a, b in zip(edges[::2], edges[1::2], strict=True)]
    joined: list[tuple[int, int]] = []
    for a, b in pieces:
        if joined and (a - joined[-1][1]) * step <= _BRIDGED_S + 1e-9:
            joined[-1] = (joined[-1][0], b)
        else:
            joined.append((a, b))
    return [
        (float(even[a]), float(min(even[b], t[-1])))
        for a, b in joined
        if (b - a) * step >= LEAST_TIME_S and speed[b] - speed[a] >= LEAST_GAIN_M_S
    ]


def _slope(speed: Floats, window: int, step: float) -> Floats:
    """Slope of the straight line through the values of a window around each place [m/s²].

    That of a parabola in the middle of an even window is the same; at the ends the window is shorter on one side.
    """
    half = window // 2
    place = np.arange(-half, half + 1, dtype=np.float64)
    padded = np.concatenate([2.0 * speed[0] - speed[half:0:-1], speed, 2.0 * speed[-1] - speed[-2 : -half - 2 : -1]])
    return np.asarray(np.convolve(padded, -place / (step * float(np.sum(place**2))), mode="valid"))


def edited(found: Sequence[Pull], edits: Sequence[PullEdit], duration_s: float) -> list[Pull]:
    """The pulls with every correction laid over them, in order. Raises TrialError for one that cannot be meant."""
    pulls = {pull.number: pull for pull in found}
    for edit in edits:
        check(edit, duration_s)
        if edit.action == "add":
            number = max(pulls, default=0) + 1
            assert edit.start_s is not None
            assert edit.end_s is not None
            pulls[number] = Pull(number, edit.start_s, edit.end_s, None, None, edit.gear, reasons=(edit.reason,))
            continue
        pull = pulls.get(edit.pull)
        if pull is None:
            raise TrialError(
                f"pull {edit.pull}\n    accepted: {', '.join(map(str, pulls)) or 'none was found here'}\n"
                "    what to do: `scribeline trial show` lists the pulls; one that was missed is added"
            )
        reasons = (*pull.reasons, edit.reason)
        if edit.action == "trim":
            start = pull.start_s if edit.start_s is None else edit.start_s
            end = pull.end_s if edit.end_s is None else edit.end_s
            if end <= start:
                raise _ends(start, end, duration_s)
            pull = replace(pull, start_s=start, end_s=end, reasons=reasons)
        elif edit.action == "gear":
            pull = replace(pull, gear=edit.gear, reasons=reasons)
        elif edit.action == "direction":
            pull = replace(pull, direction=edit.direction.strip(), reasons=reasons)
        else:
            pull = replace(pull, left_out=edit.reason if edit.action == "leave out" else "", reasons=reasons)
        pulls[pull.number] = pull
    return list(pulls.values())


def check(edit: PullEdit, duration_s: float) -> None:
    """Refuse a correction without a reason or with ends outside the recording."""
    if edit.action not in ACTIONS:
        raise TrialError(
            f"a correction called {edit.action}\n    accepted: {', '.join(ACTIONS)}\n    what to do: name one"
        )
    if len(edit.reason.strip()) < 3:
        raise TrialError(
            f"a correction of pull {edit.pull} without a reason\n    accepted: what happened, in a few words\n"
            "    what to do: give --because 'rider shut the throttle'"
        )
    for end in (edit.start_s, edit.end_s):
        if end is not None and not -1e-6 <= end <= duration_s + 1.0:
            raise _ends(edit.start_s, edit.end_s, duration_s)
    if edit.action == "add" and (edit.start_s is None or edit.end_s is None or edit.end_s <= edit.start_s):
        raise _ends(edit.start_s, edit.end_s, duration_s)
    if edit.action == "gear" and (edit.gear is None or not 1 <= edit.gear <= 9):
        raise TrialError(f"gear {edit.gear}\n    accepted: 1 to 9\n    what to do: give --gear")
    if edit.action == "direction" and not 0 < len(edit.direction.strip()) <= 40:
        raise TrialError(
            f"direction {edit.direction!r}\n    accepted: a name of up to 40 letters, such as out or back\n"
            "    what to do: give --direction"
        )


def _ends(start: float | None, end: float | None, duration_s: float) -> TrialError:
    return TrialError(
        f"from {start} s to {end} s\n    accepted: within the recording, 0 to {duration_s:.1f} s, the end after the "
        "start\n    what to do: `scribeline trial show` lists the pulls with their times"
    )
