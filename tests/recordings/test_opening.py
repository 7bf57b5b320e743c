"""One walk through all formats: each file is known by its own reader and by no other."""

from collections.abc import Callable
from datetime import timedelta
from importlib import import_module
from pathlib import Path

import numpy as np
import pytest

from scribeline.errors import RecordingError
from scribeline.recordings import FORMATS, GateTable, Recording, opening, read, recognise
from scribeline.recordings.sound.synthetic import Scene, engine_sound, write_sound
from tests.recordings.written import START, fit, gpx, rmc

PLACES = [(48.1 + i * 1e-5, 11.5, 510.0) for i in range(20)]


def a_sound(path: Path) -> None:
    write_sound(path, engine_sound(np.array([0.0, 2.0]), np.array([5000.0, 6000.0]), Scene(snr_db=20)))


def an_nmea_log(path: Path) -> None:
    path.write_text("\n".join(rmc(START + timedelta(seconds=i), a, b, 5.0) for i, (a, b, _) in enumerate(PLACES)))


WRITERS: dict[str, tuple[str, Callable[[Path], object]]] = {
    "fit": ("ride.fit", lambda path: path.write_bytes(fit([(float(i), 48.1, 11.5, 5.0) for i in range(20)]))),
    "sound": ("film.mp4", a_sound),
    "gpx": ("track.gpx", lambda path: path.write_text(gpx(PLACES))),
    "nmea": ("drive.txt", an_nmea_log),
    "gates": ("times.csv", lambda path: path.write_text("run;25-50 km/h\n1;6,42\n")),
    "columns": ("log.csv", lambda path: path.write_text("time (s),rpm\n0.0,5000\n0.1,5100\n")),
}


def test_every_folder_has_a_sample_here() -> None:
    assert set(WRITERS) == set(FORMATS)


@pytest.mark.parametrize("name", WRITERS)
def test_each_format_knows_its_own_and_leaves_the_others(tmp_path: Path, name: str) -> None:
    path = tmp_path / WRITERS[name][0]
    WRITERS[name][1](path)
    head = path.read_bytes()[:65536]
    said = {each: import_module(f"scribeline.recordings.{each}").recognise(path, head).is_ours for each in FORMATS}
    assert said.pop(name) == "yes"
    if name == "gates":
        assert said.pop("columns") == "yes"  # columns of numbers they are, but gates are asked first
        assert FORMATS.index("gates") < FORMATS.index("columns")
    assert set(said.values()) == {"no"}
    assert recognise(path)[0] == name
    found = read(path)
    assert isinstance(found, Recording | GateTable)
    assert (found.format, found.source) == (name, path.name)


@pytest.mark.parametrize("name", WRITERS)
def test_the_files_name_does_not_matter(tmp_path: Path, name: str) -> None:
    path = tmp_path / WRITERS[name][0]
    WRITERS[name][1](path)
    assert recognise(path.rename(tmp_path / "unnamed"))[0] == name


@pytest.mark.parametrize("name", FORMATS)
def test_each_format_says_what_it_is_and_has_its_note(name: str) -> None:
    module = import_module(f"scribeline.recordings.{name}")
    assert name == module.NAME
    assert module.WHAT
    assert (Path(module.__file__ or "").parent / "README.md").read_text().startswith("# ")


@pytest.mark.parametrize(
    "content", [b"\x00\x01\x02" * 50, b"Dear diary,\ntoday I rode.\n", b"%PDF-1.7\n", b"\x89PNG\r\n\x1a\n"]
)
def test_what_nobody_knows_is_refused_with_what_is_known(tmp_path: Path, content: bytes) -> None:
    path = tmp_path / "thing"
    path.write_bytes(content)
    assert recognise(path) == ("", opening.NO)
    with pytest.raises(RecordingError, match=r"of no kind that is known here\n    accepted: a FIT activity file; "):
        read(path)


@pytest.mark.parametrize(
    ("content", "reason"),
    [
        (b"fLaC" + bytes(99), "FLAC is not read"),
        (b"\x1aE\xdf\xa3" + bytes(99), "Matroska"),
        (b"#EXTM3U\nfile:///etc/x\n", "playlist"),
    ],
)
def test_sound_that_is_ours_but_unsupported(tmp_path: Path, content: bytes, reason: str) -> None:
    path = tmp_path / "thing"
    path.write_bytes(content)
    with pytest.raises(RecordingError, match=f"not supported: .*{reason}"):
        read(path)


def test_files_that_cannot_be_opened(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    with pytest.raises(RecordingError, match="cannot be opened"):
        read(tmp_path / "not there")
    with pytest.raises(RecordingError, match="is not a file"):
        read(tmp_path)
    empty = tmp_path / "empty"
    empty.touch()
    with pytest.raises(RecordingError, match="0 bytes"):
        read(empty)
    monkeypatch.setattr(opening, "LARGEST_BYTES", 10)
    empty.write_bytes(b"x" * 11)
    with pytest.raises(RecordingError, match="accepted: 1 to 10"):
        read(empty)
