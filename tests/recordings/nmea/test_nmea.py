"""NMEA logs written sentence by sentence, with all that happens to them on the way."""

from datetime import UTC, datetime, timedelta
from pathlib import Path

import numpy as np
import pytest

from scribeline.errors import RecordingError
from scribeline.recordings import Recording, read, recognise
from tests.recordings.written import START, gga, rmc, sentence

DATA = Path(__file__).resolve().parent.parent / "data"


def log(tmp_path: Path, lines: list[str]) -> Recording:
    path = tmp_path / "drive.nmea"
    path.write_text("\r\n".join(lines) + "\r\n")
    recording = read(path)
    assert isinstance(recording, Recording)
    return recording


def notes(recording: Recording) -> str:
    return "\n".join(map(str, recording.notes))


def drive(count: int = 20, step_s: float = 0.2) -> list[str]:
    lines = []
    for i in range(count):
        moment = START + timedelta(seconds=i * step_s)
        lines += [gga(moment, 48.1 + i * 1e-5, 11.5, 510.0 + i), rmc(moment, 48.1 + i * 1e-5, 11.5, 10.0 + i)]
    return lines


def test_position_speed_height_and_start(tmp_path: Path) -> None:
    """20 kn are 20 * 1852/3600 m/s by definition."""
    recording = log(tmp_path, drive())
    assert recording.start_utc == START
    assert recording.channels["speed_m_s"].values == pytest.approx((10.0 + np.arange(20)) * 1852 / 3600)
    assert recording.channels["speed_m_s"].time_s == pytest.approx(np.arange(20) * 0.2)
    assert recording.channels["latitude_deg"].values == pytest.approx(48.1 + np.arange(20) * 1e-5, abs=2e-7)
    assert recording.channels["longitude_deg"].values == pytest.approx(11.5)
    assert recording.channels["altitude_m"].values == pytest.approx(510.0 + np.arange(20))
    assert recording.channels["satellites"].values == pytest.approx(9.0)
    assert recording.notes == ()


def test_south_and_west_are_negative(tmp_path: Path) -> None:
    recording = log(tmp_path, [rmc(START + timedelta(seconds=i), -33.5, -70.25, 1.0) for i in range(3)])
    assert recording.channels["latitude_deg"].values == pytest.approx(-33.5)
    assert recording.channels["longitude_deg"].values == pytest.approx(-70.25)


def test_a_wrong_checksum_loses_its_sentence_only(tmp_path: Path) -> None:
    lines = drive()
    lines[9] = lines[9].replace("E,14.0", "E,94.0")
    lines[21] = lines[21].partition("*")[0]
    lines.insert(5, "something else")
    lines.insert(3, "$GPRMC,,V,,,,,,,,,,N*53")
    recording = log(tmp_path, lines)
    assert len(recording.channels["speed_m_s"]) == 18
    assert len(recording.channels["altitude_m"]) == 20
    assert "wrong or missing checksum were left out (2 times)" in notes(recording)
    assert "no sentence" in notes(recording)


def test_moments_without_a_fix_are_gaps(tmp_path: Path) -> None:
    moments = [START + timedelta(seconds=i) for i in range(10)]
    status = ["A"] * 3 + ["V"] * 4 + ["A"] * 3
    recording = log(tmp_path, [rmc(m, 48.0, 11.0, 5.0, s) for m, s in zip(moments, status, strict=True)])
    assert recording.channels["speed_m_s"].time_s.tolist() == [0, 1, 2, 7, 8, 9]
    assert "no fix (4 times)" in notes(recording)


def test_midnight(tmp_path: Path) -> None:
    late = datetime(2026, 5, 14, 23, 59, 58, tzinfo=UTC)
    lines = [gga(late + timedelta(seconds=i), 48.0, 11.0, 500.0) for i in range(5)]
    recording = log(tmp_path, [rmc(late, 48.0, 11.0, 5.0), *lines])
    assert recording.channels["altitude_m"].time_s.tolist() == [0, 1, 2, 3, 4]
    assert recording.start_utc == late


def test_without_a_date_the_times_still_count(tmp_path: Path) -> None:
    recording = log(tmp_path, [gga(START + timedelta(seconds=i), 48.0, 11.0, 500.0) for i in range(5)])
    assert recording.start_utc is None
    assert recording.channels["altitude_m"].time_s.tolist() == [0, 1, 2, 3, 4]
    assert "no sentence gives the date" in notes(recording)


def test_speed_from_vtg_where_rmc_has_none(tmp_path: Path) -> None:
    lines = []
    for i in range(3):
        lines.append(gga(START + timedelta(seconds=i), 48.0, 11.0, 500.0))
        lines.append(sentence(f"GPVTG,90.0,T,,M,,N,{36.0 + i},K,A"))
    speed = log(tmp_path, lines).channels["speed_m_s"]
    assert speed.values == pytest.approx(np.array([36.0, 37.0, 38.0]) / 3.6)


def test_a_file_of_the_parsers_own_distribution() -> None:
    """One GGA sentence among others: 19 29.045 S, 24 10.506 E, height 100 m, as its text says."""
    recording = read(DATA / "pynmea2.log")
    assert isinstance(recording, Recording)
    assert recording.channels["latitude_deg"].values == pytest.approx([-(19 + 29.045 / 60)])
    assert recording.channels["longitude_deg"].values == pytest.approx([24 + 10.506 / 60])
    assert recording.channels["altitude_m"].values.tolist() == [100.0]


def test_sentences_without_speed_and_place_are_ours_but_unsupported(tmp_path: Path) -> None:
    path = tmp_path / "sky.log"
    path.write_text(sentence("GPGSV,1,1,01,02,40,083,46") + "\n")
    name, answer = recognise(path)
    assert (name, answer.is_ours) == ("nmea", "unsupported")
    with pytest.raises(RecordingError, match="neither RMC nor GGA"):
        read(path)
