"""FIT files of real devices, and others written byte by byte after the protocol and damaged in every place."""

from datetime import UTC, datetime
from pathlib import Path

import numpy as np
import pytest
from geographiclib.geodesic import Geodesic

from scribeline.errors import RecordingError
from scribeline.recordings import Recording, read, recognise
from tests.recordings.written import START, fit

DATA = Path(__file__).resolve().parent.parent / "data"
ROWS = [(float(i), 48.1 + i * 1e-4, -11.5, 5.0 + 0.25 * i) for i in range(30)]


def activity(tmp_path: Path, data: bytes) -> Recording:
    path = tmp_path / "ride.fit"
    path.write_bytes(data)
    recording = read(path)
    assert isinstance(recording, Recording)
    return recording


def test_every_record(tmp_path: Path) -> None:
    recording = activity(tmp_path, fit(ROWS))
    assert recording.start_utc == START
    assert recording.notes == ()
    speed = recording.channels["speed_m_s"]
    assert speed.time_s.tolist() == [row[0] for row in ROWS]
    assert speed.values == pytest.approx([row[3] for row in ROWS], abs=5e-4)
    assert recording.channels["latitude_deg"].values == pytest.approx([row[1] for row in ROWS], abs=1e-7)
    assert recording.channels["longitude_deg"].values == pytest.approx(-11.5, abs=1e-7)


# First, eighth and last record, as fitparse 1.2.0, another reader than the one underneath, gives them: seconds after
# the first, latitude and longitude in semicircles, speed [m/s], distance [m], height [m], temperature [C].
SEMICIRCLE_DEG = 180.0 / 2**31
RIDE = [
    (0.0, 446375435, -1456338541, 6.951, 6.95, -17.6, 13),
    (28.0, 446396367, -1456338184, 7.101, 200.84, -17.2, 13),
    (65.0, 446424211, -1456338151, 6.653, 457.12, -17.8, 13),
]
RUN = [
    (0.0, 456099128, -1463077077, 0.0, 0.0, 2.2, 25),
    (16.0, 456095112, -1463079672, 2.986, 40.84, 3.6, 25),
    (57.0, 456084072, -1463087093, 2.865, 157.56, 4.2, 24),
]


@pytest.mark.parametrize(
    ("name", "start", "records", "known"),
    [
        ("ride.fit", datetime(2017, 6, 12, 16, 10, 15, tzinfo=UTC), 15, RIDE),
        ("run.fit", datetime(2017, 6, 11, 14, 34, 9, tzinfo=UTC), 21, RUN),
    ],
)
def test_files_that_real_devices_wrote(
    name: str, start: datetime, records: int, known: list[tuple[float, ...]]
) -> None:
    """As another reader reads them; and the places are as far apart as the device's own odometer says."""
    recording = read(DATA / name)
    assert isinstance(recording, Recording)
    assert recording.start_utc == start
    columns = ("latitude_deg", "longitude_deg", "speed_m_s", "distance_m", "altitude_m", "air_temperature_c")
    scales = (SEMICIRCLE_DEG, SEMICIRCLE_DEG, 1.0, 1.0, 1.0, 1.0)
    for place, (column, scale) in enumerate(zip(columns, scales, strict=True), start=1):
        channel = recording.channels[column]
        assert len(channel) == records
        assert channel.time_s[[0, 7, -1]].tolist() == [row[0] for row in known]
        assert channel.values[[0, 7, -1]] == pytest.approx([row[place] * scale for row in known], rel=1e-12)
    lat, lon = recording.channels["latitude_deg"].values, recording.channels["longitude_deg"].values
    far = sum(Geodesic.WGS84.Inverse(lat[i], lon[i], lat[i + 1], lon[i + 1])["s12"] for i in range(records - 1))
    distance = recording.channels["distance_m"].values
    assert far == pytest.approx(distance[-1] - distance[0], rel=0.03)


def test_values_that_the_protocol_calls_invalid_are_gaps(tmp_path: Path) -> None:
    """0xFFFF in the speed means none; it is not 65.535 m/s."""
    rows = [*ROWS[:5], (5.0, 48.1, -11.5, 65.535), *ROWS[6:]]
    speed = activity(tmp_path, fit(rows)).channels["speed_m_s"]
    assert 5.0 not in speed.time_s
    assert len(speed) == 29


@pytest.mark.parametrize("share", [0.3, 0.5, 0.9])
def test_a_broken_off_file_keeps_its_records(tmp_path: Path, share: float) -> None:
    data = fit(ROWS)
    recording = activity(tmp_path, data[: int(share * len(data))])
    assert len(recording.channels["speed_m_s"]) == pytest.approx(30 * share, abs=3)
    assert any("records before that place were kept" in note.what for note in recording.notes)


def test_damage_in_the_middle_keeps_what_came_before(tmp_path: Path) -> None:
    data = bytearray(fit(ROWS))
    at = 14 + 18 + 15 * 15  # header, definition, fifteen records of fifteen bytes
    data[at : at + 6] = b"\xff\x43\x00\x01\x02\x03"
    recording = activity(tmp_path, bytes(data))
    assert recording.channels["speed_m_s"].values[:15] == pytest.approx([row[3] for row in ROWS[:15]], abs=5e-4)
    assert recording.notes


def test_a_claim_of_2_gb_takes_no_memory(tmp_path: Path) -> None:
    recording = activity(tmp_path, fit(ROWS, size_claim=2**31 - 1))
    assert len(recording.channels["speed_m_s"]) == 30


def test_without_records_it_says_so(tmp_path: Path) -> None:
    with pytest.raises(RecordingError, match="no record messages"):
        activity(tmp_path, fit([]))


def test_a_newer_protocol_is_ours_but_unsupported(tmp_path: Path) -> None:
    data = bytearray(fit(ROWS))
    data[1] = 0x30
    path = tmp_path / "new.fit"
    path.write_bytes(bytes(data))
    assert recognise(path)[1].is_ours == "unsupported"
    with pytest.raises(RecordingError, match="protocol version 3"):
        read(path)


def test_times_are_in_order(tmp_path: Path) -> None:
    rows = [*ROWS[:10], *ROWS[9:20], *ROWS[22:]]
    speed = activity(tmp_path, fit(rows)).channels["speed_m_s"]
    assert np.all(np.diff(speed.time_s) > 0)
