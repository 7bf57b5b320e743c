"""From columns of rows to a Recording: the step that the readers of logs share."""

from collections.abc import Iterable, Mapping
from datetime import UTC, datetime, timedelta

import numpy as np
from numpy.typing import NDArray

from scribeline.errors import RecordingError
from scribeline.recordings.recording import CHANNELS, Channel, Note, Recording
from scribeline.recordings.timeline import mend

Floats = NDArray[np.float64]

LIMITS: Mapping[str, tuple[float, float]] = {
    "latitude_deg": (-90.0, 90.0),
    "longitude_deg": (-180.0, 180.0),
    "speed_m_s": (-5.0, 150.0),
    "wheel_speed_m_s": (-5.0, 150.0),
    "rpm": (0.0, 40_000.0),
    "altitude_m": (-500.0, 9_000.0),
    "hdop": (0.0, 100.0),
    "throttle_share": (-0.05, 1.2),
}
"""What a value of each channel can be (judgement); a logger writes others where it has none, or when it fails."""


EARLIEST_S, LATEST_S = 631_152_000.0, 4_102_444_800.0
"""1990 and 2100: a clock that says otherwise was never set."""


def assemble(
    source: str,
    format: str,
    stamps_s: Floats,
    columns: Mapping[str, Floats],
    notes: Iterable[Note],
    *,
    on_a_clock: bool,
) -> Recording:
    """Mend the time, leave out impossible values, and make a channel of each column.

    stamps_s : shape (n,), seconds since 1970 UTC where `on_a_clock`, else since any moment; NaN where unknown
    columns : by channel name, shape (n,) each, NaN where unknown
    Raises RecordingError where no value with a time is left.
    """
    mended = mend(stamps_s)
    said = [*notes, *mended.notes]
    channels: dict[str, Channel] = {}
    for name, column in columns.items():
        values = np.asarray(column, dtype=np.float64)[mended.kept]
        known = np.isfinite(values)
        low, high = LIMITS.get(name, (-1e9, 1e9))
        with np.errstate(invalid="ignore"):
            possible = known & (values >= low) & (values <= high)
        if left_out := int((known & ~possible).sum()):
            said.append(Note(f"values of {name} outside {low:g} to {high:g} were left out", left_out))
        if possible.any():
            channels[name] = Channel(mended.time_s[possible], values[possible], CHANNELS[name][0])
    if not channels:
        reasons = "".join(f"\n    {note}" for note in said)
        raise RecordingError(f"{source}: no value with a time was found in it{reasons}")
    start = None
    first_s = float(stamps_s[mended.kept[0]])
    if on_a_clock and EARLIEST_S <= first_s <= LATEST_S:
        start = datetime.fromtimestamp(0, UTC) + timedelta(seconds=first_s)
    elif on_a_clock:
        said.append(Note("the recorder's clock was never set; its times count from its own beginning"))
    return Recording(source, format, start, channels, mended.breaks_s, tuple(said))


class Counts(dict[str, int]):
    """How often each thing happened, in the order of the first time."""

    def add(self, what: str, count: int = 1) -> None:
        """Count once more."""
        self[what] = self.get(what, 0) + count

    def notes(self) -> list[Note]:
        """As notes."""
        return [Note(what, count) for what, count in self.items()]
