"""What is known about an engine that is heard, and what its sound and a road speed say together: octave and clutch.

The two clocks are laid over each other where engine speed through the gearing agrees longest with the road speed; the
tracker then listens once more with the road in its ear.
"""

import re
from collections.abc import Iterable, Mapping
from typing import Any, cast

import numpy as np
from numpy.typing import NDArray

from scribeline.engine import EngineRecord
from scribeline.errors import TrialError
from scribeline.recordings import Channel, Recording, SoundOptions
from scribeline.recordings.sound.gearing import clutch_slip, geared_speed
from scribeline.tasks.trial_vehicle import Vehicle

Floats = NDArray[np.float64]
# All judgement.
ALIKE_M_S = 1.0  # further apart than this, both speeds are of different moments, or the clutch slips
FIT_SHARE = 0.5  # of the time that engine and road must go together
CLOCKS_S = 15.0  # by how much two clocks that were set may differ
GRIPS = 0.05  # slip below which a clutch is called closed: gearing and tyre are seldom known better
BIN_M_S = 5.0 / 3.6


def told_of_sound(
    cylinders: int | None = None, strokes: int | None = None, speeds: str | None = None, camera: str | None = None
) -> dict[str, Any]:
    """What was typed about an engine that is heard, as `SoundOptions` takes it. Raises TrialError.

    >>> told_of_sound(strokes=4, speeds="2000 to 9000 rpm")
    {'strokes': 4, 'slowest_rpm': 2000.0, 'fastest_rpm': 9000.0}
    """
    told: dict[str, Any] = {}
    if cylinders is not None:
        told["cylinders"] = cylinders
    if strokes is not None:
        told["strokes"] = strokes
    if speeds is not None:
        found = re.fullmatch(r"\s*(\d+(?:\.\d+)?)\s*(?:to|-)\s*(\d+(?:\.\d+)?)\s*(?:rpm)?\s*", speeds)
        if found is None:
            raise TrialError(
                f"engine speeds typed as {speeds!r}\n    accepted: two numbers in rpm, such as '2000 to 12000'\n"
                "    what to do: write the slowest and the fastest that can be in the recording"
            )
        told |= {"slowest_rpm": float(found[1]), "fastest_rpm": float(found[2])}
    if camera is not None:
        if camera not in ("on board", "standing"):
            raise TrialError(
                f"a camera {camera!r}\n    accepted: 'on board', or 'standing' beside the track\n"
                "    what to do: say where the phone was"
            )
        told["camera"] = camera
    return told


def heard(record: EngineRecord | None, vehicle: Vehicle | None, told: Mapping[str, Any]) -> SoundOptions:
    """What a tracker may know: cylinders and gearing from the record, the rest as told."""
    ratio = vehicle.rpm_per_m_s() if vehicle else None
    known: dict[str, Any] = {"metres_per_turn": 60.0 / ratio if ratio else None}
    if record is not None:
        known["cylinders"] = record.cylinder.count
    return SoundOptions(**(known | dict(told)))


def laid_over(found: Recording, road: Recording, speed: Channel, metres_per_turn: float | None) -> Channel:
    """The road speed of another recording of the same run, on the clock of the sound.

    Raises TrialError without gearing, without a known engine speed, and where the two go together nowhere.
    """
    rpm = found.channels.get("rpm")
    if rpm is None or not metres_per_turn:
        raise TrialError(
            f"{found.source} beside {road.source}\n    accepted: a sound in which an engine is heard, in a trial whose "
            "build says gearing and tyre\n    what to do: begin the trial with --build, or leave --road away"
        )
    geared = geared_speed(rpm, metres_per_turn)
    thin = slice(None, None, max(5, len(geared) // 600))
    t, v = geared.time_s[thin], geared.values[thin]
    low, high = speed.time_s[0] - t[-1], speed.time_s[-1] - t[0]
    if found.start_utc and road.start_utc:
        # Some phones write the end of the film for its beginning.
        near = (found.start_utc - road.start_utc).total_seconds()
        low, high = max(low, near - CLOCKS_S - t[-1]), min(high, near + CLOCKS_S)
    share, shift = 0.0, 0.0
    if high > low:
        coarse = np.arange(low, high, 0.1 if high - low < 1200.0 else 0.5)
        _, shift = max(_together(t, v * octave, speed, coarse) for octave in (1.0, 0.5, 2.0))
        fine = np.arange(shift - 0.5, shift + 0.5, 0.02)
        share, shift = max(_together(t, v * octave, speed, fine) for octave in (1.0, 0.5, 2.0))
    if share < FIT_SHARE:
        raise TrialError(
            f"{found.source} and {road.source} go together during {100 * share:.0f} % of the time at most\n"
            f"    accepted: {100 * FIT_SHARE:.0f} % and more\n    what to do: name the recording of the same run, and "
            "check gear ratios and tyre in the record"
        )
    return Channel(speed.time_s - shift, speed.values, speed.unit)


def _together(t: Floats, v: Floats, road: Channel, shifts: Floats) -> tuple[float, float]:
    """How far both agree, 0 to 1, while the engine drives something, and at which shift of the clock that is most."""
    moving = v > 3.0
    if not moving.any():
        return 0.0, 0.0
    t, v = t[moving], v[moving]
    best = (0.0, 0.0)
    for shift in shifts:
        there = np.interp(t + shift, road.time_s, road.values, left=-99.0, right=-99.0)
        share = 1.0 - float(np.minimum(np.abs(there - v) / ALIKE_M_S, 1.0).mean())
        best = max(best, (share, float(shift)))
    return best


def slip_words(rpm: Channel, speed: Channel, metres_per_turn: float, pulls: Iterable[tuple[float, float]]) -> str:
    """What the clutch does in these pulls, by road speed; "" where both were never recorded together.

    pulls : (from, to) in seconds
    """
    slip = clutch_slip(rpm, speed, metres_per_turn)
    inside = np.zeros(len(slip), bool)
    for start, end in pulls:
        inside |= (slip.time_s >= start) & (slip.time_s <= end)
    inside &= np.interp(slip.time_s, speed.time_s, speed.values) >= BIN_M_S  # standing, a clutch says nothing
    t, lost = slip.time_s[inside], slip.values[inside]
    place = np.floor(np.interp(t, speed.time_s, speed.values) / BIN_M_S).astype(int) if len(t) else np.empty(0, int)
    bins = {int(one): float(np.median(lost[place == one])) for one in np.unique(place) if (place == one).sum() >= 5}
    if not bins:
        return ""
    ascending = sorted(bins)
    open_ = [one for one in ascending if abs(bins[one]) >= GRIPS]
    if open_ and open_[-1] == ascending[-1]:
        return (
            f"clutch: {100 * bins[open_[-1]]:.0f} % slip at {5 * open_[-1]:g} km/h, the fastest there is: it slips, or "
            "gear, ratios or tyre are other than the record says"
        )
    closed = [one for one in ascending if not open_ or one > open_[-1]]
    rest = float(np.median([bins[one] for one in closed]))
    said = f"clutch: closed from {5 * closed[0]:g} km/h on (slip {abs(100 * rest):.1f} %)"
    most = max(bins, key=lambda one: bins[one])
    return said if not open_ else f"{said}; below that it slips, by {100 * bins[most]:.0f} % at {5 * most:g} km/h"


def channel_of(document: Mapping[str, Any]) -> Channel:
    """A road speed as the journal holds it."""
    return Channel(np.array(document["t"]), np.array(document["v"]), "m/s")


def json_of(speed: Channel) -> dict[str, Any]:
    """A road speed as the journal holds it, rounded to a tenth of a millisecond and of a millimetre a second."""
    rounded = cast("list[float]", np.round(speed.values, 4).tolist())
    return {"t": np.round(speed.time_s, 4).tolist(), "v": rounded}
