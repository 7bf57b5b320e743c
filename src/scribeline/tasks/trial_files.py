"""A file of test runs as it goes into a trial: read once, what was read kept beside the original bytes.

Of a recording the stretches around each pull are kept in numbers (speed, engine speed, course), so that a trial of two
hundred recordings answers at once; of a table its rows. Whatever was read can be read anew: the file is kept too.
"""

import mimetypes
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from pathlib import Path
from typing import Any

import numpy as np
from numpy.typing import NDArray

from scribeline.errors import TrialError
from scribeline.recordings import Channel, GateTable, GateTime, Note, Recording
from scribeline.tasks.trial_sound import slip_words
from scribeline.tasks.trial_vehicle import Vehicle
from scribeline.trials.positions import travelled_m
from scribeline.trials.pulls import Pull, find_pulls
from scribeline.trials.smoothing import smooth

Floats = NDArray[np.float64]
AROUND_S = 6.0
"""How much before and after a pull is kept with it, so that its ends can be moved."""
MOST_KEPT = 60_000
"""Readings kept of one recording; more than that is many pulls of a fast logger, and is asked to be cut up."""
OVERVIEW_POINTS = 600
"""Readings kept of a whole recording, to look over it and find what was missed."""
BY_ENGINE = "engine speed through the "
"""How what is kept of a speed begins that rests on engine speed and gearing."""
HEARD_SHARE = 0.0015
"""+/- of a heard speed that neighbouring readings share, as their windows overlap: judgement, chosen so that the gate
times of invented rides lie within their +/- as often as they should (tests/tasks/test_trial_sound.py)."""
_SPEEDS = (
    ("speed_m_s", "speed over ground"),
    ("wheel_speed_m_s", "a wheel's turning"),
    ("geared_speed_m_s", f"{BY_ENGINE}highest gear, no slip"),
)


@dataclass(frozen=True)
class Trace:
    """A stretch of a recording: times [s of the recording], speeds [m/s], engine speed and course where known."""

    time_s: Floats
    speed_m_s: Floats
    rpm: Floats | None = None
    course_deg: Floats | None = None

    def between(self, start_s: float, end_s: float) -> "Trace":
        """The part from one moment to another, with one reading more on either side."""
        low = max(int(np.searchsorted(self.time_s, start_s)) - 1, 0)
        high = int(np.searchsorted(self.time_s, end_s, side="right")) + 1
        parts = (self.time_s, self.speed_m_s, self.rpm, self.course_deg)
        t, v, rpm, course = (None if part is None else part[low:high] for part in parts)
        assert t is not None
        assert v is not None
        return Trace(t, v, rpm, course)


def what_was_read(found: Recording | GateTable, vehicle: Vehicle | None, standing: bool = False) -> dict[str, Any]:
    """What goes into the journal beside the bytes: JSON only. Raises TrialError where nothing can be timed.

    standing : whether a sound comes from a camera beside the track
    """
    if isinstance(found, GateTable):
        return {"format": found.format, "notes": _notes(found.notes), "table": [_row_json(row) for row in found.rows]}
    whole, source = speed_trace(found, vehicle)
    pulls = find_pulls(whole.time_s, whole.speed_m_s, found.breaks_s)
    stretches = _stretches(pulls, found.breaks_s, float(whole.time_s[-1]))
    traces = [whole.between(start, end) for start, end in stretches]
    kept = sum(trace.time_s.size for trace in traces)
    if kept > MOST_KEPT:
        raise TrialError(
            f"{found.source}: {len(pulls)} pulls with {kept} readings\n    accepted: at most {MOST_KEPT} readings\n"
            "    what to do: cut the recording up, or export it at 25 readings a second"
        )
    notes = _notes(found.notes)
    ratio, rpm = vehicle.rpm_per_m_s() if vehicle else None, found.channels.get("rpm")
    if rpm is not None and ratio and not source.startswith(BY_ENGINE):
        speed = Channel(whole.time_s, whole.speed_m_s, "m/s")
        notes.append(slip_words(rpm, speed, 60.0 / ratio, [(pull.start_s, pull.end_s) for pull in pulls]))
    return {
        "format": found.format,
        "notes": [one for one in notes if one],
        "start_utc": found.start_utc.isoformat() if found.start_utc else None,
        "duration_s": round(found.duration_s, 3),
        "speed_from": source,
        "speed_share": _share(found, standing) if source.startswith(BY_ENGINE) else 0.0,
        "breaks_s": list(found.breaks_s),
        "found": [[round(pull.start_s, 3), round(pull.end_s, 3)] for pull in pulls],
        "traces": [trace_json(trace) for trace in traces],
        "overview": overview_json(whole),
    }


def speed_trace(found: Recording, vehicle: Vehicle | None) -> tuple[Trace, str]:
    """The speed of a recording and where it comes from: the instrument's own, a wheel's, positions, or the engine's.

    Raises TrialError where nothing says a speed.
    """
    channels = found.channels
    rpm, course = channels.get("rpm"), channels.get("course_deg")
    for name, words in _SPEEDS:
        if name in channels and len(channels[name]) >= 5:
            one = channels[name]
            return _with(one.time_s, one.values, rpm, course), words
    if "latitude_deg" in channels and "longitude_deg" in channels and len(channels["latitude_deg"]) >= 5:
        return _from_positions(channels, rpm, course), "positions: distance on the ellipsoid, smoothed over 1 s"
    ratio = vehicle.rpm_per_m_s() if vehicle else None
    if rpm is not None and len(rpm) >= 5 and ratio is not None:
        return _with(rpm.time_s, rpm.values / ratio, rpm, None), f"{BY_ENGINE}highest gear, no slip"
    there = ", ".join(f"{name} ({len(one)} readings)" for name, one in channels.items()) or "nothing"
    raise TrialError(
        f"{found.source} holds {there}\n    accepted: at least 5 readings of a speed, of positions, or of engine speed "
        "with the gearing in the build's record\n    what to do: begin the trial with --build, or add typed gate times"
    )


def _share(found: Recording, standing: bool) -> float:
    """What neighbouring readings of an engine's speed have in common of their +/-; of a standing camera all of it."""
    rpm = found.channels["rpm"]
    if rpm.plus_minus is None:
        return 0.0
    return round(float(np.median(rpm.plus_minus / rpm.values)), 4) if standing else HEARD_SHARE


def _from_positions(channels: Mapping[str, Channel], rpm: Channel | None, course: Channel | None) -> Trace:
    latitude, longitude = channels["latitude_deg"], channels["longitude_deg"]
    t = latitude.time_s
    way = travelled_m(latitude.values, np.interp(t, longitude.time_s, longitude.values))
    return _with(t, np.maximum(smooth(t, way, 1.0).slope, 0.0), rpm, course)


def _with(t: Floats, v: Floats, rpm: Channel | None, course: Channel | None) -> Trace:
    turning = None
    if rpm is not None and len(rpm) >= 2:
        turning = np.interp(t, rpm.time_s, rpm.values)
    heading = None
    if course is not None and len(course) >= 1:
        turned = np.unwrap(np.radians(course.values))
        heading = np.degrees(np.interp(t, course.time_s, turned)) % 360.0
    return Trace(np.asarray(t), np.asarray(v), turning, heading)


def _stretches(pulls: Sequence[Pull], breaks_s: Sequence[float], end_s: float) -> list[tuple[float, float]]:
    """Where each pull and its surroundings lie, joined where they overlap, never across a break."""
    joined: list[tuple[float, float]] = []
    for pull in pulls:
        low = max([0.0, pull.start_s - AROUND_S, *(b for b in breaks_s if b <= pull.start_s)])
        high = min([end_s, pull.end_s + AROUND_S, *(b for b in breaks_s if b >= pull.end_s)])
        if joined and low <= joined[-1][1] and not any(joined[-1][1] <= b <= low for b in breaks_s):
            joined[-1] = (joined[-1][0], high)
        else:
            joined.append((low, high))
    return joined


# --- to and from JSON ----------------------------------------------------------------------------------------------


def trace_json(trace: Trace) -> dict[str, Any]:
    """A trace as the journal holds it, rounded to a tenth of a millisecond and of a millimetre a second."""
    document: dict[str, Any] = {
        "t": [round(float(one), 4) for one in trace.time_s],
        "v": [round(float(one), 4) for one in trace.speed_m_s],
    }
    if trace.rpm is not None:
        document["rpm"] = [round(float(one), 1) for one in trace.rpm]
    if trace.course_deg is not None:
        document["course"] = [round(float(one), 1) for one in trace.course_deg]
    return document


def overview_json(whole: Trace) -> dict[str, Any]:
    """A whole recording in few readings: of each piece of it the slowest and the fastest, in the order they came.

    >>> t = np.arange(10_000) / 10.0
    >>> len(overview_json(Trace(t, np.sin(t)))["t"]) <= OVERVIEW_POINTS
    True
    """
    t, v = whole.time_s, whole.speed_m_s
    if t.size > OVERVIEW_POINTS:
        kept: set[int] = {0, int(t.size) - 1}
        for piece in np.array_split(np.arange(t.size), OVERVIEW_POINTS // 2 - 1):
            kept |= {int(piece[np.argmin(v[piece])]), int(piece[np.argmax(v[piece])])}
        places = np.array(sorted(kept))
        t, v = t[places], v[places]
    return {"t": np.round(t, 2).tolist(), "v": np.round(v, 2).tolist()}


def trace_of(document: Mapping[str, Any]) -> Trace:
    """A trace from what the journal holds."""
    rpm, course = document.get("rpm"), document.get("course")
    return Trace(
        np.array(document["t"], np.float64),
        np.array(document["v"], np.float64),
        None if rpm is None else np.array(rpm, np.float64),
        None if course is None else np.array(course, np.float64),
    )


def _row_json(row: GateTime) -> dict[str, Any]:
    return {
        "setup": row.setup,
        "run": row.run,
        "from_m_s": row.from_m_s,
        "to_m_s": row.to_m_s,
        "seconds": row.seconds,
        "direction": row.direction,
        "notes": row.notes,
        "plus_minus_s": row.plus_minus_s,
        "line": row.line,
        "beside": dict(row.beside),
    }


def table_of(document: Mapping[str, Any], name: str) -> GateTable:
    """A table of gate times from what the journal holds."""
    notes = tuple(Note(one) for one in document.get("notes", ()))
    return GateTable(name, str(document["format"]), tuple(GateTime(**row) for row in document["table"]), notes)


def _notes(notes: Sequence[Note]) -> list[str]:
    return [str(note) for note in notes]


def media_type_of(path: Path) -> str:
    """What kind of file it is, by its name."""
    return mimetypes.guess_type(path.name)[0] or "application/octet-stream"
