"""Reading a text file that a logger, a phone or a spreadsheet wrote, within limits."""

import codecs
from pathlib import Path

from scribeline.errors import RecordingError

LARGEST_TEXT = 500_000_000
"""Bytes (judgement: 10 hours of 50 rows a second are about 150 MB)."""
_MARKS = {codecs.BOM_UTF8: "utf-8-sig", codecs.BOM_UTF16_LE: "utf-16", codecs.BOM_UTF16_BE: "utf-16"}


def check_size(path: Path, largest: int = LARGEST_TEXT) -> None:
    """Raise RecordingError where the file is larger than can be held."""
    size = path.stat().st_size
    if size > largest:
        raise RecordingError(
            f"{path.name} has {size / 1e6:.0f} MB\n    accepted: up to {largest / 1e6:.0f} MB\n"
            "    what to do: cut it into one file for each outing"
        )


def encoding_of(head: bytes) -> str:
    """The encoding that the file's mark says, else UTF-8, else that of old spreadsheets on Windows."""
    for mark, name in _MARKS.items():
        if head.startswith(mark):
            return name
    try:
        codecs.getincrementaldecoder("utf-8")().decode(head)
    except UnicodeDecodeError:
        return "cp1252"
    return "utf-8"


def looks_like_text(head: bytes) -> bool:
    """No byte that text never holds, but for the zeros of UTF-16."""
    if head.startswith((codecs.BOM_UTF16_LE, codecs.BOM_UTF16_BE)):
        return True
    return not any(byte < 9 or 13 < byte < 32 for byte in head)


def decoded(head: bytes) -> str:
    """The beginning of a file as text, whatever it is."""
    return head.decode(encoding_of(head), errors="replace")
