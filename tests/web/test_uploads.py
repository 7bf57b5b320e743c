"""What is let in as a file, what it is called here, and what becomes of it when something is wrong."""

import hashlib
import io
import stat
from collections.abc import AsyncIterator, Iterator
from dataclasses import replace
from pathlib import Path

import pytest
from PIL import Image

from scribeline.errors import UploadError
from scribeline.web import uploads
from scribeline.web.uploads import KINDS, Incoming, Upload, shown_name
from tests.web.loops import run

EXAMPLES = Path(__file__).resolve().parents[2] / "examples"


@pytest.fixture
def incoming() -> Iterator[Incoming]:
    made = Incoming()
    yield made
    folder = made.folder
    made.close()
    assert not folder.exists()


def picture(form: str) -> bytes:
    made = io.BytesIO()
    Image.new("RGB", (8, 6), "white").save(made, form)
    return made.getvalue()


def taken(incoming: Incoming, data: bytes, name: str, *kinds: str, piece: int = 700) -> Upload:
    async def pieces() -> AsyncIterator[bytes]:
        for start in range(0, len(data), piece):
            yield data[start : start + piece]

    return run(incoming.take(pieces(), name, kinds))


def test_a_file_lies_under_a_name_of_ours_and_only_for_this_user(incoming: Incoming) -> None:
    data = picture("JPEG")
    upload = taken(incoming, data, "../../etc/cylinder 1.png", "photo")
    assert upload.path.parent == incoming.folder
    assert upload.path.suffix == ".jpg"  # from what it is, not from what it is called
    assert "cylinder" not in upload.path.name
    assert upload.name == "cylinder 1.png"
    assert upload.path.read_bytes() == data
    assert (upload.size_bytes, upload.sha256) == (len(data), hashlib.sha256(data).hexdigest())
    assert stat.S_IMODE(incoming.folder.stat().st_mode) == 0o700
    upload.discard()
    upload.discard()
    assert list(incoming.folder.iterdir()) == []


@pytest.mark.parametrize(("form", "ending"), [("JPEG", ".jpg"), ("PNG", ".png"), ("WEBP", ".webp"), ("TIFF", ".tif")])
def test_photographs_are_known_by_content(incoming: Incoming, form: str, ending: str) -> None:
    assert taken(incoming, picture(form), "no ending", "photo").path.suffix == ending


@pytest.mark.parametrize(
    ("head", "name", "ending"),
    [
        (b"\0\0\0\x20ftypisom", "ride.mov", ".mov"),
        (b"\0\0\0\x20ftypisom", "ride.exe", ".mp4"),
        (b"RIFF\0\0\0\0WAVEfmt ", "x", ".wav"),
        (b"OggS\0", "x", ".ogg"),
        (b"\xff\xfb\x90\x64", "x", ".mp3"),
        (b"\xff\xf1\x50\x80", "x", ".aac"),
        (b"\x1aE\xdf\xa3", "x", ".mkv"),
        (b"\x0e\x10\0\0\0\0\0\0.FIT", "x", ".fit"),
        (b"<?xml version='1.0'?>\n<gpx>", "x.csv", ".gpx"),
        (b"$GPRMC,123519,A\n", "today.nmea", ".nmea"),
        (b"run,gate,time\n1,20-40,2.31\n", "times", ".csv"),
        ("zeit;höhe\n1,0;2,0\n".encode("latin-1"), "x.txt", ".txt"),
        ("time,speed\n".encode("utf-16"), "x.csv", ".csv"),
    ],
)
def test_recordings_are_known_by_content(incoming: Incoming, head: bytes, name: str, ending: str) -> None:
    upload = taken(incoming, head, name, "recording")
    assert (upload.kind.name, upload.path.suffix) == ("recording", ending)


def test_the_demonstration_files_are_accepted(incoming: Incoming) -> None:
    record = taken(incoming, (EXAMPLES / "club-kart-98.toml").read_bytes(), "club-kart-98.toml", "record")
    assert (record.kind.name, record.path.suffix) == ("record", ".toml")
    times = taken(incoming, (EXAMPLES / "gate-times.csv").read_bytes(), "gate-times.csv", "photo", "recording")
    assert times.kind.name == "recording"


@pytest.mark.parametrize(
    ("data", "kinds"),
    [
        (b"", ["photo", "recording", "record", "notebook"]),
        (b"GIF89a\x01", ["photo"]),
        (b"\x7fELF\x02\x01\x01\0", ["photo", "recording", "record", "notebook"]),
        (b"MZ\x90\0\x03", ["photo", "recording", "record", "notebook"]),
        (b"PK\x03\x04", ["photo", "record", "recording"]),
        (b"<svg xmlns='x'/>", ["photo"]),
        (picture("JPEG"), ["recording"]),
    ],
)
def test_other_content_is_refused_whatever_it_is_called(incoming: Incoming, data: bytes, kinds: list[str]) -> None:
    with pytest.raises(UploadError, match=r"(?s)photo\.jpg is not accepted.*accepted: .*what to do:"):
        taken(incoming, data, "photo.jpg", *kinds)
    assert list(incoming.folder.iterdir()) == []


def test_what_is_too_large_is_refused_while_it_comes(incoming: Incoming, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setitem(KINDS, "photo", replace(KINDS["photo"], most_bytes=5000))
    read = 0

    async def endless() -> AsyncIterator[bytes]:
        nonlocal read
        while True:
            read += 1
            yield picture("JPEG")[:600].ljust(1000, b"x")

    with pytest.raises(UploadError, match="larger than"):
        run(incoming.take(endless(), "x.jpg", ["photo"]))
    assert read == 6
    assert list(incoming.folder.iterdir()) == []


def test_each_kind_has_its_own_size(incoming: Incoming, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setitem(KINDS, "record", replace(KINDS["record"], most_bytes=10))
    with pytest.raises(UploadError, match="it has 24 bytes"):
        taken(incoming, b"name = 'x'  # 0123456789", "x.toml", "record", "notebook")


def test_a_sender_that_breaks_off_leaves_nothing(incoming: Incoming) -> None:
    async def broken() -> AsyncIterator[bytes]:
        yield picture("JPEG")
        raise ConnectionResetError

    with pytest.raises((ConnectionResetError, UploadError)):
        run(incoming.take(broken(), "x.jpg", ["photo"]))
    assert list(incoming.folder.iterdir()) == []


def test_a_full_disk_is_told(incoming: Incoming, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(uploads, "_SPARE_BYTES", 10**18)
    with pytest.raises(UploadError, match=r"(?s)the disk is nearly full.*what to do: make room"):
        taken(incoming, picture("JPEG"), "x.jpg", "photo")
    assert list(incoming.folder.iterdir()) == []


@pytest.mark.parametrize(
    ("given", "shown"),
    [
        ("C:\\run 1\\a.gpx", "a.gpx"),
        ("a\0b\n<c>.csv", "abc.csv"),
        ("..", "a file without a name"),
        ("x" * 300 + ".toml", "x" * 40 + "x" * 15 + ".toml"),
    ],
)
def test_names_are_for_showing(given: str, shown: str) -> None:
    assert shown_name(given) == shown
