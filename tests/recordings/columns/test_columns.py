"""Tables of logged columns in the forms in which loggers and spreadsheets write them."""

from pathlib import Path

import numpy as np
import pytest

from scribeline.errors import RecordingError
from scribeline.recordings import ReadOptions, Recording, read
from scribeline.recordings.columns.mappings import remembered
from scribeline.recordings.columns.meanings import meaning_of


def table(tmp_path: Path, text: str, options: ReadOptions | None = None, encoding: str = "utf-8") -> Recording:
    path = tmp_path / "log.csv"
    path.write_bytes(text.encode(encoding))
    recording = read(path, options)
    assert isinstance(recording, Recording)
    assert recording.format == "columns"
    return recording


def notes(recording: Recording) -> str:
    return "\n".join(map(str, recording.notes))


def values(recording: Recording, name: str) -> list[float]:
    return recording.channels[name].values.round(6).tolist()


PLAIN = "Time (s),Speed (km/h),rpm\n0.00,36.0,6000\n0.02,36.9,6100\n0.04,37.8,6200\n"


def test_the_plain_case(tmp_path: Path) -> None:
    recording = table(tmp_path, PLAIN)
    assert recording.channels["speed_m_s"].time_s.tolist() == [0.0, 0.02, 0.04]
    assert values(recording, "speed_m_s") == [10.0, 10.25, 10.5]
    assert values(recording, "rpm") == [6000, 6100, 6200]
    assert (recording.start_utc, recording.notes) == (None, ())


@pytest.mark.parametrize("mark", [";", "\t", "|"])
def test_other_marks_between_columns_with_decimal_commas(tmp_path: Path, mark: str) -> None:
    recording = table(tmp_path, PLAIN.replace(",", mark).replace(".", ","))
    assert values(recording, "speed_m_s") == [10.0, 10.25, 10.5]


@pytest.mark.parametrize("encoding", ["utf-8-sig", "utf-16", "cp1252"])
def test_other_encodings(tmp_path: Path, encoding: str) -> None:
    recording = table(tmp_path, PLAIN.replace("rpm", "rpm;µ°")[:-1] + "\n", encoding=encoding)
    assert values(recording, "speed_m_s") == [10.0, 10.25, 10.5]


def test_remarks_above_and_units_below_the_header(tmp_path: Path) -> None:
    text = "Logger,version 3\nDriver,somebody\n\nTime,Speed,RPM\n[s],[mph],[1/min]\n"
    text += "0.0,10,5000\n0.1,20,5100\n0.2,30,5200\n"
    recording = table(tmp_path, text)
    assert values(recording, "speed_m_s") == [4.4704, 8.9408, 13.4112]  # the mile is 1609.344 m
    assert values(recording, "rpm") == [5000, 5100, 5200]


def test_a_speed_without_a_unit_is_left_out_and_asked_for(tmp_path: Path) -> None:
    recording = table(tmp_path, PLAIN.replace("Speed (km/h)", "Speed"))
    assert "speed_m_s" not in recording.channels
    assert "Speed has no unit: m/s, km/h, mph or kn?" in notes(recording)
    said = ReadOptions(columns={"Speed": "speed_m_s kn"})
    assert values(table(tmp_path, PLAIN.replace("Speed (km/h)", "Speed"), said), "speed_m_s")[0] == pytest.approx(18.52)


def test_a_mapping_is_remembered_for_the_same_headers_only(tmp_path: Path) -> None:
    memory = tmp_path / "kept" / "columns.toml"
    odd = "clock,v1,n2\n0.0,36,5000\n0.1,37,5100\n0.2,38,5200\n"
    said = ReadOptions(columns={"clock": "time s", "v1": "speed_m_s km/h", "n2": "rpm"}, mappings=memory)
    with pytest.raises(RecordingError, match="no column is known to be the time"):
        table(tmp_path, odd, ReadOptions(mappings=memory))
    assert values(table(tmp_path, odd, said), "rpm") == [5000, 5100, 5200]
    assert values(table(tmp_path, odd, ReadOptions(mappings=memory)), "rpm") == [5000, 5100, 5200]
    with pytest.raises(RecordingError, match="no column is known to be the time"):
        table(tmp_path, odd.replace("n2", "n3"), ReadOptions(mappings=memory))
    again = ReadOptions(columns={"v1": "speed_m_s mph"}, mappings=memory)
    assert values(table(tmp_path, odd, again), "speed_m_s")[0] == pytest.approx(36 * 0.44704)
    assert remembered(memory, ["clock", "v1", "n2"])["v1"] == "speed_m_s mph"


def test_a_broken_memory_says_which_file(tmp_path: Path) -> None:
    memory = tmp_path / "columns.toml"
    memory.write_text("[[mapping]\n")
    with pytest.raises(RecordingError, match=r"columns\.toml"):
        table(tmp_path, PLAIN, ReadOptions(mappings=memory))


@pytest.mark.parametrize(
    ("said", "reason"),
    [
        ({"Nobody": "rpm"}, "no column Nobody"),
        ({"rpm": "turbo"}, "turbo is no channel"),
        ({"rpm": "speed_m_s rpm"}, "rpm is not a unit of speed_m_s"),
        ({"rpm": "speed_m_s"}, "has no unit"),
    ],
)
def test_a_mapping_that_means_nothing_is_refused(tmp_path: Path, said: dict[str, str], reason: str) -> None:
    with pytest.raises(RecordingError, match=reason):
        table(tmp_path, PLAIN, ReadOptions(columns=said))


@pytest.mark.parametrize(
    ("first", "second", "start"),
    [
        ("2026-05-14T13:05:00.00Z", "2026-05-14T13:05:00.50Z", "2026-05-14T13:05:00+00:00"),
        ("2026-05-14 15:05:00,00+02:00", "2026-05-14 15:05:00,50+02:00", "2026-05-14T13:05:00+00:00"),
        ("1778763900.0", "1778763900.5", "2026-05-14T13:05:00+00:00"),
        ("1778763900000", "1778763900500", "2026-05-14T13:05:00+00:00"),
    ],
)
def test_stamps_of_a_real_clock(tmp_path: Path, first: str, second: str, start: str) -> None:
    recording = table(tmp_path, f"timestamp;rpm;x\n{first};5000;1\n{second};5100;1\n")
    assert recording.start_utc is not None
    assert recording.start_utc.isoformat() == start
    assert recording.channels["rpm"].time_s == pytest.approx([0.0, 0.5])


def test_local_stamps_are_taken_as_said(tmp_path: Path) -> None:
    text = "date time,rpm\n2026-05-14 15:05:00,5000\n2026-05-14 15:05:01,5100\n"
    assert str(table(tmp_path, text).start_utc) == "2026-05-14 15:05:00+00:00"
    shifted = table(tmp_path, text, ReadOptions(utc_offset_h=2.0))
    assert str(shifted.start_utc) == "2026-05-14 13:05:00+00:00"
    assert "UTC+2 h" in notes(shifted)


def test_clock_times_and_milliseconds(tmp_path: Path) -> None:
    clock = table(tmp_path, "time,rpm\n0:59.5,5000\n1:00.0,5100\n1:00.5,5200\n")
    assert clock.channels["rpm"].time_s.tolist() == [0.0, 0.5, 1.0]
    ms = table(tmp_path, "time_ms,rpm\n1000,5000\n1020,5100\n1040,5200\n")
    assert ms.channels["rpm"].time_s == pytest.approx([0.0, 0.02, 0.04])
    doubtful = table(tmp_path, "time,rpm\n1000,5000\n1020,5100\n1040,5200\n")
    assert "if these are milliseconds, say 'time ms'" in notes(doubtful)


def test_cells_and_rows_that_cannot_be_read_are_counted(tmp_path: Path) -> None:
    recording = table(tmp_path, PLAIN + "0.06,oops,6300\n0.08\n0.10,,6500\n0.12,39.6,6600\n")
    assert recording.channels["speed_m_s"].time_s.tolist() == [0.0, 0.02, 0.04, 0.12]
    assert recording.channels["rpm"].time_s.tolist() == [0.0, 0.02, 0.04, 0.06, 0.1, 0.12]
    assert "cells of Speed (km/h) that are no number were left out" in notes(recording)
    assert "rows with too few cells" in notes(recording)


def test_a_comma_that_could_part_thousands_is_refused(tmp_path: Path) -> None:
    doubtful = "time;rpm\n0,000;9,500\n1,000;9,600\n"
    with pytest.raises(RecordingError, match=r"9,500 could be 9\.500 or 9500|could be"):
        table(tmp_path, doubtful.replace("0,000", "1,000").replace("1,000;9,6", "2,000;9,6"))
    both = "time;rpm\n0,5;9500.25\n1,5;9600.5\n"
    with pytest.raises(RecordingError, match="decimal point and others a decimal comma"):
        table(tmp_path, both)


@pytest.mark.parametrize(
    ("header", "channel", "unit", "one_is"),
    [
        ("Speed (km/h)", "speed_m_s", "km/h", 1 / 3.6),
        ("GPS_Speed_kmh", "speed_m_s", "km/h", 1 / 3.6),
        ("GPS speed [mph]", "speed_m_s", "mph", 0.44704),
        ("velocity, m/s", "speed_m_s", "m/s", 1.0),
        ("SOG (knots)", "speed_m_s", "kn", 1852 / 3600),
        ("Wheel speed km/h", "wheel_speed_m_s", "km/h", 1 / 3.6),
        ("RPM", "rpm", "rpm", 1.0),
        ("engineSpeed", "rpm", "rpm", 1.0),
        ("Latitude", "latitude_deg", "deg", 1.0),
        ("lng", "longitude_deg", "deg", 1.0),
        ("Altitude (ft)", "altitude_m", "ft", 0.3048),
        ("acc_x (g)", "acceleration_x_m_s2", "g", 9.80665),
        ("Accel Y m/s2", "acceleration_y_m_s2", "m/s2", 1.0),
        ("ax (m/s^2)", "acceleration_x_m_s2", "m/s2", 1.0),
        ("Throttle position (%)", "throttle_share", "%", 0.01),
        ("EGT (°C)", "exhaust_temperature_c", "C", 1.0),
        ("t", "time", "s", 1.0),
        ("Elapsed (ms)", "time", "ms", 0.001),
        ("UTC time", "time", None, 1.0),
    ],
)
def test_what_a_header_means(header: str, channel: str, unit: str | None, one_is: float) -> None:
    meaning, reason = meaning_of(header)
    assert meaning is not None, reason
    assert (meaning.channel, meaning.unit) == (channel, unit)
    assert meaning.factor == pytest.approx(one_is)


@pytest.mark.parametrize(
    "header", ["speed", "acc x", "altitude", "Temperature", "speed (bar)", "x", "", "Lap", "power (kW)"]
)
def test_what_a_header_does_not_mean(header: str) -> None:
    meaning, reason = meaning_of(header)
    assert meaning is None
    assert reason


def test_fahrenheit_has_its_zero(tmp_path: Path) -> None:
    """32 F is 0 C and 212 F is 100 C by definition."""
    recording = table(tmp_path, "t (s),head temp (F)\n0,32\n1,212\n2,122\n")
    assert values(recording, "head_temperature_c") == pytest.approx([0.0, 100.0, 50.0])


def test_no_time_says_what_each_column_is(tmp_path: Path) -> None:
    with pytest.raises(RecordingError, match=r"no column is known to be the time(.|\n)*foo is not known here"):
        table(tmp_path, "foo,rpm\n1,5000\n2,5100\n")


def test_a_spreadsheet_file_is_ours_but_unsupported(tmp_path: Path) -> None:
    path = tmp_path / "runs.xlsx"
    path.write_bytes(b"PK\x03\x04" + bytes(100))
    with pytest.raises(RecordingError, match="save its sheet as CSV"):
        read(path)


def test_ten_hours_is_only_more_of_the_same(tmp_path: Path) -> None:
    """Rows beyond those that are looked at first are read like them."""
    time_s = np.arange(3000) * 0.02
    text = "time (s),speed (m/s)\n" + "".join(f"{t:.2f},{5 + t:.3f}\n" for t in time_s)
    assert table(tmp_path, text).channels["speed_m_s"].values == pytest.approx(5 + time_s, abs=6e-3)
