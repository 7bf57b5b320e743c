"""GPX against gpxpy, an independent reader of the same files, and against what a hostile file can hold."""

import socket
from pathlib import Path

import gpxpy
import numpy as np
import pytest

from scribeline.errors import RecordingError
from scribeline.recordings import ReadOptions, Recording, read, recognise
from tests.recordings.written import START, gpx

DATA = Path(__file__).resolve().parent.parent / "data"
POINTS = [(48.1 + i * 1e-5, 11.5 - i * 2e-5, 510.0 + i) for i in range(40)]


def track(tmp_path: Path, text: str, options: ReadOptions | None = None) -> Recording:
    path = tmp_path / "track.gpx"
    path.write_text(text, encoding="utf-8")
    recording = read(path, options)
    assert isinstance(recording, Recording)
    return recording


def notes(recording: Recording) -> str:
    return "\n".join(map(str, recording.notes))


def test_it_reads_what_gpxpy_reads(tmp_path: Path) -> None:
    text = gpx(POINTS, 0.5)
    recording = track(tmp_path, text)
    points = [p for t in gpxpy.parse(text).tracks for s in t.segments for p in s.points]
    assert recording.channels["latitude_deg"].values == pytest.approx([p.latitude for p in points])
    assert recording.channels["longitude_deg"].values == pytest.approx([p.longitude for p in points])
    assert recording.channels["altitude_m"].values == pytest.approx([p.elevation for p in points])
    since = [(p.time - points[0].time).total_seconds() for p in points if p.time and points[0].time]
    assert recording.channels["altitude_m"].time_s == pytest.approx(since)
    assert recording.start_utc == START


def test_files_of_the_parsers_own_distribution() -> None:
    """Three points with speeds 1.2, 2.2, 3.2 m/s, 6 and 7 s apart; one point with all fields (height 1, hdop 120)."""
    recording = read(DATA / "track_with_speed.gpx")
    assert isinstance(recording, Recording)
    assert recording.channels["speed_m_s"].values.tolist() == [1.2, 2.2, 3.2]
    assert recording.channels["speed_m_s"].time_s.tolist() == [0.0, 6.0, 13.0]
    full = read(DATA / "gpx1.1_with_all_fields.gpx")
    assert isinstance(full, Recording)
    with (DATA / "gpx1.1_with_all_fields.gpx").open() as file:
        point = gpxpy.parse(file).tracks[0].segments[0].points[0]
    assert full.channels["latitude_deg"].values.tolist() == [point.latitude]
    assert full.channels["altitude_m"].values.tolist() == [point.elevation]
    assert "hdop outside 0 to 100" in notes(full)


def test_speed_and_course_in_extensions(tmp_path: Path) -> None:
    text = gpx(POINTS[:3]).replace(
        "</trkpt>", "<extensions><x:more xmlns:x='u'><x:speed>7.5</x:speed></x:more></extensions></trkpt>"
    )
    assert track(tmp_path, text).channels["speed_m_s"].values.tolist() == [7.5, 7.5, 7.5]


def test_segments_follow_each_other_with_a_break(tmp_path: Path) -> None:
    lines = gpx(POINTS).splitlines()
    pause = [line for i, line in enumerate(lines) if not 15 <= i < 30]
    pause.insert(15, "</trkseg><trkseg>")
    recording = track(tmp_path, "\n".join(pause))
    assert recording.breaks_s == (11.0,)


def test_a_broken_off_file_keeps_its_points(tmp_path: Path) -> None:
    text = gpx(POINTS)
    recording = track(tmp_path, text[: int(0.6 * len(text))])
    assert 20 <= len(recording.channels["latitude_deg"]) <= 26
    assert "the points before that place were kept" in notes(recording)


def test_local_time_is_taken_as_said(tmp_path: Path) -> None:
    local = gpx(POINTS).replace("+00:00", "")
    assert track(tmp_path, local).start_utc == START
    assert "taken as UTC" in notes(track(tmp_path, local))
    shifted = track(tmp_path, local, ReadOptions(utc_offset_h=2.0))
    assert shifted.start_utc is not None
    assert (START - shifted.start_utc).total_seconds() == 7200.0
    zoned = track(tmp_path, gpx(POINTS).replace("+00:00", "+02:00"))
    assert zoned.start_utc == shifted.start_utc


def test_wild_values_are_left_out(tmp_path: Path) -> None:
    text = gpx(POINTS).replace('lat="48.1"', 'lat="481"').replace("<ele>512.0", "<ele>high")
    recording = track(tmp_path, text)
    assert len(recording.channels["latitude_deg"]) == 39
    assert len(recording.channels["altitude_m"]) == 39
    assert "latitude_deg outside" in notes(recording)
    assert "numbers that cannot be read" in notes(recording)


BOMB = (
    '<!DOCTYPE gpx [<!ENTITY a "' + "x" * 1000 + '">'
    + "".join(f'<!ENTITY {c} "{f"&{p};" * 20}">' for p, c in zip("abcdefgh", "bcdefghi", strict=True))
    + "]>"
)  # fmt: skip


@pytest.mark.parametrize(
    "head",
    [
        BOMB,
        '<!DOCTYPE gpx SYSTEM "http://localhost:9/x.dtd">',
        '<!DOCTYPE gpx [<!ENTITY e SYSTEM "file:///etc/hostname">]>',
        '<!DOCTYPE gpx [<!ENTITY % p SYSTEM "http://localhost:9/x"> %p;]>',
    ],
)
def test_entities_and_document_types_are_refused(tmp_path: Path, head: str, monkeypatch: pytest.MonkeyPatch) -> None:
    def no_network(*_: object, **__: object) -> None:
        raise AssertionError("the network was asked")

    monkeypatch.setattr(socket, "socket", no_network)
    monkeypatch.setattr(socket, "getaddrinfo", no_network)
    text = gpx(POINTS, head=head).replace("<ele>510.0", "<ele>&e;" if "ENTITY e" in head else "<ele>510.0")
    with pytest.raises(RecordingError, match="document type or entities"):
        track(tmp_path, text.replace("<ele>511.0", "<ele>&i;") if head == BOMB else text)


def test_a_tower_of_elements_is_refused(tmp_path: Path) -> None:
    with pytest.raises(RecordingError, match="within one another"):
        track(tmp_path, "<gpx>" + "<a>" * 100_000)


@pytest.mark.parametrize("where", ["<gpx>", '<gpx><trk><trkseg><trkpt lat="48.1" lon="11.5">'])
def test_a_crowd_of_elements_is_refused(tmp_path: Path, where: str) -> None:
    """Neither held in memory nor counted to the end."""
    with pytest.raises(RecordingError, match="too many elements that are no track points"):
        track(tmp_path, where + "<a/>" * 300_000)


def test_no_points_and_no_times_each_have_their_reason(tmp_path: Path) -> None:
    with pytest.raises(RecordingError, match="holds no track point"):
        track(tmp_path, gpx([]))
    timeless = "\n".join(
        line.partition("<time>")[0] + "</trkpt>" if "<time>" in line else line for line in gpx(POINTS).splitlines()
    )
    with pytest.raises(RecordingError, match="none of its 40 points has a time"):
        track(tmp_path, timeless)


@pytest.mark.parametrize(
    ("root", "is_ours"), [("kml", "unsupported"), ("TrainingCenterDatabase", "unsupported"), ("html", "no")]
)
def test_other_xml_is_told_apart(tmp_path: Path, root: str, is_ours: str) -> None:
    path = tmp_path / "x.xml"
    path.write_text(f"<?xml version='1.0'?>\n<!-- <gpx> -->\n<{root}></{root}>")
    assert recognise(path)[1].is_ours == is_ours


def test_memory_stays_that_of_a_few_points(tmp_path: Path) -> None:
    """Points that were read are dropped from the tree, so nothing grows with the file but the rows."""
    recording = track(tmp_path, gpx([(48.0 + i * 1e-7, 11.0, 500.0) for i in range(5000)], 0.1))
    assert len(recording.channels["latitude_deg"]) == 5000
    assert np.diff(recording.channels["latitude_deg"].time_s) == pytest.approx(0.1, abs=1e-6)
