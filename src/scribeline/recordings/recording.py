"""What every reader hands on: a Recording of channels against time, or a GateTable of typed times.

Nothing here is derived: a channel holds what the instrument wrote, in one unit per meaning, with what was repaired or
left out counted in notes. Speed from positions, pulls and physics come later and elsewhere.
"""

from collections.abc import Mapping
from dataclasses import dataclass, field
from datetime import datetime
from itertools import pairwise
from types import MappingProxyType

import numpy as np
from numpy.typing import NDArray

from scribeline.errors import RecordingError

Floats = NDArray[np.float64]


# fmt: off
CHANNELS: Mapping[str, tuple[str, str]] = MappingProxyType({
    "speed_m_s": ("m/s", "speed over ground"),
    "wheel_speed_m_s": ("m/s", "speed from a wheel's turning"),
    "rpm": ("rpm", "engine speed"),
    "latitude_deg": ("deg", "latitude on WGS 84, north positive"),
    "longitude_deg": ("deg", "longitude on WGS 84, east positive"),
    "altitude_m": ("m", "height above sea level"),
    "course_deg": ("deg", "direction of travel, clockwise from north"),
    "distance_m": ("m", "distance travelled since the start"),
    "acceleration_x_m_s2": ("m/s2", "acceleration along the instrument's x axis"),
    "acceleration_y_m_s2": ("m/s2", "acceleration along the instrument's y axis"),
    "acceleration_z_m_s2": ("m/s2", "acceleration along the instrument's z axis"),
    "geared_speed_m_s": ("m/s", "road speed that engine speed and gearing give while the clutch does not slip"),
    "sound_confidence": ("share", "how sure the sound is of the engine speed, at every instant"),
    "throttle_share": ("share", "throttle opening, 1 is full"),
    "air_temperature_c": ("C", "temperature of the air"),
    "head_temperature_c": ("C", "temperature of the cylinder head"),
    "exhaust_temperature_c": ("C", "temperature of the exhaust gas"),
    "hdop": ("ratio", "horizontal dilution of precision of the satellite fix"),
    "satellites": ("count", "satellites in use"),
})
"""Every channel there can be: its unit and what it is. A reader leaves out what has no name here, and says so."""
# fmt: on


@dataclass(frozen=True)
class Note:
    """One thing that was repaired, left out or assumed while reading: what, and how many times (1 for a remark)."""

    what: str
    count: int = 1

    def __str__(self) -> str:
        return self.what if self.count == 1 else f"{self.what} ({self.count} times)"


@dataclass(frozen=True, eq=False)
class Channel:
    """One quantity against time.

    time_s : shape (n,), seconds after the recording's start, strictly increasing, finite
    values : shape (n,), finite, in `unit`; a moment that is not known has no entry, so gaps are gaps in time
    plus_minus : shape (n,) or None, the +/- of each value (about 95 %), same unit
    confidence : shape (n,) or None, 0 (a guess) to 1 (sure): how far each value can be trusted to be no mistake at all

    Raises RecordingError where the arrays do not fit together.
    """

    time_s: Floats
    values: Floats
    unit: str
    plus_minus: Floats | None = None
    confidence: Floats | None = None

    def __post_init__(self) -> None:
        for name in ("time_s", "values", "plus_minus", "confidence"):
            array = getattr(self, name)
            if array is None:
                continue
            array = np.array(array, dtype=np.float64)
            array.setflags(write=False)
            object.__setattr__(self, name, array)
            if array.ndim != 1 or len(array) != len(self.time_s):
                raise RecordingError(f"channel: {name} has shape {array.shape}, time_s has {self.time_s.shape}")
            if not np.isfinite(array).all():
                raise RecordingError(f"channel: {name} holds a value that is not a finite number")
        if (np.diff(self.time_s) <= 0.0).any():
            raise RecordingError("channel: the times do not increase from each to the next")

    def __len__(self) -> int:
        return len(self.time_s)

    def stretches(self, breaks_s: tuple[float, ...] = (), longest_gap_s: float | None = None) -> list[slice]:
        """The pieces within which it may be interpolated: cut at the breaks and at every longer gap in time.

        longest_gap_s : None takes 2.5 times the median step, which lets one lost sample pass and no more

        >>> Channel([0, 1, 2, 9, 10], [1, 1, 1, 1, 1], "m/s").stretches()
        [slice(0, 3, None), slice(3, 5, None)]
        """
        if len(self) < 2:
            return [slice(0, len(self))] if len(self) else []
        step = np.diff(self.time_s)
        cut = step > (2.5 * float(np.median(step)) if longest_gap_s is None else longest_gap_s)
        cut[[i for i in np.searchsorted(self.time_s, breaks_s, side="right") - 1 if 0 <= i < len(cut)]] = True
        ends = [0, *(np.flatnonzero(cut) + 1).tolist(), len(self)]
        return [slice(a, b) for a, b in pairwise(ends)]


@dataclass(frozen=True, eq=False)
class Recording:
    """What one file holds.

    source : the file's name, without its folder
    format : name of the format's folder, such as "gpx"
    start_utc : moment of time 0, aware and in UTC; None where the file does not say it
    channels : by their name in CHANNELS
    breaks_s : moments after which the next value comes from an unknown or much later time (clock set anew, logger
        paused, satellites lost): interpolate and integrate within a stretch between breaks, never across
    notes : what was repaired, left out or assumed, with counts
    """

    source: str
    format: str
    start_utc: datetime | None
    channels: Mapping[str, Channel]
    breaks_s: tuple[float, ...] = ()
    notes: tuple[Note, ...] = ()

    def __post_init__(self) -> None:
        for name, channel in self.channels.items():
            if name not in CHANNELS or CHANNELS[name][0] != channel.unit:
                raise RecordingError(f"channel {name} in {channel.unit} is none of those in CHANNELS")
        if self.start_utc is not None and self.start_utc.utcoffset() is None:
            raise RecordingError(f"start {self.start_utc} has no time zone; it must be in UTC")
        object.__setattr__(self, "channels", MappingProxyType(dict(self.channels)))

    @property
    def duration_s(self) -> float:
        """From the first to the last value of any channel; 0 where there is none."""
        ends = [(float(c.time_s[0]), float(c.time_s[-1])) for c in self.channels.values() if len(c)]
        return max(last for _, last in ends) - min(first for first, _ in ends) if ends else 0.0


@dataclass(frozen=True)
class GateTime:
    """One row of a typed table: how long it took from one speed to another.

    setup : name of what was tested, as typed ("" where the table has no such column)
    run : number or name of the run, as typed; several gates may belong to one run
    from_m_s, to_m_s : the two speeds
    seconds : the time between them
    direction : as typed ("out", "N", "with the wind"); "" where not given
    notes : as typed
    plus_minus_s : the +/- of the time that was typed, or None
    line : line of the file, counted from 1
    beside : what stands in the table's other columns, header -> text as typed, such as order, day or temperature
    """

    setup: str
    run: str
    from_m_s: float
    to_m_s: float
    seconds: float
    direction: str = ""
    notes: str = ""
    plus_minus_s: float | None = None
    line: int | None = None
    beside: Mapping[str, str] = field(default_factory=lambda: MappingProxyType({}))


@dataclass(frozen=True)
class GateTable:
    """A typed table of gate times: the file's name, its rows in order, and what was left out."""

    source: str
    format: str
    rows: tuple[GateTime, ...]
    notes: tuple[Note, ...] = field(default=())
