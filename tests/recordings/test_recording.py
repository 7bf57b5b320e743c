"""What a Channel and a Recording refuse, and how they are cut at breaks."""

from datetime import datetime

import numpy as np
import pytest

from scribeline.errors import RecordingError
from scribeline.recordings import CHANNELS, Channel, Note, Recording


@pytest.mark.parametrize(
    ("time_s", "values", "reason"),
    [
        ([0, 1], [1, 2, 3], "shape"),
        ([0, 0], [1, 2], "do not increase"),
        ([1, 0], [1, 2], "do not increase"),
        ([0, 1], [1, np.nan], "not a finite number"),
        ([0, np.inf], [1, 2], "not a finite number"),
    ],
)
def test_arrays_that_do_not_fit_are_refused(time_s: list[float], values: list[float], reason: str) -> None:
    with pytest.raises(RecordingError, match=reason):
        Channel(time_s, values, "m/s")  # type: ignore[arg-type]


def test_a_channel_cannot_be_changed() -> None:
    source = np.array([1.0, 2.0])
    channel = Channel(np.array([0.0, 1.0]), source, "m/s")
    with pytest.raises(ValueError, match="read-only"):
        channel.values[0] = 5.0
    source[0] = 9.0
    assert channel.values[0] == 1.0


def test_stretches_end_at_breaks_and_at_gaps() -> None:
    channel = Channel(np.array([0.0, 0.1, 0.2, 0.5, 0.6, 0.7]), np.zeros(6), "m/s")
    assert channel.stretches() == [slice(0, 3), slice(3, 6)]
    assert channel.stretches(longest_gap_s=0.4) == [slice(0, 6)]
    assert channel.stretches(breaks_s=(0.6,), longest_gap_s=0.4) == [slice(0, 5), slice(5, 6)]
    assert channel.stretches(breaks_s=(-1.0, 0.7, 3.0), longest_gap_s=0.4) == [slice(0, 6)]
    assert Channel(np.empty(0), np.empty(0), "m/s").stretches() == []
    assert Channel(np.zeros(1), np.zeros(1), "m/s").stretches() == [slice(0, 1)]


def test_a_recording_takes_known_channels_and_an_aware_start_only() -> None:
    channel = Channel(np.array([0.0, 2.5]), np.zeros(2), "km/h")
    with pytest.raises(RecordingError, match="CHANNELS"):
        Recording("x", "gpx", None, {"speed_m_s": channel})
    with pytest.raises(RecordingError, match="CHANNELS"):
        Recording("x", "gpx", None, {"speed": channel})
    with pytest.raises(RecordingError, match="time zone"):
        Recording("x", "gpx", datetime(2026, 5, 14), {})
    good = Recording("x", "gpx", None, {"speed_m_s": Channel(channel.time_s, channel.values, "m/s")})
    assert good.duration_s == 2.5
    assert Recording("x", "gpx", None, {}).duration_s == 0.0


def test_a_channels_name_ends_with_its_unit() -> None:
    ends = {"m/s": "m_s", "deg": "deg", "m": "m", "m/s2": "m_s2", "share": "", "C": "c", "rpm": "rpm"}
    for name, (unit, what) in CHANNELS.items():
        assert name.endswith(ends.get(unit, ""))
        assert what


def test_a_note_says_how_often() -> None:
    assert str(Note("rows were left out", 3)) == "rows were left out (3 times)"
    assert str(Note("the date is missing")) == "the date is missing"
