"""The walk through all formats: which one is this file, and what does it hold."""

from importlib import import_module
from pathlib import Path
from typing import cast

from scribeline.errors import RecordingError
from scribeline.recordings.formats import HEAD_BYTES, NO, Answer, Format, ReadOptions
from scribeline.recordings.recording import GateTable, Recording

FORMATS: tuple[str, ...] = ("fit", "sound", "gpx", "nmea", "gates", "columns")
"""Folders of this package, in the order in which they are asked: those with a signature first, free tables last."""

LARGEST_BYTES = 64_000_000_000
"""No file above this is opened at all (judgement: hours of phone video); tables and logs have their own limit."""


def recognise(path: Path) -> tuple[str, Answer]:
    """Ask every format in turn; the first that does not say no is taken.

    Returns the format's name and its answer; "" and a plain no where nobody knows the file.
    Raises RecordingError where the file cannot be opened, is empty, or is larger than LARGEST_BYTES.
    """
    head = _head(path)
    for name in FORMATS:
        answer = _format(name).recognise(path, head)
        if answer.is_ours != "no":
            return name, answer
    return "", NO


def read(path: Path, options: ReadOptions | None = None) -> Recording | GateTable:
    """Recognise the file and read it.

    Raises RecordingError, with the reason and what to do, where no format knows the file, where it is of a kind that
    is not supported, or where nothing in it can be used. Damage within a file does not raise: what was read before
    and after it is kept, and a note says what was left out.
    """
    name, answer = recognise(path)
    if answer.is_ours == "unsupported":
        raise RecordingError(f"{path.name}: {_format(name).WHAT}, but not supported: {answer.because}")
    if answer.is_ours == "no":
        known = "; ".join(_format(each).WHAT for each in FORMATS)
        raise RecordingError(f"{path.name} is of no kind that is known here\n    accepted: {known}")
    return _format(name).read(path, options or ReadOptions())


def _format(name: str) -> Format:
    """The format's module; imported when asked for, as some bring large libraries."""
    return cast(Format, import_module(f"scribeline.recordings.{name}"))


def _head(path: Path) -> bytes:
    try:
        size = path.stat().st_size
        if not path.is_file():
            raise RecordingError(f"{path.name} is not a file\n    what to do: name the files, not their folder")
        if not 0 < size <= LARGEST_BYTES:
            remedy = "cut it into pieces" if size else "copy it again from the phone or logger"
            raise RecordingError(
                f"{path.name} has {size} bytes\n    accepted: 1 to {LARGEST_BYTES}\n    what to do: {remedy}"
            )
        with path.open("rb") as file:
            return file.read(HEAD_BYTES)
    except OSError as error:
        raise RecordingError(f"{path.name} cannot be opened: {error.strerror or error}") from None
