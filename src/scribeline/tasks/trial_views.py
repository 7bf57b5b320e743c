"""What a trial's recordings look like to somebody who corrects them: each with its pulls, and its speed to be drawn."""

from collections.abc import Sequence
from dataclasses import dataclass
from itertools import pairwise

import numpy as np

from scribeline.notebook import Entry
from scribeline.tasks.trial_files import Trace, trace_of
from scribeline.tasks.trial_state import DrivenPull, corrections, name_of
from scribeline.tasks.trials import Shown
from scribeline.trials.runs import Run

NEAR_S = 90.0
"""A view no longer than this shows every reading that is kept; a longer one the few of the overview."""
HOLE_S = 2.5
"""Readings further apart than this are not joined up, nor than three usual steps (judgement)."""


@dataclass(frozen=True)
class PullView:
    """One pull. name : as it is called as a run, "3.2"; found : where the rule put its ends, None if added by hand.

    left_out : why it does not count, by correction or as a dropped run; times : what its gates took, in words
    """

    name: str
    number: int
    start_s: float
    end_s: float
    found: tuple[float, float] | None
    gear: int | None
    left_out: str
    dropped: str
    reasons: tuple[str, ...]
    times: tuple[str, ...]


@dataclass(frozen=True)
class RecordingView:
    """One recording of a trial. number : of its entry; heard : whether it is a sound; breaks_s : its clock jumps."""

    number: int
    file_name: str
    format: str
    setup: str
    direction: str
    speed_from: str
    duration_s: float
    notes: tuple[str, ...]
    breaks_s: tuple[float, ...]
    pulls: tuple[PullView, ...]
    heard: bool


@dataclass(frozen=True)
class SpeedLine:
    """Speed over time, in pieces that hang together: (seconds, km/h)."""

    pieces: tuple[tuple[tuple[float, ...], tuple[float, ...]], ...]

    @property
    def top_km_h(self) -> float:
        """The highest speed of all, 0 where there is none."""
        return max((max(speeds) for _, speeds in self.pieces), default=0.0)


def recordings_of(shown: Shown) -> list[RecordingView]:
    """Every recording of a trial, in the order in which they came in."""
    runs = {run.name: run for run in shown.measured.runs}
    found = []
    for entry in shown.state.files:
        if "found" not in entry.data:
            continue
        data = entry.data
        pulls = [one for one in shown.state.pulls if one.file == entry.number]
        found.append(
            RecordingView(
                entry.number, str(entry.file_name), str(data["format"]),
                str(data.get("setup") or shown.state.trial.name), str(data.get("direction") or ""),
                str(data["speed_from"]), float(data["duration_s"]), tuple(data["notes"]), tuple(data["breaks_s"]),
                tuple(_pull(one, runs.get(name_of(one)), shown) for one in pulls), data["format"] == "sound",
            )
        )  # fmt: skip
    return found


def _pull(one: DrivenPull, run: Run | None, shown: Shown) -> PullView:
    pull = one.pull
    times = []
    for measure in shown.measured.measures:
        value = run.measures.get(measure.key) if run else None
        if value is not None and measure.unit == "s":
            spread = "" if value.plus_minus is None else f" ±{value.plus_minus:.2f}"
            times.append(f"{measure.key}: {value.value:.2f} s{spread}")
    found = None if pull.found_start_s is None or pull.found_end_s is None else (pull.found_start_s, pull.found_end_s)
    return PullView(
        name_of(one), pull.number, pull.start_s, pull.end_s, found, pull.gear, pull.left_out,
        shown.state.dropped.get(f"{one.setup} {name_of(one)}", ""), pull.reasons, tuple(times),
    )  # fmt: skip


def speed_line(shown: Shown, number: int, from_s: float, to_s: float) -> SpeedLine:
    """The speed of a recording between two moments, as finely as it is kept.

    number : of the recording's entry
    """
    entry = next(one for one in shown.state.files if one.number == number)
    fine = _kept(shown.state.entries, entry)
    overview = entry.data.get("overview", {"t": [], "v": []})
    t, v = np.array(overview["t"], np.float64), np.array(overview["v"], np.float64)
    if to_s - from_s <= NEAR_S or not t.size:
        for trace in fine:  # the fine readings in place of the few of the overview
            outside = (t < trace.time_s[0]) | (t > trace.time_s[-1])
            t, v = np.concatenate([t[outside], trace.time_s]), np.concatenate([v[outside], trace.speed_m_s])
            order = np.argsort(t, kind="stable")
            t, v = t[order], v[order]
    inside = (t >= from_s) & (t <= to_s)
    low, high = (int(np.argmax(inside)), int(t.size - np.argmax(inside[::-1]))) if inside.any() else (0, 0)
    low, high = max(low - 1, 0), min(high + 1, t.size)
    t, v = t[low:high], 3.6 * v[low:high]
    if not t.size:
        return SpeedLine(())
    usual = float(np.median(np.diff(t))) if t.size > 1 else 0.0
    holes = np.flatnonzero(np.diff(t) > max(HOLE_S, 3.0 * usual)) + 1
    edges = [0, *map(int, holes), int(t.size)]
    return SpeedLine(
        tuple((tuple(map(float, t[a:b])), tuple(map(float, v[a:b]))) for a, b in pairwise(edges) if b - a > 1)
    )


def _kept(entries: Sequence[Entry], entry: Entry) -> list[Trace]:
    edits = corrections(entries, entry)
    return [trace_of(one) for one in (*entry.data["traces"], *(t for e in edits for t in e.data.get("traces", ())))]
